/** The scale of ohms from a known resistor, on testers whose reference is off by what chance gave them. */
import { describe, expect, it } from 'vitest';
import { ChipTwin } from '../../host/src/chip-twin/chip-twin.ts';
import { resistorOnClips } from '../../host/src/cli/calibrate.ts';
import { calibrateCommand } from '../../host/src/cli/tester-commands.ts';
import { calibrationPage, readCalibrationPage } from '../../host/src/logic/calibration-page.ts';
import { Interview, type Resistance } from '../../host/src/transport/interview.ts';
import { readKnown, scaleFrom, type ScaleOutcome } from '../../host/src/transport/reference-scale.ts';
import type { Transport } from '../../host/src/transport/transport.ts';
import { BoardTwin } from '../../host/src/virtual-bench/board-twin.ts';
import { BOARD_FACTS } from '../../host/src/virtual-bench/front-end.ts';
import { productImage } from '../chip/images.ts';

const DATE = 20261129;
const PPM = 1e-6;
const meanOf = (readings: readonly Resistance[]): number => readings.reduce((sum, { ohm }) => sum + ohm, 0) / readings.length;

async function talking(transport: Transport): Promise<Interview> {
  const interview = new Interview(transport);
  await interview.open();
  await interview.identify();
  return interview;
}

/** Calibrates with 4 kilohm, then reads another resistor on the same tester. @returns relative errors before and after */
async function errorsWith(make: (ohm: number) => Transport): Promise<{ before: number; after: number }> {
  const first = await talking(make(4000));
  const readings = (await readKnown(first))!;
  const outcome = scaleFrom(readings, { ohm: 4000, within_ohm: 0.01 }, await first.calibration(), BOARD_FACTS, DATE);
  await first.end();
  expect(outcome.kind).toBe('found');
  const second = await talking(make(7300));
  expect(await second.store((outcome as ScaleOutcome & { kind: 'found' }).page)).toBe(true);
  const after = meanOf((await readKnown(second))!) / 7300 - 1;
  await second.end();
  return { before: meanOf(readings) / 4000 - 1, after };
}

describe('a tester calibrated with a known resistor', () => {
  it.each([1, 2, 3, 4, 5, 6])('of the board twin, seed %i, reads another resistor within 20 ppm', async (seed) => {
    const { after } = await errorsWith((ohm) => new BoardTwin({ pickup: resistorOnClips(ohm), seed, automatic: false }));
    expect(Math.abs(after)).toBeLessThan(20 * PPM);
  });
  it('did not before: its errors are its own', async () => {
    const seen = await Promise.all([1, 3].map(async (seed) => {
      const interview = await talking(new BoardTwin({ pickup: resistorOnClips(4000), seed, automatic: false }));
      const reading = (await interview.resistance(1, 2))!;
      await interview.end();
      return Math.abs(reading.ohm / 4000 - 1);
    }));
    for (const error of seen) expect(error).toBeGreaterThan(100 * PPM);
  });
  it('of the chip twin reads another resistor within 20 ppm', async () => {
    const image = productImage();
    const { before, after } = await errorsWith((ohm) => new ChipTwin({ pickup: resistorOnClips(ohm), seed: 1, automatic: false, image }));
    expect(Math.abs(before)).toBeGreaterThan(100 * PPM);
    expect(Math.abs(after)).toBeLessThan(20 * PPM);
  }, 300_000);
  it('is told of clips with nothing between them', async () => {
    const interview = await talking(new BoardTwin({ pickup: { ...resistorOnClips(4000), faults: [] }, seed: 1, automatic: false }));
    expect(await readKnown(interview)).toBeNull();
    await interview.end();
  });
});

describe('the scale that follows from readings', () => {
  const used = calibrationPage({ serial: 'TS-0007', writes: 4, date: 20260101 }, { ...BOARD_FACTS, zero_ohm: 0.5 });
  const alike = (ohm: number, spread = 0): Resistance[] =>
    Array.from({ length: 16 }, (_, i) => ({ ohm: ohm * (1 + (i % 2 === 0 ? spread : -spread)), u_ohm: 0.03 }));
  const known = { ohm: 4000, within_ohm: 0.06 };

  it('is the reference times known over read; all else stays, and it is the next', () => {
    const outcome = scaleFrom(alike(4001), known, used, BOARD_FACTS, DATE);
    if (outcome.kind !== 'found') throw new Error(outcome.kind);
    const { head, values } = readCalibrationPage(outcome.page)!;
    expect(head).toEqual({ serial: 'TS-0007', writes: 5, date: DATE });
    expect(values.reference_ohm).toBeCloseTo(2000 * 4000 / 4001, 3);
    expect(values).toMatchObject({ zero_ohm: 0.5, code_V: Math.fround(BOARD_FACTS.code_V) });
    // JCGM 100:2008, 4.3.7 and 5.1.2: a rectangle of half width a has u = a / sqrt 3, and the two add in squares.
    expect(values.reference_u).toBeCloseTo(Math.hypot(0.06 / Math.sqrt(3), 0.03) / 4000, 9);
  });
  it('begins with number 1, and leaves the serial number to the flash, where there was no calibration', () => {
    const outcome = scaleFrom(alike(4001), known, new Uint8Array(128), BOARD_FACTS, DATE);
    if (outcome.kind !== 'found') throw new Error(outcome.kind);
    expect(readCalibrationPage(outcome.page)!.head).toEqual({ serial: '', writes: 1, date: DATE });
  });
  it('is none where the typed value is another resistor\'s, the readings differ, or the clips are open', () => {
    expect(scaleFrom(alike(4005), known, used, BOARD_FACTS, DATE).kind).toBe('implausible');
    expect(scaleFrom(alike(3995), known, used, BOARD_FACTS, DATE).kind).toBe('implausible');
    expect(scaleFrom(alike(4000, 1e-4), known, used, BOARD_FACTS, DATE).kind).toBe('scattered');
    expect(scaleFrom(null, known, used, BOARD_FACTS, DATE).kind).toBe('open');
  });
});

describe('tapstone calibrate', () => {
  it.each([
    [['--within', '0.1'], /--resistor is missing; expected ohms, 1000 to 10000$/],
    [['--resistor', '4000'], /--within is missing; expected ohms, 0 to 10$/],
    [['--resistor', '4k', '--within', '0.1'], /--resistor 4k is not understood; expected ohms, 1000 to 10000$/],
    [['--resistor', '470', '--within', '0.1'], /--resistor 470 is not understood/],
    [['--resistor', '4000', '--within', '-1'], /--within -1 is not understood|--within/],
    [['4000'], /4000 is not expected; write --resistor 4000$/],
  ])('refuses %j in one sentence', async (args, sentence) => {
    await expect(calibrateCommand(args)).rejects.toThrow(sentence);
  });
});
