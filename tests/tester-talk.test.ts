/** The check's talk with a tester, and the test that comes after it, on the board twin. */
import { expect, it } from 'vitest';
import { setupOf } from '../host/src/bench/bench.ts';
import { BenchTest } from '../host/src/evidence/run-test.ts';
import { Check } from '../host/src/logic/layout.generated.ts';
import { createLogic } from '../host/src/logic/module.ts';
import { Interview } from '../host/src/transport/interview.ts';
import { ReportEncoder } from '../host/src/transport/reports.ts';
import { BoardTwin } from '../host/src/virtual-bench/board-twin.ts';
import { demoLot } from '../host/src/virtual-bench/demo-lot.ts';

const pickup = demoLot[1]!;
const patience = { answer_ms: 60_000, selfTest_ms: 60_000 };

it('the self-test of a sound board looks at everything and passes', async () => {
  const twin = new BoardTwin({ pickup, seed: 5, automatic: true });
  const interview = new Interview(twin, patience);
  await interview.open();
  const { moduleHash } = await interview.identify();
  expect(moduleHash).toMatch(/^[0-9a-f]{64}$/);
  const lines = await interview.selfTest();
  await interview.end();
  expect(lines.filter(({ passed }) => !passed)).toEqual([]);
  const looked = new Set(lines.map(({ check }) => check));
  const { none, ...all } = Check;
  expect(Object.values(all).filter((check) => !looked.has(check))).toEqual([]);
  expect(looked).not.toContain(none);
});

it('a self-test that nobody acknowledged does not become part of the next test', async () => {
  const twin = new BoardTwin({ pickup, seed: 6, automatic: true });
  const encoder = new ReportEncoder();
  const ended = new Promise<void>((resolve) => {
    let entries = 0;
    twin.onReport = (report) => {
      // Report.entry with kind end closes the self-test; it is left unacknowledged.
      if (report[1] === 3 && ++entries > 0 && report[10] === 11) resolve();
    };
  });
  await twin.open();
  await twin.write(encoder.hello());
  await twin.write(encoder.selfTest());
  await ended;
  const logic = createLogic();
  const outcome = await new BenchTest(twin, { setup: setupOf(pickup), logic, compareEvidence: true }).run();
  await twin.close();
  expect(outcome.differences).toEqual([]);
  expect(outcome.map.coils).toHaveLength(1);
  expect(outcome.map.verdict).toBe('good');
});
