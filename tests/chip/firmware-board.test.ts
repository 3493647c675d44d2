/**
 * The firmware's drivers on the emulated chip, one board command at a time (firmware/probe): what the board does,
 * what it says when a part of it fails, and that the current is off then.
 */
import { describe, expect, it } from 'vitest';
import { BOARD, BOARD_STATE, BoardLayout, Calibrated, BoardStateLayout, ConverterFault, Status } from '../../host/src/logic/layout.generated.ts';
import { RAILS } from '../../host/src/virtual-bench/board-values.generated.ts';
import { Command, complaintsOf, Note, ProbeBench, reportOf, runFor } from './bench.ts';

/** M1 A+ and M3 B+ on clip 1, M2 A- and M4 B- on clip 2, DRV on the current source, RET on the reference. */
const OHMS_1_2 = 0x88009898;
/** A- and B- on clip 4 and the like: every nibble changes. */
const OHMS_3_4 = 0x8800baba;

async function plugged(): Promise<ProbeBench> {
  const bench = new ProbeBench();
  await bench.plug();
  return bench;
}

async function converted(bench: ProbeBench, input = 0, rate = 1): Promise<number> {
  const before = bench.note(Note.conversions);
  await bench.command(Command.convert, input, rate);
  bench.runUntil(() => bench.note(Note.conversions) !== before, 'the conversion is answered');
  return bench.note(Note.conversionStatus);
}

function converterFault(bench: ProbeBench): number {
  return bench.machine.memory.getUint8(BOARD_STATE + BoardStateLayout.converterFault.at);
}

async function drives(bench: ProbeBench): Promise<void> {
  await bench.command(Command.switches, OHMS_1_2);
  await bench.command(Command.drive, 100000);
  expect(bench.machine.converter.current_nA).toBe(100000);
}

describe('switches', () => {
  it('show the word that was asked for, break before make', async () => {
    const words: number[] = [];
    const bench = new ProbeBench({ onCommand: (command, value) => { if (command === 'switches') words.push(value); } });
    await bench.plug();
    await bench.command(Command.switches, OHMS_1_2);
    await bench.command(Command.switches, OHMS_3_4);
    await bench.command(Command.switches, OHMS_3_4);
    // Between the two words only what both have in common stays closed: M7 and M8.
    expect(words.map((word) => word.toString(16))).toEqual(['88009898', '88000000', '8800baba']);
    expect(complaintsOf(bench.machine)).toEqual([]);
  });
  it('never move under current: the current goes off first', async () => {
    const order: string[] = [];
    const bench = new ProbeBench({ onCommand: (command, value) => void order.push(`${command} ${value >>> 0}`) });
    await bench.plug();
    await drives(bench);
    order.length = 0;
    await bench.command(Command.switches, 0);
    expect(order[0]).toBe('drive 0');
    expect(bench.machine.switches.word).toBe(0);
  });
  it('all open when their read-back is wrong, and every reading is bad until they are right again', async () => {
    const bench = await plugged();
    await drives(bench);
    bench.machine.switches.bitFlipOneIn = 2;
    await bench.command(Command.switches, OHMS_3_4);
    expect([bench.machine.switches.word, bench.machine.converter.current_nA]).toEqual([0, 0]);
    await bench.command(Command.drive, 100000);
    expect(bench.machine.converter.current_nA).toBe(0);
    expect(await converted(bench)).toBe(Status.bad);
    bench.machine.switches.bitFlipOneIn = 0;
    await bench.command(Command.switches, OHMS_1_2);
    expect(await converted(bench)).toBe(Status.ok);
  });
});

