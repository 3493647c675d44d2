/** A calibration of testers whose errors are their own: what each step finds, and what the tester then reads. */
import { describe, expect, it } from 'vitest';
import { ChipTwin } from '../../host/src/chip-twin/chip-twin.ts';
import { joinedClips, openClips, resistorOnClips } from '../../host/src/cli/calibrate.ts';
import { calibrateCommand } from '../../host/src/cli/tester-commands.ts';
import { leadsFrom, readJoined } from '../../host/src/calibrating/joined-clips.ts';
import { readKnown, scaleFrom } from '../../host/src/calibrating/known-resistor.ts';
import { nextPage } from '../../host/src/calibrating/next-page.ts';
import { fixtureFrom, readOpenClips } from '../../host/src/calibrating/open-clips.ts';
import { readRamps, widthsFrom } from '../../host/src/calibrating/ramp.ts';
import { STEPS } from '../../host/src/calibrating/steps.ts';
import {
  calibrationPage, calibrationValues, dateOfDay, dayOf, readCalibrationPage, uncalibrated, type Calibration,
} from '../../host/src/logic/calibration-page.ts';
import { setupOf } from '../../host/src/bench/bench.ts';
import { BenchTest } from '../../host/src/evidence/run-test.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { renderWireMap } from '../../host/src/wiring/render-text.ts';
import type { HeldCalibration } from '../../host/src/virtual-bench/board-facts.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';
import { Interview, pairName, type Resistance } from '../../host/src/transport/interview.ts';
import type { Transport } from '../../host/src/transport/transport.ts';
import { BoardTwin } from '../../host/src/virtual-bench/board-twin.ts';
import { BOARD_FACTS, type OwnErrors } from '../../host/src/virtual-bench/front-end.ts';
import { productImage } from '../chip/images.ts';

const DATE = 20261129;
const PPM = 1e-6;
const PICO = 1e-12;
const SEEDS = [1, 2, 3, 4, 5, 6];
const meanOf = (readings: readonly Resistance[]): number => readings.reduce((sum, { ohm }) => sum + ohm, 0) / readings.length;

async function talking(transport: Transport): Promise<Interview> {
  const interview = new Interview(transport);
  await interview.open();
  await interview.identify();
  return interview;
}

/** A tester that was never calibrated, or has what a step before gave it, and what is its own. */
type Make = (pickup: Pickup, held: 'missing' | Uint8Array) => Transport & { readonly own: OwnErrors };
const board = (seed: number): Make => (pickup, calibration) => {
  const twin = new BoardTwin({ pickup, seed, automatic: false, calibration });
  return Object.assign(twin, { own: twin.frontEnd.own });
};
const chip = (seed: number): Make => (pickup, calibration) => {
  const held = calibration === 'missing' ? calibration : [calibration, new Uint8Array(calibration.length).fill(0xff)] as const;
  const twin = new ChipTwin({ pickup, seed, automatic: false, image: productImage(), calibration: held });
  return Object.assign(twin, { own: twin.machine.frontEnd.own });
};

/** Takes all four steps as the program does, each on a tester with that on its clips, handing the page on. */
async function calibrated(make: Make): Promise<{ readonly page: Uint8Array; readonly values: Calibration; readonly own: OwnErrors }> {
  let held: 'missing' | Uint8Array = 'missing';
  let own: OwnErrors | null = null;
  for (const step of STEPS) {
    const transport = make({ short: joinedClips, resistor: resistorOnClips(4000), ramp: openClips, open: openClips }[step.name], held);
    const interview = await talking(transport);
    const used = await interview.calibration();
    const outcome = await step.run(interview, calibrationValues(used), { ohm: 4000, within_ohm: 0.01 });
    if (outcome.kind === 'refused') throw new Error(`${step.name}: ${outcome.sentence}`);
    // As handed over: what is read back has the flash's own serial number in it where the page has none.
    held = nextPage(used, step.gives, outcome.change, DATE);
    expect(await interview.store(held)).toBe(true);
    own = transport.own;
    await interview.end();
  }
  const page = held as Uint8Array;
  return { page, values: calibrationValues(page), own: own! };
}

