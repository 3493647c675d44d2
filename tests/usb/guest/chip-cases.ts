import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { checkPc, checkText } from '../../../host/src/cli/check.ts';
import { BenchTest } from '../../../host/src/evidence/run-test.ts';
import type { TestOptions, TestOutcome } from '../../../host/src/evidence/run-test.ts';
import { Step } from '../../../host/src/logic/layout.generated.ts';
import { createLogic, logicModule } from '../../../host/src/logic/module.ts';
import { loadDriver, messageOf } from '../../../host/src/transport/driver.ts';
import { Interview } from '../../../host/src/transport/interview.ts';
import { ReportEncoder, decodeReport } from '../../../host/src/transport/reports.ts';
import type { TesterReport } from '../../../host/src/transport/reports.ts';
import type { Bench, Case } from './cases.ts';
import { findTester, plug, pull, withTester } from './plugged.ts';
import { parsedReportDescriptor, rawReportDescriptor, readAttribute, sysfsDevice, until } from './vhci.ts';

const SERIALS: Readonly<Record<string, string>> = { chip: 'TWIN-C001', chip2: 'TWIN-C002' };

const stepName = (step: number): string =>
  Object.entries(Step).find(([, value]) => value === step)?.[0] ?? `step ${step}`;

/** What the test outside compares. */
function summary({ map, differences, identity, collector }: TestOutcome) {
  return { map, differences, identity, entries: collector.count, problems: collector.problems };
}

async function wholeTest(bench: Bench, device: string, options: Partial<TestOptions> = {}): Promise<TestOutcome> {
  const transport = await findTester(SERIALS[device]!);
  let step = -1;
  const test = new BenchTest(transport, {
    setup: bench.setups[device]!,
    logic: createLogic(),
    ...options,
    onReport(report) {
      // For the serial log, which is all that is left of a run that hangs.
      if (report.kind === 'state' && report.step !== step) console.log(`${device} ${stepName((step = report.step))}`);
      options.onReport?.(report);
    },
  });
  try {
    return await test.run();
  } finally {
    await transport.close();
  }
}

/** Reads that may be unanswered: hidraw keeps 64 reports for a program whose reading thread is kept waiting. */
const UNANSWERED = 32;

/** Reads a region block by block, and counts what comes. @param atOnce - all reads are started together */
async function readBlocks(count: number, region: 0 | 1, atOnce: boolean) {
  return withTester('TWIN-C001', async ({ transport, reports, closed }) => {
    const encoder = new ReportEncoder();
    await transport.write(encoder.hello());
    let answered = 0;
    let looked = 0;
    const blocks = (): number => {
      for (; looked < reports.length; looked++) if (decodeReport(reports[looked]!).kind === 'block') answered++;
      return answered;
    };
    const writes: Promise<void>[] = [];
    for (let i = 0; i < count; i++) {
      if (!atOnce) await until('an answer', () => i - blocks() < UNANSWERED);
      writes.push(transport.write(encoder.read(region, (48 * i) % 1536, 48)));
      if (!atOnce) await writes.at(-1);
    }
    await Promise.all(writes);
    const decoded = () => reports.map(decodeReport);
    const stuck = (error: Error) => {
      throw new Error(`${error.message}: ${JSON.stringify({ ...order(decoded()), blocks: blocks(), closed })}`);
    };
    await until(`${count} blocks`, () => reports.length >= count && blocks() >= count).catch(stuck);
    assert.deepEqual(closed, []);
    return { ...order(decoded()), blocks: blocks() };
  });
}

/** An emulated chip asked by an emulated PC may take its time. */
const PATIENCE = { answer_ms: 120_000, selfTest_ms: 120_000 };

/** Asks a tester who it is, which also shows that it is alive and takes reports. */
async function identify(device: string) {
  const interview = new Interview(await findTester(SERIALS[device]!), PATIENCE);
  try {
    await interview.open();
    return await interview.identify();
  } finally {
    await interview.end();
  }
}

