/** The check's talk with a tester, and the test that comes after it, on the board twin. */
import { expect, it } from 'vitest';
import { setupOf } from '../../host/src/bench/bench.ts';
import { BenchTest } from '../../host/src/evidence/run-test.ts';
import { Check } from '../../host/src/logic/layout.generated.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import { Interview } from '../../host/src/transport/interview.ts';
import { ReportEncoder } from '../../host/src/transport/reports.ts';
import { BoardTwin } from '../../host/src/virtual-bench/board-twin.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';

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

it('the self-test reads the fixture at every clip that nothing hangs on: lead and switches, 274 pF as the bench has them', async () => {
  const twin = new BoardTwin({ pickup, seed: 5, automatic: true });
  const interview = new Interview(twin, patience);
  await interview.open();
  await interview.identify();
  const fixture = (await interview.selfTest()).filter(({ check }) => check === Check.fixture).map(({ measured }) => measured * 1e12);
  await interview.end();
  // Clips 3 to 6: 139 pF within 3 % and 95 pF within 2 %, 20 pF to each wire beside; the last clip has one.
  expect(fixture).toHaveLength(4);
  fixture.forEach((picofarad, i) => expect(Math.abs(picofarad - (i === 3 ? 254 : 274))).toBeLessThan(4.2 + 1.9 + 2.5));
  // Against its own mean each clip stands for its lead alone.
  expect(new Set(fixture).size).toBe(4);
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