/** What a calibrated tester reads of another resistor, relative to it. */
async function errorOf(make: Make, page: Uint8Array, ohm: number): Promise<number> {
  const interview = await talking(make(resistorOnClips(ohm), page));
  const error = meanOf((await readKnown(interview))!) / ohm - 1;
  await interview.end();
  return error;
}

function checkFound({ values, own }: { readonly values: Calibration; readonly own: OwnErrors }): void {
  values.wideCodes.forEach((width, i) => expect(Math.abs(width - own.wideCodes[i]!), `code ${i}`).toBeLessThan(0.1));
  values.fixture_F.forEach((farad, i) => expect(Math.abs(farad - own.fixture_F[i]!), `clip ${i + 1}`).toBeLessThan(PICO));
  // The clip on the bar has 10 milliohms of its own.
  values.zero_ohm.forEach((ohm, i) => expect(Math.abs(ohm - own.leads_ohm[i]! - 0.01), `lead ${i + 1}`).toBeLessThan(0.01));
}

describe('a tester that takes all steps', () => {
  it.each(SEEDS)('on the board twin, seed %i, knows its codes to a tenth, its clips to 1 pF, its leads to 10 milliohms, and reads within 20 ppm', async (seed) => {
    const make = board(seed);
    const found = await calibrated(make);
    checkFound(found);
    expect(readCalibrationPage(found.page)!.head).toMatchObject({ writes: 4, date: DATE });
    expect(Object.values(found.values.days)).toEqual([dayOf(DATE), dayOf(DATE), dayOf(DATE), dayOf(DATE)]);
    for (const ohm of [2500, 7300]) expect(Math.abs(await errorOf(make, found.page, ohm))).toBeLessThan(20 * PPM + 0.02 / ohm);
  });
  it('on the chip twin does as well', async () => {
    const make = chip(1);
    const found = await calibrated(make);
    checkFound(found);
    expect(Math.abs(await errorOf(make, found.page, 7300))).toBeLessThan(20 * PPM + 0.02 / 7300);
  }, 900_000);
  it('was off before in each of them: its errors are its own', async () => {
    for (const seed of [1, 3]) {
      const interview = await talking(board(seed)(resistorOnClips(4000), 'missing'));
      const error = (await interview.resistance(1, 2))!.ohm / 4000 - 1;
      await interview.end();
      expect(Math.abs(error)).toBeGreaterThan(60 * PPM);
    }
    const { own } = board(1)(openClips, 'missing');
    const other = board(2)(openClips, 'missing').own;
    expect(Math.max(...own.wideCodes.map((width) => Math.abs(width - 8.9)))).toBeGreaterThan(0.3);
    expect(own.wideCodes).not.toEqual(other.wideCodes);
    expect(Math.max(...own.fixture_F) - Math.min(...own.fixture_F)).toBeGreaterThan(5 * PICO);
    expect(own.fixture_F[0]).not.toBe(other.fixture_F[0]);
  });
});

describe('a map', () => {
  /** Of a pickup tested on a board twin whose flash holds this. @param today - 20261129 is the 29th of November 2026 */
  async function mapWith(calibration: HeldCalibration, today?: number): Promise<WireMap> {
    const transport = new BoardTwin({ pickup: demoLot[0]!, seed: 5, calibration });
    try {
      const day = today === undefined ? 0 : dayOf(today);
      const test = new BenchTest(transport, { setup: setupOf(demoLot[0]!), logic: createLogic(), today: day });
      const { map, differences } = await test.run();
      expect(differences).toEqual([]);
      return map;
    } finally {
      await transport.close();
    }
  }
  const first = ({ coils }: WireMap): { ohm: number; u_ohm: number } => coils[0] as { ohm: number; u_ohm: number };
  const told = ({ unknown }: WireMap, what: RegExp): boolean => unknown.some((sentence) => what.test(sentence));

  it('of a calibrated tester says nothing of it; each without, damaged or old says so and is less sure', async () => {
    const { page } = await calibrated(board(5));
    const good = await mapWith(page, DATE);
    const old = await mapWith(page, DATE + 20_000);
    const missing = await mapWith('missing', DATE);
    const corrupt = await mapWith('corrupt', DATE);
    expect(told(good, /calibrat/)).toBe(false);
    expect(told(old, /its calibration is more than a year old, as their wider uncertainties say; tapstone calibrate/)).toBe(true);
    expect(told(missing, /its ohms were never calibrated/)).toBe(true);
    expect(told(corrupt, /its calibration is damaged and was not used/)).toBe(true);
    const { ohm } = first(good);
    // The scale's own 28 ppm (0.1 ohm either way, a rectangle), with 200 ppm more when old, and 0.05 % / sqrt 3 without.
    expect(first(good).u_ohm).toBeLessThan(60 * PPM * ohm);
    expect(first(old).u_ohm).toBeGreaterThan(200 * PPM * ohm);
    for (const map of [missing, corrupt]) expect(first(map).u_ohm).toBeGreaterThan(280 * PPM * ohm);
    for (const map of [old, missing, corrupt]) expect(Math.abs(first(map).ohm - ohm)).toBeLessThan(3 * first(map).u_ohm);
    expect([old, missing, corrupt].map(({ verdict }) => verdict)).toEqual([good.verdict, good.verdict, good.verdict]);
  });
  it('says it on screen as well: in text, among what is not known', async () => {
    const text = renderWireMap(await mapWith('missing'), new Map(), null);
    expect(text.replace(/\s+/g, ' ')).toMatch(/its ohms were never calibrated/);
  });
});

