import { describe, expect, it } from 'vitest';
import type { Transport } from '../transport/transport.ts';
import { BoardTwin } from '../virtual-bench/board-twin.ts';
import { demoLot } from '../virtual-bench/demo-lot.ts';
import { BenchModel } from './bench-model.ts';
import { setupOf, testerBench } from './bench.ts';

/** A tester that keeps its power and its state while the program lets go of it, as one on a cable does. */
function onACable(twin: BoardTwin): Transport {
  return {
    serial: twin.serial,
    set onReport(listener: (report: Uint8Array) => void) { twin.onReport = listener; },
    set onClosed(_: () => void) { /* nobody pulls this cable */ },
    write: (report) => twin.write(report),
    open: () => twin.open(),
    async close() {
      twin.onClosed = () => undefined;
      twin.unplug();
    },
  };
}

describe('the bench on an attached tester', () => {
  it('tests one pickup after another with one press each', async () => {
    const pickup = demoLot[1];
    const twin = new BoardTwin({ pickup, seed: 5 });
    let ended = (): void => undefined;
    const verdicts: string[] = [];
    const model = new BenchModel(testerBench(async () => onACable(twin), setupOf(pickup)), {
      timeOfDay: () => '2026-01-01T00:00:00Z',
      keep: (_title, _record, map) => {
        verdicts.push(map.verdict);
        ended();
        return null;
      },
    });
    for (let round = 0; round < 2; round += 1) {
      const done = new Promise<void>((resolve) => { ended = resolve; });
      void model.button();
      await done;
      // The tester is let go of after the test is kept.
      await new Promise(setImmediate);
    }
    expect(verdicts).toEqual(['good', 'good']);
    await model.close();
    await twin.close();
  });
});
