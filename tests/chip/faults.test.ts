/**
 * Whole tests of a pickup on the chip twin while something breaks: each time the test ends with a plain word
 * about it, the current is off, and the firmware goes on (or restarts, and says why).
 */
import { beforeAll, describe, expect, it } from 'vitest';
import { setupOf } from '../../host/src/bench/bench.ts';
import { ChipTwin } from '../../host/src/chip-twin/chip-twin.ts';
import type { ConverterFaults } from '../../host/src/chip-twin/converter-model.ts';
import { readImage } from '../../host/src/chip-twin/image.ts';
import { Machine } from '../../host/src/chip-twin/machine.ts';
import { BenchTest, type TestOutcome } from '../../host/src/evidence/run-test.ts';
import { BoardLayout, BOARD, Refusal, Report, REPORT_VERSION, Step } from '../../host/src/logic/layout.generated.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import { decodeReport, ReportEncoder, type TesterReport } from '../../host/src/transport/reports.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { until } from './bench.ts';
import { productImage } from './images.ts';
import { expectSameMap } from './same-map.ts';

let image: string;
beforeAll(() => { image = productImage(); });

/** One coil on two leads: the shortest test. */
const single: Pickup = demoLot.find(({ coils, faults }) => coils.length === 1 && faults.length === 0)!;

/** What a whole test came to, and in which state it left the board. */
type Ending = { outcome: TestOutcome | null; words: string; current_nA: number; word: number; starts: number; steps: number[] };

/** Runs a whole test; `act` is called with each report and may break something. */
async function ending(
  pickup: Pickup, act: (twin: ChipTwin, report: TesterReport) => void, seed = 4,
): Promise<Ending> {
  const twin = new ChipTwin({ pickup, seed, image });
  const steps: number[] = [];
  let words = '';
  let outcome: TestOutcome | null = null;
  try {
    const test = new BenchTest(twin, {
      setup: setupOf(pickup), logic: createLogic(),
      onReport: (report) => {
        if (report.kind === 'state' && steps.at(-1) !== report.step) steps.push(report.step);
        act(twin, report);
      },
    });
    outcome = await test.run();
    const { map } = outcome;
    words = [map.verdict, ...map.findings.map(({ text }) => text), ...map.unknown].join(' | ');
  } catch (error) {
    words = error instanceof Error ? error.message : String(error);
  }
  const { machine } = twin;
  machine.run(5e7);
  const state = { current_nA: machine.converter.current_nA, word: machine.switches.word, starts: machine.starts };
  await twin.close();
  return { outcome, words, steps, ...state };
}

const isStep = (report: TesterReport, step: number): boolean => report.kind === 'state' && report.step === step;

describe('a converter that breaks while resistances are read', () => {
  const faults: readonly (readonly [string, Partial<ConverterFaults>])[] = [
    ['falls silent', { silent: true }],
    ['stays busy', { stuckBusy: true }],
    ['answers all ones', { allOnes: true }],
    ['resets itself', { badStatus: true }],
  ];
  it.each(faults)('%s: the test ends, says so in plain words, and drives nothing', async (_, fault) => {
    const end = await ending(single, (twin, report) => {
      if (isStep(report, Step.resistance) || isStep(report, Step.quickScan)) Object.assign(twin.machine.converter.faults, fault);
    });
    expect([end.current_nA, end.word, end.starts]).toEqual([0, 0, 1]);
    expect(end.words).toMatch(/converter/i);
    expect(end.words).not.toMatch(/\bat \S+:\d+/);
  });
});

describe('lines that disturb', () => {
  it.each([1, 2, 3])('one bit in 2000 wrong to and from the converter and in the switches: the map is the same (seed %i)', async (seed) => {
    const clean = await ending(single, () => {}, seed);
    const noisy = await ending(single, (twin) => {
      twin.machine.converter.faults.bitFlipOneIn = 2000;
      twin.machine.switches.bitFlipOneIn = 2000;
    }, seed);
    expect(clean.outcome!.map.verdict).toBe('good');
    const signs = (one: Ending): unknown => one.outcome!.map.coils.map(({ plus, minus }) => [plus, minus]);
    expect(signs(noisy)).toEqual(signs(clean));
    expect([noisy.current_nA, noisy.word, noisy.starts]).toEqual([0, 0, 1]);
  });
  it('listening runs over during a touch: the touch is asked for again or given up, and the test ends', async () => {
    let broken = 0;
    const end = await ending(single, (twin, report) => {
      if (isStep(report, Step.listening) && broken++ === 0) (twin.machine.chip.mcu.adc as unknown as { fcs: number }).fcs |= 1 << 11;
    });
    expect(broken).toBeGreaterThan(0);
    expect(end.outcome).not.toBeNull();
    expect([end.current_nA, end.word, end.starts]).toEqual([0, 0, 1]);
  });
});