describe('converter', () => {
  it('drives each of its four currents and off', async () => {
    const bench = await plugged();
    await bench.command(Command.switches, OHMS_1_2);
    for (const current_nA of [10000, 50000, 100000, 250000, 0]) {
      await bench.command(Command.drive, current_nA);
      expect(bench.machine.converter.current_nA).toBe(current_nA);
    }
  });
  it('answers 56.504 ms after a precise start and 2.656 ms after a quick one (data sheet SBAS660C, 9.3.6.1.2)', async () => {
    const bench = await plugged();
    for (const [rate, latency_s] of [[0, 0.056504], [1, 0.002656]]) {
      const before = bench.note(Note.conversions);
      await bench.command(Command.convert, 0, rate);
      const start_s = bench.machine.time_s;
      bench.runUntil(() => bench.note(Note.conversions) !== before, 'the conversion is answered');
      // The command's way over USB and our looking every 0.1 ms take part of a frame.
      expect(Math.abs(bench.machine.time_s - start_s - latency_s)).toBeLessThan(1e-3);
      expect(bench.note(Note.conversionStatus)).toBe(Status.ok);
    }
  });
  it('reads wand, temperature and rails where pins.h has them', async () => {
    const bench = await plugged();
    const codes: number[] = [];
    for (const input of [1, 2, 3, 4]) {
      expect(await converted(bench, input, 0)).toBe(Status.ok);
      codes.push((bench.note(Note.code) * 2.5) / 2 ** 23);
    }
    const [wand_V, temperature_V, positive_V, negative_V] = codes;
    expect(Math.abs(wand_V)).toBeLessThan(0.05);
    expect(temperature_V).toBeGreaterThan(0.6);
    expect(Math.abs(positive_V - RAILS.plus_V / 2)).toBeLessThan(0.03);
    expect(Math.abs(negative_V + RAILS.minus_V / 2)).toBeLessThan(0.03);
    expect(complaintsOf(bench.machine)).toEqual([]);
  });

  const broken = [
    ['silent', { silent: true }, Status.silent],
    ['stuck busy', { stuckBusy: true }, Status.bad],
    ['answering all ones', { allOnes: true }, Status.bad],
    ['answering all zeros', { allZeros: true }, Status.bad],
    ['reset by itself', { badStatus: true }, Status.bad],
    ['on a line where every second bit flips', { bitFlipOneIn: 2 }, Status.bad],
  ] as const;
  it.each(broken)('%s: told as such, current off, and well again with the part', async (_, faults, status) => {
    const bench = await plugged();
    await drives(bench);
    Object.assign(bench.machine.converter.faults, faults);
    expect(await converted(bench, 0, 0)).toBe(status);
    expect(bench.machine.converter.current_nA).toBe(0);
    // What was driven is gone: no reading counts until a current is asked for again.
    Object.assign(bench.machine.converter.faults, {
      silent: false, stuckBusy: false, allOnes: false, allZeros: false, badStatus: false, bitFlipOneIn: 0,
    });
    expect(await converted(bench)).toBe(Status.bad);
    await bench.command(Command.drive, 100000);
    expect(await converted(bench)).toBe(Status.ok);
    expect(bench.machine.converter.current_nA).toBe(100000);
  });
  it('reads on when one bit in 1000 flips on its line', async () => {
    const bench = await plugged();
    bench.machine.converter.faults.bitFlipOneIn = 1000;
    const statuses: number[] = [];
    for (let i = 0; i < 20; i++) statuses.push(await converted(bench));
    expect(statuses.filter((status) => status === Status.ok).length).toBeGreaterThanOrEqual(18);
    expect(statuses.every((status) => status === Status.ok || status === Status.bad)).toBe(true);
  });
});

describe('rails', () => {
  it('that fail switch the current and the switches off, and readings are bad', async () => {
    const bench = await plugged();
    await drives(bench);
    bench.machine.breakRails(true);
    runFor(bench.machine, 0.03);
    expect([bench.machine.switches.word, bench.machine.converter.current_nA]).toEqual([0, 0]);
    expect(await converted(bench)).toBe(Status.bad);
    bench.machine.breakRails(false);
    runFor(bench.machine, 0.03);
    await bench.command(Command.switches, OHMS_1_2);
    await bench.command(Command.drive, 100000);
    expect(await converted(bench)).toBe(Status.ok);
  });
});

describe('a start of the converter', () => {
  it.each([1.05e6, 1.3e6, 1.7e6, 2.2e6])('waits for its ready bit: ready after %d ns (data sheet SBAS660C: up to 2.2 ms)', async (ready_ns) => {
    const bench = await plugged();
    bench.machine.converter.readyAfter_ns = ready_ns;
    bench.machine.converter.faults.silent = true;
    expect(await converted(bench)).toBe(Status.silent);
    bench.machine.converter.faults.silent = false;
    expect(await converted(bench)).toBe(Status.ok);
    expect(complaintsOf(bench.machine)).toEqual([]);
  });
  it('that never gets ready is given up after 20 ms, and the reason is told', async () => {
    const bench = await plugged();
    expect(converterFault(bench)).toBe(ConverterFault.none);
    bench.machine.converter.faults.silent = true;
    expect(await converted(bench)).toBe(Status.silent);
    expect(converterFault(bench)).toBe(ConverterFault.silent);
    bench.machine.converter.readyAfter_ns = Infinity;
    const start_s = bench.machine.time_s;
    expect(await converted(bench)).toBe(Status.bad);
    expect(bench.machine.time_s - start_s).toBeLessThan(0.03);
    expect(converterFault(bench)).toBe(ConverterFault.notReady);
  });
  it('after a glitch at 300 moments is never taken for a conversion that stays silent', async () => {
    const bench = await plugged();
    for (let i = 0; i < 300; i++) {
      bench.machine.converter.faults.badStatus = true;
      expect(await converted(bench)).toBe(Status.bad);
      bench.machine.converter.faults.badStatus = false;
      // The tick comes every 10 ms: each round meets it at another moment.
      bench.machine.run(33_000 * (i % 300));
      expect(await converted(bench), `round ${i}`).toBe(Status.ok);
    }
  });
  it('is not cut short by a conversion that was given up and ends meanwhile', async () => {
    const bench = await plugged();
    for (let i = 0; i < 40; i++) {
      // Commands come with the frames of USB, 57 ms apart; a clock that is 0.8 to 1.4 % slow lets the first result come in any of
      // the moments between the second command's registers and its own start.
      bench.machine.converter.clockRatio = (56.95 + 0.01 * i) / 56.504;
      await bench.command(Command.convert, 0, 0);
      bench.machine.run(56e6);
      expect(await converted(bench, 0, 1), `${i}`).toBe(Status.ok);
    }
    expect(converterFault(bench)).toBe(ConverterFault.none);
  });
});

