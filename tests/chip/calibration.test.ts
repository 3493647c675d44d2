/** The two copies of the calibration in the tester's flash: which one counts, what is told, and that writing never loses both. */
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { ERASE_MOST_ns, ERASE_ns, PROGRAM_MOST_ns, PROGRAM_ns } from '../../host/src/chip-twin/flash-cells.ts';
import {
  CALIBRATION_SECTORS, calibrationPage, crc32Mpeg2, readCalibrationPage, SECTORS_bytes, uncalibrated, type Calibration,
} from '../../host/src/logic/calibration-page.ts';
import { ChipTwin } from '../../host/src/chip-twin/chip-twin.ts';
import { readImage } from '../../host/src/chip-twin/image.ts';
import { Machine } from '../../host/src/chip-twin/machine.ts';
import { BOARD, BOARD_STATE, BoardLayout, BoardStateLayout, Calibrated, CALIBRATION_bytes, SCRATCH } from '../../host/src/logic/layout.generated.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import { BOARD_FACTS } from '../../host/src/virtual-bench/front-end.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { Interview } from '../../host/src/transport/interview.ts';
import { until } from './bench.ts';
import { callInTime, callOnChip } from './call.ts';
import { CFLAGS } from '../../firmware/flags.ts';
import { productImage, ROOT } from './images.ts';

const RAM = 0x20000000;
const NOMINAL_ohm = 2000;
const BLANK = new Uint8Array(CALIBRATION_bytes).fill(0xff);
const imagePath = productImage();
const image = readImage(imagePath);

const valuesOf = (reference_ohm: number): Calibration => ({ ...uncalibrated(BOARD_FACTS), reference_ohm });
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
  view.setUint32(CALIBRATION_bytes - 4, crc32Mpeg2(out.subarray(0, CALIBRATION_bytes - 4)), true);
  return out;
}

type Read = { readonly calibrated: number; readonly reference_ohm: number };

/** What the firmware makes of what lies in the two sectors. */
function readOnChip(machine: Machine): Read {
  callOnChip(machine, 'identity_read');
  return inUse(machine);
}

function inUse(machine: Machine): Read {
  return {
    calibrated: machine.word('identity_calibrated') & 255,
    reference_ohm: machine.chip.mcu.sramView.getFloat32(machine.symbol('identity').address - RAM + 32, true),
  };
}

/** What the firmware makes of two copies. */
function chosen(machine: Machine, first: Uint8Array, second: Uint8Array): Read {
  [first, second].forEach((bytes, i) => machine.chip.mcu.flash.set(bytes, CALIBRATION_SECTORS[i]));
  return readOnChip(machine);
}

describe('the page', () => {
  it('has each value where firmware/drivers/identity.h has the member of that name', () => {
    const zero: Calibration = {
      reference_ohm: 0, reference_u: 0, wand_T_per_V: 0, step_V: 0, code_V: 0, temperature_V25: 0, temperature_V_per_K: 0,
      zero_ohm: [0, 0, 0, 0, 0, 0], zero_u_ohm: 0, fixture_F: [0, 0, 0, 0, 0, 0], fixture_u_F: 0, wideCodes: [0, 0, 0, 0],
      days: { ohm: 0, zero: 0, fixture: 0, codes: 0 },
    };
    const head = { serial: '', writes: 0, date: 0 };
    const empty = calibrationPage(head, zero);
    /** Where a page begins to differ from an empty one. */
    const placeOf = (page: Uint8Array): number => page.findIndex((byte, i) => byte !== empty[i]);
    /** Of a number of four bytes whose first ones are 0. */
    const wordOf = (page: Uint8Array): number => placeOf(page) & ~3;
    const inC = { wideCodes: 'wide_codes' } as Readonly<Record<string, string>>;
    /** Where a page lies apart that has 1 in one of several values in a row, or in one alone. */
    const rows: readonly [name: string, at: number][] = Object.entries(zero).flatMap(([name, value]): [string, number][] => {
      if (name === 'days') {
        return Object.keys(zero.days).map((step, i) => [`days[${i}]`, placeOf(calibrationPage(head, { ...zero, days: { ...zero.days, [step]: 1 } }))]);
      }
      if (!Array.isArray(value)) return [[name, wordOf(calibrationPage(head, { ...zero, [name]: 1 }))]];
      const oneAt = (i: number): number[] => value.map((_, j) => (i === j ? 1 : 0));
      return value.map((_, i) => [`${inC[name] ?? name}[${i}]`, wordOf(calibrationPage(head, { ...zero, [name]: oneAt(i) }))]);
    });
    const heads = ([['serial', 'A'], ['writes', 1], ['date', 1]] as const)
      .map(([name, value]) => [name, placeOf(calibrationPage({ ...head, [name]: value }, zero))] as const);
    const asserts = [...heads, ...rows].map(([name, at]) =>
      `_Static_assert(__builtin_offsetof(struct calibration, ${name}) == ${at}, "${name}");`);
    expect(asserts).toHaveLength(3 + 9 + 6 + 6 + 4 + 4);
    const source = ['#include "drivers/identity.h"', ...asserts, ''].join('\n');
    const { status, stderr } = spawnSync('arm-none-eabi-gcc', [...CFLAGS, '-fsyntax-only', '-x', 'c', '-I', join(ROOT, 'firmware'), '-'],
      { input: source, encoding: 'utf8' });
    expect([status, stderr]).toEqual([0, '']);
  });
});