describe('leads', () => {
  it('are taken off what is read once they are known, and left on where a calibration asks', async () => {
    const make = board(2);
    const interview = await talking(make(joinedClips, 'missing'));
    const outcome = leadsFrom(await readJoined(interview));
    if (outcome.kind !== 'found') throw new Error(outcome.kind);
    await interview.store(nextPage(await interview.calibration(), 'zero', outcome.change, DATE));
    const clean = await interview.resistances([1, 2, 3, 4, 5, 6]);
    const raw = await interview.resistances([1, 2, 3, 4, 5, 6], true);
    await interview.end();
    for (const low of [1, 2, 3, 4, 5]) {
      const { leads_ohm } = make(openClips, 'missing').own;
      expect(clean.get(pairName(low, low + 1))!.ohm).toBeLessThan(0.02);
      expect(Math.abs(raw.get(pairName(low, low + 1))!.ohm - leads_ohm[low - 1]! - leads_ohm[low]! - 0.02)).toBeLessThan(0.02);
    }
  });
  it('of clips that are not joined are none', async () => {
    const lone: Pickup = { ...joinedClips, leads: joinedClips.leads.slice(0, 5) };
    const interview = await talking(board(1)(lone, 'missing'));
    const outcome = leadsFrom(await readJoined(interview));
    await interview.end();
    expect(outcome.kind).toBe('open');
  });
  it('are the six that fifteen readings say, and none where those contradict each other or a resistor is between', () => {
    const leads = [0.1, 0.12, 0.09, 0.11, 0.2, 0.15];
    const pairs = leads.flatMap((a, i) => leads.slice(i + 1).map((b, k) =>
      [pairName(i + 1, i + 2 + k), { ohm: a + b, u_ohm: 0.02 }] as const));
    const outcome = leadsFrom([new Map(pairs)]);
    if (outcome.kind !== 'found') throw new Error(outcome.kind);
    outcome.change.zero_ohm.forEach((ohm, i) => expect(ohm).toBeCloseTo(leads[i]!, 6));
    const off = (name: string, ohm: number): Map<string, Resistance> => new Map([...pairs, [name, { ohm, u_ohm: 0.02 }] as const]);
    expect(leadsFrom([off('1-2', 0.5)]).kind).toBe('scattered');
    expect(leadsFrom([off('1-2', 12)])).toMatchObject({ kind: 'notJoined', pair: [1, 2] });
  });
});

describe('open clips and the ramp', () => {
  it('with a pickup on them are none', async () => {
    const interview = await talking(board(1)(resistorOnClips(4000), 'missing'));
    const outcome = fixtureFrom(await readOpenClips(interview), calibrationValues(await interview.calibration()));
    await interview.end();
    expect(outcome).toEqual({ kind: 'occupied', clips: [1, 2] });
  });
  it('of an ADC that loses its ramp are none', async () => {
    const interview = await talking(board(1)(openClips, 'missing'));
    const [down, up] = await readRamps(interview);
    await interview.end();
    expect(widthsFrom([down, up]).kind).toBe('found');
    expect(widthsFrom([up, up]).kind).toBe('noRamp');
    const torn = new DataView(down.buffer.slice(0));
    for (let k = 800; k < 900; k++) torn.setInt32(4 + 4 * k, 0, true);
    expect(widthsFrom([torn, up]).kind).toBe('misfit');
  });
});

