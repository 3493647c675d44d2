/** The two copies of the calibration in the tester's flash: which one counts, and what is told. */
import { beforeAll, describe, expect, it } from 'vitest';
import { CALIBRATION_SECTORS, calibrationPage, crc32Mpeg2, PAGE_bytes, type Calibration } from '../../host/src/chip-twin/calibration-page.ts';
import { readImage } from '../../host/src/chip-twin/image.ts';
import { Machine } from '../../host/src/chip-twin/machine.ts';
import { BOARD, BOARD_STATE, BoardLayout, BoardStateLayout, Calibrated } from '../../host/src/logic/layout.generated.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import { BOARD_FACTS } from '../../host/src/virtual-bench/front-end.ts';
import { callOnChip } from './call.ts';
import { productImage } from './images.ts';

const RAM = 0x20000000;
const NOMINAL_ohm = 2000;
const BLANK = new Uint8Array(PAGE_bytes).fill(0xff);
const image = readImage(productImage());

const valuesOf = (reference_ohm: number): Calibration => ({ ...BOARD_FACTS, reference_ohm });
const copyOf = (writes: number, reference_ohm: number, serial = 'TWIN-C001'): Uint8Array =>
  calibrationPage({ serial, writes, date: 20261129 }, valuesOf(reference_ohm));

function flipped(page: Uint8Array, byte: number, bit: number): Uint8Array {
  const out = page.slice();
  out[byte] ^= 1 << bit;
  return out;
}

/** The check fits, but the page is of another format. */
function ofVersion(page: Uint8Array, version: number): Uint8Array {
  const out = page.slice();
  const view = new DataView(out.buffer);
  view.setUint32(4, version, true);
  view.setUint32(PAGE_bytes - 4, crc32Mpeg2(out.subarray(0, PAGE_bytes - 4)), true);
  return out;
}

describe('the copy that counts', () => {
  const machine = new Machine({ image, pickup: demoLot[0], seed: 1, serial: '', automatic: false });
  beforeAll(() => machine.run(1e8));

  /** What the firmware makes of two copies. */
  function chosen(first: Uint8Array, second: Uint8Array): { calibrated: number; reference_ohm: number } {
    const { mcu } = machine.chip;
    [first, second].forEach((bytes, i) => mcu.flash.set(bytes, CALIBRATION_SECTORS[i]));
    callOnChip(machine, 'identity_read');
    return {
      calibrated: machine.word('identity_calibrated') & 255,
      reference_ohm: mcu.sramView.getFloat32(machine.symbol('identity').address - RAM + 32, true),
    };
  }

  const [good, missing, corrupt] = [Calibrated.good, Calibrated.missing, Calibrated.corrupt];
  const older = copyOf(4, 2001);
  const newer = copyOf(5, 2002);
  const damaged = flipped(newer, 40, 3);
  it.each([
    ['the only one there is, first', older, BLANK, good, 2001],
    ['the only one there is, second', BLANK, older, good, 2001],
    ['the one written later, second', older, newer, good, 2002],
    ['the one written later, first', newer, older, good, 2002],
    ['the older one where the newer is damaged', older, damaged, good, 2001],
    ['the older one where the newer is damaged, mirrored', damaged, older, good, 2001],
    ['none of two empty sectors', BLANK, BLANK, missing, NOMINAL_ohm],
    ['none where one is damaged and the other empty', damaged, BLANK, corrupt, NOMINAL_ohm],
    ['none where one is damaged and the other empty, mirrored', BLANK, damaged, corrupt, NOMINAL_ohm],
    ['none of two damaged ones', damaged, flipped(older, 0, 0), corrupt, NOMINAL_ohm],
    ['none of another format', ofVersion(newer, 1), BLANK, corrupt, NOMINAL_ohm],
    ['none that was written no time', copyOf(0, 2003), BLANK, corrupt, NOMINAL_ohm],
    ['the one written later beyond 2^31 times', copyOf(0x7fffffff, 2001), copyOf(0x80000000, 2002), good, 2002],
  ] as const)('is %s', (_, first, second, calibrated, reference_ohm) => {
    expect(chosen(first, second)).toEqual({ calibrated, reference_ohm });
  });
  it('is never one with a bit that turned, whichever', () => {
    for (let at = 0; at < 8 * PAGE_bytes; at++) {
      const [byte, bit] = [at >> 3, at & 7];
      expect(chosen(older, flipped(newer, byte, bit)), `byte ${byte}, bit ${bit}`).toEqual({ calibrated: good, reference_ohm: 2001 });
    }
  });
});

describe('a tester with a calibration of its own', () => {
  it('starts with its values and its serial number, and complains of nothing', () => {
    const calibration = [copyOf(7, 1999.5, 'BENCH-0042'), copyOf(6, 2003)] as const;
    const machine = new Machine({ image, pickup: demoLot[0], seed: 1, serial: 'OTHER', automatic: false, calibration });
    machine.run(1e8);
    const { memory } = machine;
    expect(memory.getUint8(BOARD_STATE + BoardStateLayout.calibrated.at)).toBe(Calibrated.good);
    expect(memory.getFloat32(BOARD + BoardLayout.reference_ohm.at, true)).toBe(1999.5);
    expect(memory.getFloat32(BOARD + BoardLayout.step_V.at, true)).toBe(Math.fround(BOARD_FACTS.step_V));
    expect(memory.getFloat32(BOARD + BoardLayout.temperature_V_per_K.at, true)).toBe(Math.fround(BOARD_FACTS.temperature_V_per_K));
    const at = BOARD + BoardLayout.serialLow.at;
    expect(Buffer.from(memory.buffer, memory.byteOffset + at, 10).toString('latin1')).toBe('BENCH-0042');
    expect([...machine.complaints, ...machine.chip.complaints]).toEqual([]);
  });
});
