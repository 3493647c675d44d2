/** A whole test between a tester and this program: the same bytes on both sides, and what is said when they differ. */
import { describe, expect, it } from 'vitest';
import { setupOf } from '../../host/src/bench/bench.ts';
import { loadRecord } from '../../host/src/evidence/load-record.ts';
import { solveEvidence } from '../../host/src/evidence/read-result.ts';
import { BenchTest, type TestOutcome } from '../../host/src/evidence/run-test.ts';
import { asBenchRecord } from '../../host/src/files/bench-file.ts';
import { EVIDENCE, EVIDENCE_bytes, Report } from '../../host/src/logic/layout.generated.ts';
import { createLogic, type Logic } from '../../host/src/logic/module.ts';
import type { Transport } from '../../host/src/transport/transport.ts';
import { BoardTwin } from '../../host/src/virtual-bench/board-twin.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';

const BY = { serial: 'TWIN-0001', firmware: '0.1.0', moduleHash: '00' };
const TAKEN = '2026-03-14T10:22:31Z';

/** A wire that may change or lose reports on their way to the host. */
function through(twin: BoardTwin, wire: (report: Uint8Array) => Uint8Array | null): Transport {
  const outer: Transport = {
    serial: twin.serial,
    onReport: () => undefined,
    onClosed: () => undefined,
    write: (report) => twin.write(report),
    open() {
      twin.onReport = (report) => {
        const arrived = wire(report);
        if (arrived !== null) outer.onReport(arrived);
      };
      twin.onClosed = (closed) => outer.onClosed(closed);
      return twin.open();
    },
    close: () => twin.close(),
  };
  return outer;
}

interface Session {
  readonly outcome: TestOutcome;
  readonly logic: Logic;
}

async function session(
  pickup: Pickup,
  wire: (report: Uint8Array) => Uint8Array | null = (report) => report,
): Promise<Session> {
  const twin = new BoardTwin({ pickup, seed: 11 });
  const logic = createLogic();
  const transport = through(twin, wire);
  try {
    const setup = setupOf(pickup);
    const test = new BenchTest(transport, { setup, logic, compareEvidence: true });
    return { outcome: await test.run(), logic };
  } finally {
    await transport.close();
  }
}

const evidenceOf = (logic: Logic): Uint8Array =>
  logic.bytes.slice(EVIDENCE, EVIDENCE + EVIDENCE_bytes);

const [first] = demoLot;
if (first === undefined) throw new Error('the invented lot is empty');

describe('a test on the board twin', () => {
  it.each(demoLot.map((pickup) => [pickup.title ?? '', pickup] as const))(
    'of "%s" leaves the same evidence and result bytes on both sides, and a record that gives them again',
    async (_, pickup) => {
      const { outcome, logic } = await session(pickup);
      expect(outcome.differences).toEqual([]);
      const text = JSON.stringify(outcome.collector.record(TAKEN, BY));
      const again = createLogic();
      const places = loadRecord(again, asBenchRecord(JSON.parse(text)));
      expect(Buffer.compare(evidenceOf(again), evidenceOf(logic))).toBe(0);
      expect(solveEvidence(again, places)).toEqual(outcome.map);
    },
  );
});

describe('a difference between tester and program', () => {
  it('of one byte of the result is told with its place', async () => {
    const { outcome } = await session(first, (report) => {
      if (report[1] !== Report.block || report[8] !== 1) return report;
      if (report[10] !== 0 || report[11] !== 0) return report;
      const changed = Uint8Array.from(report);
      changed[8 + 4 + 7] = (changed[8 + 4 + 7] ?? 0) ^ 1;
      return changed;
    });
    expect(outcome.differences).toHaveLength(1);
    expect(outcome.differences[0]).toMatch(
      /^result block: the tester's and this program's differ in 1 of \d+ bytes, first at 7 /,
    );
  });

  it('of one sample of a touch shows in the evidence', async () => {
    let spoilt = false;
    const { outcome } = await session(first, (report) => {
      if (spoilt || report[1] !== Report.samples) return report;
      spoilt = true;
      const changed = Uint8Array.from(report);
      changed[8 + 8 + 2] = 0x3f;
      return changed;
    });
    expect(outcome.differences.some((line) => line.startsWith('evidence block: '))).toBe(true);
  });

  it('of the module is refused before anything is driven', async () => {
    const running = session(first, (report) => {
      if (report[1] !== Report.identity) return report;
      const changed = Uint8Array.from(report);
      changed[8 + 24] = (changed[8 + 24] ?? 0) ^ 1;
      return changed;
    });
    await expect(running).rejects.toThrow('nothing was driven');
  });
});

describe('a wire that loses reports', () => {
  it('of entries costs nothing: they are asked for again', async () => {
    let entries = 0;
    const { outcome } = await session(first, (report) => {
      if (report[1] !== Report.entry) return report;
      entries += 1;
      return entries === 3 || entries === 12 ? null : report;
    });
    expect(outcome.differences).toEqual([]);
    expect(outcome.map.verdict).toBe('good');
  });

  it('that fails ends the test with the sentence of the wire', async () => {
    const twin = new BoardTwin({ pickup: first, seed: 11 });
    const transport = through(twin, (report) => {
      if (report[1] === Report.entry) transport.onClosed({ sentence: 'TWIN-0001 was unplugged' });
      return report;
    });
    const test = new BenchTest(transport, { setup: setupOf(first), logic: createLogic() });
    await expect(test.run()).rejects.toThrow('TWIN-0001 was unplugged');
    await twin.close();
  });
});