/** Cases with the real firmware, executed by the emulated chip. */
export const chipCases: readonly Case[] = [
  {
    name: 'the firmware is enumerated by the kernel, which shows its descriptors as the standard wants them',
    async run(bench) {
      await plug(bench, 'chip');
      const shown = await until('TWIN-C001 in sysfs', () => sysfsDevice('TWIN-C001'));
      await findTester('TWIN-C001');
      return { ...shown, rawReport: rawReportDescriptor(shown), parsedReport: parsedReportDescriptor(shown) };
    },
  },
  {
    name: 'the check of the computer finds everything right, the board\'s self-test included',
    async run() {
      const driver = await loadDriver();
      const lines = await checkPc({
        platform: process.platform,
        moduleHash: logicModule().sha256,
        load: async () => driver,
        rules: async () => [],
        mayAll: true,
        patience: PATIENCE,
      });
      return { text: checkText(lines) };
    },
  },
  {
    name: 'a tester with another module is told apart before anything is driven',
    async run(bench) {
      const driver = await loadDriver();
      const lines = await checkPc({
        platform: process.platform,
        moduleHash: 'ab'.repeat(32),
        load: async () => driver,
        rules: async () => [],
        mayAll: true,
        patience: PATIENCE,
      });
      return { text: checkText(lines), complaints: await bench.host.ask('complaints', { device: 'chip' }) };
    },
  },
  {
    name: 'a whole test by USB: evidence and result of chip and host are the same bytes',
    async run(bench) {
      return summary(await wholeTest(bench, 'chip', { compareEvidence: true }));
    },
  },
  {
    name: '2000 reads are answered by 2000 blocks, and no report of the tester is lost',
    run: () => readBlocks(2000, 0, false),
  },
  {
    name: 'a host that floods is held up, not misunderstood',
    run: () => readBlocks(500, 1, true),
  },
  {
    name: '300 reports of chance bytes are refused and the tester works on',
    async run(bench) {
      const { kinds, closed } = await withTester('TWIN-C001', async ({ transport, reports, closed }) => {
        let state = 0x1f2e3d;
        for (let i = 0; i < 300; i++) {
          const bytes = new Uint8Array(64);
          for (let at = 0; at < 64; at++) {
            state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
            bytes[at] = state >>> 24;
          }
          await transport.write(bytes);
        }
        return { kinds: new Set(reports.map((bytes) => decodeReport(bytes).kind)), closed };
      });
      const { serial } = await identify('chip');
      const complaints = await bench.host.ask('complaints', { device: 'chip' });
      return { kinds: [...kinds].sort(), closed, serial, complaints };
    },
  },
  {
    name: 'a firmware whose IN endpoint is halted is freed by the kernel and answers',
    async run(bench) {
      await bench.host.ask('halt', { device: 'chip', endpoint: 0x81 });
      return { serial: (await identify('chip')).serial };
    },
  },
  {
    name: 'a tester that nobody has open may be suspended, and wakes when it is opened',
    async run(bench) {
      const { folder } = await until('TWIN-C001 in sysfs', () => sysfsDevice('TWIN-C001'));
      writeFileSync(`${folder}/power/autosuspend_delay_ms`, '0');
      writeFileSync(`${folder}/power/control`, 'auto');
      const status = (): string => readAttribute(`${folder}/power/runtime_status`);
      await until('suspended', () => status() === 'suspended');
      await bench.host.ask('suspend', { device: 'chip' });
      // Whoever lists the devices reads their strings: a kernel wakes the bus before it asks.
      await bench.host.ask('resume', { device: 'chip' });
      const identity = await identify('chip');
      writeFileSync(`${folder}/power/control`, 'on');
      await until('awake', () => status() === 'active');
      return { serial: identity.serial };
    },
  },
  {
    name: 'two testers at once, each with a whole test',
    async run(bench) {
      await plug(bench, 'chip2');
      const outcomes = await Promise.all([wholeTest(bench, 'chip'), wholeTest(bench, 'chip2')]);
      await pull(bench, 'chip');
      return outcomes.map(summary);
    },
  },
  {
    name: 'a host that is busy in the middle of a test gets it all',
    async run(bench) {
      let busy = false;
      const outcome = await wholeTest(bench, 'chip2', {
        compareEvidence: true,
        onReport(report) {
          if (busy || report.kind !== 'state' || report.step !== Step.resistance) return;
          busy = true;
          standStill(3);
        },
      });
      return { busy, ...summary(outcome) };
    },
  },
  {
    // hidraw keeps the last 64 reports: of a touch's samples most are lost, in front of an entry that is not.
    name: 'a host that is busy while the samples of a touch come asks for them again',
    async run(bench) {
      let busy = false;
      const outcome = await wholeTest(bench, 'chip2', {
        compareEvidence: true,
        onReport(report) {
          if (busy || report.kind !== 'samples') return;
          busy = true;
          standStill(3);
        },
      });
      return { busy, ...summary(outcome) };
    },
  },
  {
    name: 'the cable is pulled at every step of a test, and each test comes to the same end',
    async run(bench) {
      const pulledAt = new Set<number>();
      const said: string[] = [];
      const outcomes: ReturnType<typeof summary>[] = [];
      // The chip goes on while the cable is out, so that one test is pulled at some of its steps only.
      for (let pulls = 1; pulls > 0; ) {
        const before = pulledAt.size;
        outcomes.push(summary(await pulledTest(bench, pulledAt, said)));
        pulls = pulledAt.size - before;
      }
      return { steps: [...pulledAt].map(stepName), said, outcomes };
    },
  },
  {
    name: 'a tester that lost its power in the middle says that its test is gone',
    async run(bench) {
      const transport = await findTester('TWIN-C002');
      const options = { setup: bench.setups.chip2!, logic: createLogic() };
      const interrupted = new BenchTest(transport, {
        ...options,
        onReport(report) {
          if (report.kind === 'state' && report.step === Step.resistance) void bench.host.ask('pull', { device: 'chip2' });
        },
      });
      const lost = await interrupted.run().then(() => 'finished', messageOf);
      await transport.close();
      await pull(bench, 'chip2');
      await bench.host.ask('powerOn', { device: 'chip2' });
      await plug(bench, 'chip2');
      const again = await findTester('TWIN-C002');
      const resumed = new BenchTest(again, { ...options, resume: interrupted });
      const said = await resumed.run().then(() => 'finished', messageOf);
      await again.close();
      return { lost, said, complaints: await bench.host.ask('complaints', { device: 'chip2' }) };
    },
  },
];