describe('the scale that follows from readings', () => {
  const alike = (ohm: number, spread = 0): Resistance[] =>
    Array.from({ length: 16 }, (_, i) => ({ ohm: ohm * (1 + (i % 2 === 0 ? spread : -spread)), u_ohm: 0.03 }));
  const known = { ohm: 4000, within_ohm: 0.06 };

  it('is the reference times known over read', () => {
    const outcome = scaleFrom(alike(4001), known, 2000);
    if (outcome.kind !== 'found') throw new Error(outcome.kind);
    expect(outcome.change.reference_ohm).toBeCloseTo(2000 * 4000 / 4001, 3);
    // JCGM 100:2008, 4.3.7 and 5.1.2: a rectangle of half width a has u = a / sqrt 3, and the two add in squares.
    expect(outcome.change.reference_u).toBeCloseTo(Math.hypot(0.06 / Math.sqrt(3), 0.03) / 4000, 9);
  });
  it('is none where the typed value is another resistor\'s, the readings differ, or the clips are open', () => {
    expect(scaleFrom(alike(4005), known, 2000).kind).toBe('implausible');
    expect(scaleFrom(alike(3995), known, 2000).kind).toBe('implausible');
    expect(scaleFrom(alike(4000, 1e-4), known, 2000).kind).toBe('scattered');
    expect(scaleFrom(null, known, 2000).kind).toBe('open');
  });
});

describe('the next page', () => {
  const values: Calibration = { ...uncalibrated(BOARD_FACTS), zero_u_ohm: 0.5, days: { ohm: 5, zero: 6, fixture: 7, codes: 8 } };
  it('has what the step found, its day and the next number; all else stays', () => {
    const used = calibrationPage({ serial: 'TS-0007', writes: 4, date: 20260101 }, values);
    const { head, values: after } = readCalibrationPage(nextPage(used, 'ohm', { reference_ohm: 1999.5 }, DATE))!;
    expect(head).toEqual({ serial: 'TS-0007', writes: 5, date: DATE });
    expect(after).toEqual({ ...calibrationValues(used), reference_ohm: 1999.5, days: { ...values.days, ohm: dayOf(DATE) } });
  });
  it('begins with number 1, and leaves the serial number to the flash, where there was no calibration', () => {
    const bare = new Uint8Array(calibrationPage({ serial: '', writes: 0, date: 0 }, values).length);
    expect(readCalibrationPage(nextPage(bare, 'ohm', {}, DATE))!.head).toEqual({ serial: '', writes: 1, date: DATE });
  });
  it('counts days from the 1st of January 2020', () => {
    // By Python's datetime.date(2026, 11, 29) - datetime.date(2019, 12, 31): 2525 days.
    expect([dayOf(20200101), dayOf(DATE), dayOf(20191231), dateOfDay(2525)]).toEqual([1, 2525, 0, '2026-11-29']);
  });
});

describe('tapstone calibrate', () => {
  it.each([
    [['--within', '0.1'], /--resistor is missing; expected ohms, 1000 to 10000$/],
    [['--resistor', '4000'], /--within is missing; expected ohms, 0 to 10$/],
    [['--resistor', '4k', '--within', '0.1'], /--resistor 4k is not understood; expected ohms, 1000 to 10000$/],
    [['--resistor', '470', '--within', '0.1'], /--resistor 470 is not understood/],
    [['--resistor', '4000', '--within', '-1'], /--within -1 is not understood|--within/],
    [['--step', 'shrot'], /--step shrot is not known; expected one of ramp, open, short, resistor$/],
    [['--step', 'open', '--resistor', '4000', '--within', '1'], /--resistor is not expected with --step open/],
    [['4000'], /4000 is not expected; write --step 4000$/],
  ])('refuses %j in one sentence', async (args, sentence) => {
    await expect(calibrateCommand(args)).rejects.toThrow(sentence);
  });
});