describe('capture', () => {
  it('gives 100 blocks of 100 samples in a second, and sleeps most of it', async () => {
    const bench = await plugged();
    await bench.command(Command.listen, 1);
    const slept_ns = bench.machine.chip.slept_ns;
    const before = bench.note(Note.samples);
    runFor(bench.machine, 1);
    expect(Math.abs(bench.note(Note.samples) - before - 100)).toBeLessThanOrEqual(1);
    expect(bench.note(Note.worstSamples)).toBe(Status.ok);
    expect(bench.machine.chip.slept_ns - slept_ns).toBeGreaterThan(0.8e9);
    await bench.command(Command.listen, 0);
    const stopped = bench.note(Note.samples);
    runFor(bench.machine, 0.1);
    expect(bench.note(Note.samples)).toBe(stopped);
  });
  it('says overrun when the converter of the listening channels ran over, and goes on', async () => {
    const bench = await plugged();
    await bench.command(Command.listen, 1);
    runFor(bench.machine, 0.1);
    (bench.machine.chip.mcu.adc as unknown as { fcs: number }).fcs |= 1 << 11;
    runFor(bench.machine, 0.02);
    expect(bench.note(Note.worstSamples)).toBe(Status.overrun);
    runFor(bench.machine, 0.1);
    expect(bench.note(Note.samplesStatus)).toBe(Status.ok);
  });
  it('steps a burst exactly where it was told to', async () => {
    const steps: number[] = [];
    let armed = false;
    const bench = new ProbeBench({
      onCommand: (command, _, time_s) => { if (command === 'switches' && armed) steps.push(time_s); },
    });
    await bench.plug();
    await bench.command(Command.switches, OHMS_1_2);
    armed = true;
    const samples: number[] = [];
    const { adc } = bench.machine.chip.mcu;
    const convert = adc.onADCRead;
    adc.onADCRead = (channel) => {
      if (channel === 0) samples.push(bench.machine.time_s);
      convert(channel);
    };
    await bench.command(Command.burst, 1000, 700, OHMS_3_4);
    bench.runUntil(() => bench.note(Note.bursts) === 1, 'the burst ends');
    expect(bench.note(Note.burstStatus)).toBe(Status.ok);
    expect(steps).toHaveLength(1);
    // After the last input of turn 699 and before anything of turn 701.
    expect(steps[0]).toBeGreaterThan(samples[699]);
    expect(steps[0]).toBeLessThan(samples[701]);
  });
  it('refuses a burst that would not fit by a trap, with a restart that says so', async () => {
    const bench = await plugged();
    await bench.command(Command.burst, 4000, 0, 0);
    bench.runUntil(() => bench.machine.starts === 2, 'the restart');
    runFor(bench.machine, 0.2);
    expect(bench.machine.memory.getUint8(1024 + 28)).toBe(2);
  });
});