/** Stops all threads of this process, the one that reads from the driver among them, as a computer without time for it does. */
function standStill(time_s: number): void {
  spawn('/bin/sh', ['-c', `sleep ${time_s}; kill -CONT ${process.pid}`], { stdio: 'ignore' });
  process.kill(process.pid, 'SIGSTOP');
}

/** One test whose cable is pulled at each step at which that has not been done yet, and goes on after each. */
async function pulledTest(bench: Bench, pulledAt: Set<number>, said: string[]): Promise<TestOutcome> {
  const logic = createLogic();
  let resume: BenchTest | undefined;
  let older: number | undefined;
  for (;;) {
    const transport = await findTester('TWIN-C002');
    let pulling = false;
    const test: BenchTest = new BenchTest(transport, {
      setup: bench.setups.chip2!,
      logic,
      compareEvidence: true,
      ...(resume ? { resume } : {}),
      onReport(report) {
        if (report.kind === 'identity') older ??= report.test;
        if (pulling || report.kind !== 'state' || report.test === older || pulledAt.has(report.step)) return;
        console.log(`pulled at ${stepName(report.step)}`);
        pulling = true;
        pulledAt.add(report.step);
        void bench.host.ask('pull', { device: 'chip2' });
      },
    });
    try {
      return await test.run();
    } catch (error) {
      if (!pulling) throw error;
      said.push(messageOf(error));
    } finally {
      await transport.close();
    }
    await pull(bench, 'chip2');
    await plug(bench, 'chip2');
    resume = test;
  }
}

/** Whether the reports of one session are numbered one after the other, as they came. */
function order(reports: readonly TesterReport[]): { received: number; jumps: number } {
  const numbers = reports.map(({ reportNumber }) => reportNumber ?? -1);
  const jumps = numbers.slice(1).filter((number, i) => number !== ((numbers[i]! + 1) & 0xffff)).length;
  return { received: numbers.length, jumps };
}