describe('leads that come and go', () => {
  const withFaults = (faults: Pickup['faults']): Pickup => ({ ...single, faults });
  it('a clip lifted while it is driven is found, and nothing stays driven', async () => {
    const end = await ending(withFaults([{ kind: 'intermittent', clip: 1, from_s: 0.25, to_s: 0.6 }]), () => {});
    expect(end.outcome!.map.verdict).not.toBe('good');
    expect([end.current_nA, end.word, end.starts]).toEqual([0, 0, 1]);
  });
  it('a clip lifted during the touch: the test ends, and nothing stays driven', async () => {
    const end = await ending(withFaults([{ kind: 'intermittent', clip: 1, from_s: 1, to_s: 12 }]), () => {});
    expect(end.outcome!.map.verdict).not.toBe('good');
    expect([end.current_nA, end.word, end.starts]).toEqual([0, 0, 1]);
  });
  it('a live source that touches a clip in the middle of the test is found, and nothing stays driven', async () => {
    const [node0, node1] = [single.leads[0].node!, single.leads[1].node!];
    const end = await ending(withFaults([
      { kind: 'intermittent', clip: 1, from_s: 0, to_s: 0.5 },
      { kind: 'live', between: [node0, node1], volt_V: 0.4, source_ohm: 1000 },
    ]), () => {});
    expect(end.words).toMatch(/[+-]0\.\d+ V stood on clip/);
    expect([end.current_nA, end.word, end.starts]).toEqual([0, 0, 1]);
  });
});

describe('cable', () => {
  it('pulled at each step after the guard and put in again: the test goes on and ends with the same map', async () => {
    // Noise is of the moment, and what is in the flash cache depends on every report sent: figures differ within their uncertainty.
    const clean = await ending(single, () => {}, 4);
    // Before the first entry, in the guard, the host has nothing yet to go on from: it must start again.
    const resting: readonly number[] = [Step.idle, Step.guard, Step.done, Step.waitHost];
    const steps = [...new Set(clean.steps)].filter((step) => !resting.includes(step));
    expect(steps.length, clean.words).toBeGreaterThan(6);
    for (const step of steps) {
      const twin = new ChipTwin({ pickup: single, seed: 4, image });
      const logic = createLogic();
      const setup = setupOf(single);
      let pulled = false;
      const first: BenchTest = new BenchTest(twin, {
        setup, logic,
        onReport: (report) => {
          if (pulled || !isStep(report, step)) return;
          pulled = true;
          void twin.close().then(() => twin.onClosed({ sentence: 'the cable was pulled out' }));
        },
      });
      await expect(first.run(), `step ${step}`).rejects.toThrow('the cable was pulled out');
      const outcome = await new BenchTest(twin, { setup, logic, resume: first }).run();
      await twin.close();
      expect(outcome.differences, `step ${step}`).toEqual([]);
      expectSameMap(outcome.map, clean.outcome!.map, `step ${step}`);
      expect(twin.machine.starts).toBe(1);
    }
  }, 300_000);
  it('suspended in the middle: the test goes on by itself and ends with the same map', async () => {
    let suspended = false;
    const end = await ending(single, (twin, report) => {
      if (suspended || !isStep(report, Step.resistance)) return;
      suspended = true;
      twin.machine.usb.suspend();
      twin.machine.run(3e6);
      twin.machine.usb.resume();
    });
    expect(suspended).toBe(true);
    expect(end.outcome!.map.verdict).toBe('good');
  });
});

describe('a trap of the logic in the middle of a test', () => {
  it('switches off, is told to the host, and is told with its reason when the tester is opened again; then a test runs', async () => {
    const twin = new ChipTwin({ pickup: single, seed: 4, image });
    const { machine } = twin;
    let trapped = false;
    const broken = new BenchTest(twin, {
      setup: setupOf(single), logic: createLogic(),
      onReport: (report) => {
        if (trapped || !isStep(report, Step.resistance)) return;
        trapped = true;
        const { core } = machine.chip.mcu;
        core.waiting = false;
        core.registers[15] = machine.symbol('wasm_rt_trap').address & ~1;
      },
    });
    await expect(broken.run()).rejects.toThrow(/restarted by itself/);
    expect([machine.converter.current_nA, machine.switches.word, machine.starts]).toEqual([0, 0, 2]);
    const again = new BenchTest(twin, { setup: setupOf(single), logic: createLogic() });
    const outcome = await again.run();
    await twin.close();
    expect(outcome.identity.resetReason).toBe(2);
    expect(outcome.map.verdict).toBe('good');
  });
});

/** A machine with the product's firmware, run by hand. */
async function bare(): Promise<{ machine: Machine; reports: TesterReport[]; send(report: Uint8Array): Promise<void> }> {
  const machine = new Machine({ image: readImage(image), pickup: single, seed: 2, serial: 'TWIN-C001', automatic: true });
  await until(machine, machine.usb.plugIn());
  await until(machine, machine.usb.control(Uint8Array.of(0, 9, 1, 0, 0, 0, 0, 0)));
  const reports: TesterReport[] = [];
  machine.usb.onReport = (report) => void reports.push(decodeReport(report));
  return { machine, reports, send: async (report) => void (await until(machine, machine.usb.interruptOut(1, report))) };
}