describe('the copy that counts', () => {
  const machine = new Machine({ image, pickup: demoLot[0], seed: 1, serial: '', automatic: false });
  beforeAll(() => machine.run(1e8));

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
    expect(chosen(machine, first, second)).toEqual({ calibrated, reference_ohm });
  });
  it('is never one with a bit that turned, whichever', () => {
    for (let at = 0; at < 8 * CALIBRATION_bytes; at++) {
      const [byte, bit] = [at >> 3, at & 7];
      expect(chosen(machine, older, flipped(newer, byte, bit)), `byte ${byte}, bit ${bit}`).toEqual({ calibrated: good, reference_ohm: 2001 });
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

describe('writing a calibration', () => {
  const started = (calibration: readonly [Uint8Array, Uint8Array], times?: { erase_ns: number; program_ns: number }): Machine => {
    const machine = new Machine({ image, pickup: demoLot[0], seed: 1, serial: '', automatic: false, calibration, flash: { times } });
    machine.run(1e8);
    return machine;
  };
  /** Hands a page over in the module's memory. @returns its address for the chip */
  function handOver(machine: Machine, page: Uint8Array): number {
    new Uint8Array(machine.memory.buffer, machine.memory.byteOffset + SCRATCH, CALIBRATION_bytes).set(page);
    return machine.symbol('module_memory').address + SCRATCH;
  }
  const store = (machine: Machine, page: Uint8Array, onStep?: () => void): boolean =>
    (callInTime(machine, 'identity_store', [handOver(machine, page)], onStep).r0 & 255) !== 0;
  const sectorsOf = (machine: Machine): Uint8Array =>
    machine.chip.mcu.flash.slice(CALIBRATION_SECTORS[0], CALIBRATION_SECTORS[0] + SECTORS_bytes);
  const complaintsOf = (machine: Machine): string[] => [...machine.complaints, ...machine.chip.complaints];

  /** What the flash would hold had the power gone at some moments of a call: half of them while it erases, half from then on. */
  function cutsOf(machine: Machine, name: string, count: number, call: (onStep: () => void) => void): Uint8Array[] {
    const chance = new RandomStream(0x0c0, name);
    const begin_ns = machine.chip.now_ns;
    const moments = Array.from({ length: count }, (_, i) => begin_ns +
      (i % 2 === 0 ? chance.between(0, ERASE_ns) : chance.between(ERASE_ns, ERASE_ns + 3 * PROGRAM_ns))).sort((a, b) => a - b);
    const cuts: Uint8Array[] = [];
    const cut = (): void => void cuts.push(machine.chip.cells.cut(CALIBRATION_SECTORS[0], SECTORS_bytes, () => chance.between(0, 1)));
    call(() => { while (cuts.length < count && machine.chip.now_ns >= moments[cuts.length]!) cut(); });
    while (cuts.length < count) cut();
    return cuts;
  }

  it('takes the other copy, in turn, and the new one is in use at once', () => {
    const machine = started([copyOf(1, 2001), BLANK]);
    for (let writes = 2; writes <= 4; writes++) {
      const before = sectorsOf(machine);
      expect(store(machine, copyOf(writes, 2000 + writes))).toBe(true);
      expect(inUse(machine)).toEqual({ calibrated: Calibrated.good, reference_ohm: 2000 + writes });
      const untouched = writes % 2 === 0 ? 0 : 4096;
      const after = sectorsOf(machine);
      expect(after.slice(untouched, untouched + 4096)).toEqual(before.slice(untouched, untouched + 4096));
      expect(after.slice(4096 - untouched, 4096 - untouched + CALIBRATION_bytes)).toEqual(copyOf(writes, 2000 + writes));
    }
    expect(complaintsOf(machine)).toEqual([]);
  });
  it('begins with the first copy on a board that was never calibrated', () => {
    const machine = started([BLANK, BLANK]);
    expect(store(machine, copyOf(1, 2001))).toBe(true);
    expect(inUse(machine).reference_ohm).toBe(2001);
    expect(sectorsOf(machine).slice(0, CALIBRATION_bytes)).toEqual(copyOf(1, 2001));
  });
  it('refuses a page that is damaged, of another format, or not the next, and writes nothing', () => {
    const machine = started([copyOf(3, 2001), BLANK]);
    const before = sectorsOf(machine);
    const next = copyOf(4, 2002);
    const refused = [flipped(next, 33, 1), ofVersion(next, 1), copyOf(3, 2002), copyOf(5, 2002), BLANK];
    for (const page of refused) expect(store(machine, page)).toBe(false);
    expect(sectorsOf(machine)).toEqual(before);
    expect(inUse(machine).reference_ohm).toBe(2001);
  });
  it('takes as long as the slowest part takes, and no longer', () => {
    const machine = started([copyOf(1, 2001), BLANK], { erase_ns: ERASE_MOST_ns, program_ns: PROGRAM_MOST_ns });
    const begin_ns = machine.chip.now_ns;
    expect(store(machine, copyOf(2, 2002))).toBe(true);
    const took_ns = machine.chip.now_ns - begin_ns;
    expect(took_ns).toBeGreaterThan(ERASE_MOST_ns + PROGRAM_MOST_ns);
    expect(took_ns).toBeLessThan(ERASE_MOST_ns + PROGRAM_MOST_ns + 2e6);
    expect(complaintsOf(machine)).toEqual([]);
  });
  it.each([0, 1])('with the power cut at 150 random moments leaves the old one or the new one, never none (copy %i in use)', (used) => {
    const machine = started(used === 0 ? [copyOf(1, 2001), copyOf(0, 0)] : [copyOf(1, 2000), copyOf(2, 2001)]);
    const cuts = cutsOf(machine, `cuts ${used}`, 150, (onStep) => expect(store(machine, copyOf(used + 2, 2002), onStep)).toBe(true));
    const reader = started([BLANK, BLANK]);
    const seen = cuts.map((left) => {
      reader.chip.mcu.flash.set(left, CALIBRATION_SECTORS[0]);
      return readOnChip(reader);
    });
    for (const { calibrated, reference_ohm } of seen) {
      expect([calibrated, [2001, 2002].includes(reference_ohm)]).toEqual([Calibrated.good, true]);
    }
    expect(seen.some(({ reference_ohm }) => reference_ohm === 2001)).toBe(true);
    expect(seen.some(({ reference_ohm }) => reference_ohm === 2002)).toBe(true);
  });
  it('over the only copy would lose it: what the cuts above would show', () => {
    const machine = started([copyOf(1, 2001), BLANK]);
    const page = handOver(machine, copyOf(2, 2002));
    const cuts = cutsOf(machine, 'cuts of the only copy', 40, (onStep) =>
      void callInTime(machine, 'flash_write_sector', [CALIBRATION_SECTORS[0], page, CALIBRATION_bytes], onStep));
    const reader = started([BLANK, BLANK]);
    const lost = cuts.filter((left) => {
      reader.chip.mcu.flash.set(left, CALIBRATION_SECTORS[0]);
      return readOnChip(reader).calibrated !== Calibrated.good;
    });
    // All of the erase's, which are half, and some of what comes after.
    expect(lost.length).toBeGreaterThan(20);
  });
  it.each([0.0001, 0.3, 0.7, 0.995])('and the power off after %f of the time: the tester starts with the old one, and can be calibrated again', (share) => {
    const machine = started([copyOf(1, 2001), copyOf(2, 2002)]);
    const gone_ns = machine.chip.now_ns + share * (ERASE_ns + PROGRAM_ns);
    const powerGone = new Error('the power went');
    expect(() => store(machine, copyOf(3, 2003), () => { if (machine.chip.now_ns >= gone_ns) throw powerGone; })).toThrow(powerGone);
    machine.powerOn();
    machine.run(1e8);
    expect(machine.memory.getFloat32(BOARD + BoardLayout.reference_ohm.at, true)).toBe(2002);
    expect(machine.memory.getUint8(BOARD_STATE + BoardStateLayout.calibrated.at)).toBe(Calibrated.good);
    expect(store(machine, copyOf(3, 2003))).toBe(true);
    expect(inUse(machine).reference_ohm).toBe(2003);
    expect(complaintsOf(machine)).toEqual([]);
  });
});

describe('a calibration handed over by a host', () => {
  const started = async (times?: { erase_ns: number; program_ns: number }): Promise<{ twin: ChipTwin; interview: Interview }> => {
    const twin = new ChipTwin({ pickup: demoLot[0], seed: 1, image: imagePath, flash: { times } });
    const interview = new Interview(twin);
    await interview.open();
    await interview.identify();
    return { twin, interview };
  };
  const next = copyOf(2, 2003.5, 'BENCH-0042');

  it('is written, told, in use, and there after the power was away; the one before is read as it lies in the flash', async () => {
    const { twin, interview } = await started();
    const before = readCalibrationPage(await interview.calibration())!;
    expect([before.head.serial, before.head.writes, before.values.reference_ohm]).toEqual(['TWIN-C001', 1, NOMINAL_ohm]);
    expect(await interview.store(next)).toBe(true);
    expect(await interview.calibration()).toEqual(next);
    expect(twin.memory.getFloat32(BOARD + BoardLayout.reference_ohm.at, true)).toBe(2003.5);
    await interview.end();
    twin.machine.powerOn();
    twin.machine.run(1e8);
    expect(inUse(twin.machine)).toEqual({ calibrated: Calibrated.good, reference_ohm: 2003.5 });
    expect([...twin.machine.complaints, ...twin.machine.chip.complaints]).toEqual([]);
  });
  it('that is damaged, or numbered as the one in use, is not taken, and the tester says so', async () => {
    const { interview } = await started();
    expect(await interview.store(flipped(next, 32, 0))).toBe(false);
    expect(await interview.store(copyOf(1, 2003.5))).toBe(false);
    expect(readCalibrationPage(await interview.calibration())!.head.writes).toBe(1);
    await interview.end();
  });
  it('is refused while a test runs', async () => {
    const { twin, interview } = await started();
    twin.press();
    await until(twin.machine, new Promise<void>((resolve) => setTimeout(resolve, 50)));
    await expect(interview.store(next)).rejects.toThrow('busy with a test');
    await interview.end();
  });
  it('takes the slowest flash its 400 ms: no watchdog, the host waits, a control request is answered within 500 ms', async () => {
    const { twin, interview } = await started({ erase_ns: ERASE_MOST_ns, program_ns: PROGRAM_MOST_ns });
    const starts = twin.machine.starts;
    const stored = interview.store(next);
    while (!twin.machine.chip.cells.isBusy) await new Promise(setImmediate);
    const asked_s = twin.machine.time_s;
    await twin.machine.usb.control(Uint8Array.of(0x80, 6, 0, 1, 0, 0, 18, 0));
    // USB 2.0, 9.2.6.4: the first data of an answer come within 500 ms.
    expect(twin.machine.time_s - asked_s).toBeLessThan(0.5);
    expect(await stored).toBe(true);
    expect(twin.machine.starts).toBe(starts);
    expect([...twin.machine.complaints, ...twin.machine.chip.complaints]).toEqual([]);
    await interview.end();
  });
});