describe('button', () => {
  it('counts a press that bounces as one', () => {
    const bench = new ProbeBench();
    runFor(bench.machine, 0.2);
    const bounce = Array.from({ length: 20 }, (_, i) => ({ pressed: i % 2 === 0, hold_ns: 0.7e6 }));
    bench.machine.move(...bounce, { pressed: true, hold_ns: 90e6 }, ...bounce, { pressed: false, hold_ns: 200e6 });
    runFor(bench.machine, 0.5);
    expect([bench.note(Note.buttons), bench.note(Note.button)]).toEqual([1, 1]);
  });
  it('counts one that is held for ever as a single long press', () => {
    const bench = new ProbeBench();
    runFor(bench.machine, 0.2);
    bench.machine.hold(Infinity);
    runFor(bench.machine, 5);
    expect([bench.note(Note.buttons), bench.note(Note.button)]).toEqual([1, 2]);
  });
  it('is not fooled by glitches of 5 ms', () => {
    const bench = new ProbeBench();
    runFor(bench.machine, 0.2);
    for (let i = 0; i < 10; i++) bench.machine.move({ pressed: true, hold_ns: 5e6 }, { pressed: false, hold_ns: 45e6 });
    runFor(bench.machine, 1);
    expect(bench.note(Note.buttons)).toBe(0);
  });
});

describe('timer', () => {
  it('wakes once, not early, and not at all when it was cancelled or replaced', async () => {
    const bench = await plugged();
    await bench.command(Command.wake, 30000);
    const start_s = bench.machine.time_s;
    bench.runUntil(() => bench.note(Note.times) === 1, 'the wake-up');
    expect(bench.machine.time_s - start_s).toBeGreaterThan(0.0295);
    expect(bench.machine.time_s - start_s).toBeLessThan(0.031);
    await bench.command(Command.wake, 30000);
    await bench.command(Command.wake, 0);
    await bench.command(Command.wake, 50000);
    await bench.command(Command.wake, 20000);
    runFor(bench.machine, 0.2);
    expect(bench.note(Note.times)).toBe(2);
  });
  it('serves a wake-up of one microsecond', async () => {
    const bench = await plugged();
    await bench.command(Command.wake, 1);
    bench.runUntil(() => bench.note(Note.times) === 1, 'the wake-up', 0.01);
  });
});

describe('calibration page', () => {
  it.each([['good', Calibrated.good], ['missing', Calibrated.missing], ['corrupt', Calibrated.corrupt]] as const)('%s: told to the module', (calibration, told) => {
    const bench = new ProbeBench({ calibration });
    runFor(bench.machine, 0.1);
    const { memory } = bench.machine;
    expect(memory.getUint8(BOARD_STATE + BoardStateLayout.calibrated.at)).toBe(told);
    // Nominal values where it is not good: never a number that nobody vouches for.
    expect(memory.getFloat32(BOARD + BoardLayout.reference_ohm.at, true)).toBe(2000);
  });
});

describe('the start after a UF2 was copied', () => {
  it('is no failure: the boot ROM starts the image by the watchdog, and no red light is shown', () => {
    const bench = new ProbeBench();
    runFor(bench.machine, 0.2);
    bench.machine.flashed();
    runFor(bench.machine, 0.2);
    expect(bench.machine.memory.getUint8(1024 + 28)).toBe(0);
    expect(bench.machine.isRed).toBe(false);
  });
});

describe('ways to die', () => {
  const RESET_REASON = 1024 + 28;
  const deaths = [
    ['a trap of the module', Command.trap, 0, 2],
    ['a read outside the memory', Command.load, 196608, 2],
    ['a hang in the logic', Command.hang, 0, 1],
    ['a misaligned read', Command.misalign, 4096, 3],
    ['a stack overrun', Command.recurse, 4000, 4],
  ] as const;
  it.each(deaths)('%s: current off, red light, restart with the reason', async (_, command, argument, reason) => {
    const bench = await plugged();
    const { machine } = bench;
    await drives(bench);
    machine.usb.interruptOut(1, reportOf(command, argument)).catch(() => {});
    bench.runUntil(() => machine.converter.current_nA === 0, 'the current goes off', 4);
    expect(machine.switches.word).toBe(0);
    bench.runUntil(() => machine.isRed, 'the red light', 0.1);
    bench.runUntil(() => machine.starts === 2, 'the restart', 6);
    runFor(machine, 0.2);
    expect(machine.memory.getUint8(RESET_REASON)).toBe(reason);
    expect([machine.converter.current_nA, machine.switches.word]).toEqual([0, 0]);
    await bench.plug();
    expect(await converted(bench)).toBe(Status.ok);
  });
  it('tells power from brown-out by the RAM that survived', () => {
    const bench = new ProbeBench();
    runFor(bench.machine, 0.2);
    expect(bench.machine.memory.getUint8(RESET_REASON)).toBe(0);
    bench.machine.brownOut();
    runFor(bench.machine, 0.2);
    expect(bench.machine.memory.getUint8(RESET_REASON)).toBe(5);
    bench.machine.powerOn();
    runFor(bench.machine, 0.2);
    expect(bench.machine.memory.getUint8(RESET_REASON)).toBe(0);
  });
});