describe('a host that misbehaves', () => {
  it('2,000 random reports: none acted on, each refused, and the tester still answers', async () => {
    const { machine, reports, send } = await bare();
    const chance = new RandomStream(0xbad, 'random reports');
    let orders = 0;
    for (let i = 0; i < 2000; i++) {
      const report = Uint8Array.from({ length: 64 }, () => chance.bits() & 255);
      // Half of them look right at first sight: version and a known type, rubbish in the rest.
      if (i % 2 === 0) report[0] = REPORT_VERSION;
      if (i % 4 === 0) report[1] = Report.hello + 1 + (chance.bits() % 5);
      await send(report);
      orders += machine.converter.current_nA > 0 || machine.switches.word !== 0 ? 1 : 0;
    }
    machine.run(1e8);
    expect(orders).toBe(0);
    expect(machine.starts).toBe(1);
    const refusals = reports.filter((report) => report.kind === 'refused');
    expect(refusals.length).toBeGreaterThan(0);
    expect(refusals.every((report) => report.kind === 'refused' && report.reason !== Refusal.none)).toBe(true);
    reports.length = 0;
    await send(new ReportEncoder().hello());
    machine.run(1e8);
    expect(reports.some((report) => report.kind === 'identity')).toBe(true);
  });
  it('a report that is too short is refused for its length', async () => {
    const { machine, reports, send } = await bare();
    await send(new ReportEncoder().hello().slice(0, 20));
    machine.run(1e8);
    expect(reports).toContainEqual(expect.objectContaining({ kind: 'refused', reason: Refusal.length }));
    expect(machine.starts).toBe(1);
  });
  it('one that never reads: the test goes on to its end on the lights, and nothing is lost when it reads again', async () => {
    const { machine, reports, send } = await bare();
    machine.usb.onReport = null;
    await send(new ReportEncoder().hello());
    machine.press(false);
    for (let i = 0; i < 1200 && !RESULT_LIGHTS.has(machine.light & 255); i++) {
      machine.run(5e7);
      if ((machine.light & 255) === 10) machine.press(false);
    }
    expect(RESULT_LIGHTS.has(machine.light & 255)).toBe(true);
    expect([machine.converter.current_nA, machine.switches.word]).toEqual([0, 0]);
    machine.usb.onReport = (report) => void reports.push(decodeReport(report));
    await send(new ReportEncoder().hello());
    machine.run(2e9);
    expect(reports.filter((report) => report.kind === 'entry').length).toBeGreaterThan(3);
  });
});

/** Good, fault, unsure. */
const RESULT_LIGHTS: ReadonlySet<number> = new Set([6, 7, 8]);

describe('no host at all', () => {
  it('the button runs the whole test, and the lights say good', () => {
    const machine = new Machine({ image: readImage(image), pickup: single, seed: 2, serial: 'TWIN-C001', automatic: true });
    machine.run(1e8);
    machine.press(false);
    for (let i = 0; i < 1200 && !RESULT_LIGHTS.has(machine.light & 255); i++) {
      machine.run(5e7);
      if ((machine.light & 255) === 10) machine.press(false);
    }
    expect(machine.light & 255).toBe(6);
    expect([machine.converter.current_nA, machine.switches.word]).toEqual([0, 0]);
    expect([...machine.complaints, ...machine.chip.complaints]).toEqual([]);
  });
});

describe('a tester without a sound calibration', () => {
  const told = [['missing', /never calibrated/], ['corrupt', /calibration is damaged/]] as const;
  it.each(told)('%s: the map says so, and so does its record', async (calibration, said) => {
    const twin = new ChipTwin({ pickup: single, seed: 4, image, calibration });
    const test = new BenchTest(twin, { setup: setupOf(single), logic: createLogic() });
    const outcome = await test.run();
    await twin.close();
    expect(outcome.differences).toEqual([]);
    expect(outcome.map.unknown[0]).toMatch(said);
    expect(outcome.map.verdict).toBe('good');
  });
});

describe('power', () => {
  it('cycled at any of 6 random moments of a test: comes up clean each time, ready and with everything off', () => {
    const chance = new RandomStream(0x0ff, 'power cycles');
    for (let i = 0; i < 6; i++) {
      const machine = new Machine({ image: readImage(image), pickup: single, seed: i, serial: 'TWIN-C001', automatic: true });
      machine.run(chance.between(0, 0.1) * 1e9);
      machine.press(false);
      machine.run(chance.between(0, 3) * 1e9);
      const brownOut = chance.bits() % 2 === 0;
      if (brownOut) machine.brownOut();
      else machine.powerOn();
      expect([machine.converter.current_nA, machine.switches.word]).toEqual([0, 0]);
      machine.run(2e8);
      expect(machine.light & 255).toBe(1);
      expect(machine.memory.getUint8(BOARD + BoardLayout.resetReason.at)).toBe(brownOut ? 5 : 0);
      expect([...machine.complaints, ...machine.chip.complaints]).toEqual([]);
    }
  });
});
