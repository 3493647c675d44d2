/** Many whole tests in one process, with cables pulled and tests cancelled at random: what must never be lost, grow or leak. */
import { BenchTest, type TestOutcome } from '../../host/src/evidence/run-test.ts';
import { setupOf } from '../../host/src/bench/bench.ts';
import { createLogic, logicModule } from '../../host/src/logic/module.ts';
import { Button } from '../../host/src/logic/layout.generated.ts';
import { countOf } from '../../host/src/records/searching.ts';
import { SqliteStock } from '../../host/src/records/sqlite-stock.ts';
import { TransportError } from '../../host/src/transport/transport.ts';
import { BoardTwin } from '../../host/src/virtual-bench/board-twin.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { inventPickup } from '../lots/generator.ts';
import { keepNow } from '../records/keep-one.ts';

export type SoakFigures = {
  tests: number; pulled: number; pulls: number; cancelled: number; finished: number;
  /** Tests that did not come to an end, and the last sentence that was told of each. */
  lost: number;
  lostBecause: string[];
  /** Tests whose result block on the tester and in the program differ. */
  different: number;
  /** Kept records that are not whole: no clips, no resistances though no live voltage was found. */
  incomplete: number;
  /** Bytes of JavaScript heap after a collection, at each tenth of the run. */
  heap_bytes: number[];
  /** Handles and requests that keep the process alive, beyond those at the start. */
  handles: number;
};

/** Reports after which a cable is pulled or a test cancelled, at the most. */
const LATEST_REPORT = 2500;

/**
 * @param count - tests @param seed - decides pickups, pulls and cancels
 * @param tenth - called after each tenth with the figures so far
 */
export async function soak(count: number, seed: number, tenth: (figures: SoakFigures) => void = () => {}): Promise<SoakFigures> {
  const chance = new RandomStream(seed, 'soak');
  const store = new SqliteStock(':memory:');
  const figures: SoakFigures = {
    tests: 0, pulled: 0, pulls: 0, cancelled: 0, finished: 0, lost: 0, lostBecause: [], different: 0, incomplete: 0,
    heap_bytes: [], handles: 0,
  };
  const handles = process.getActiveResourcesInfo().length;
  for (let number = 0; number < count; number += 1) {
    const { pickup, title } = { pickup: inventPickup(seed, number).pickup, title: `pickup ${number}` };
    const twin = new BoardTwin({ pickup, seed: seed + number });
    const pulls = chance.unit() < 0.3 ? 1 + chance.below(3) : 0;
    const cancel = chance.unit() < 0.15;
    figures.tests += 1;
    if (pulls > 0) figures.pulled += 1;
    const outcome = await oneTest(twin, pulls, cancel, chance, figures, (sentence) => {
      figures.lostBecause.push(`test ${number}: ${sentence}`);
    });
    await twin.close();
    if (outcome === null) {
      figures.lost += 1;
    } else {
      figures.finished += 1;
      if (outcome.differences.length > 0) figures.different += 1;
      const record = outcome.collector.record('2026-01-01T00:00:00Z', {
        serial: twin.serial, firmware: outcome.identity.firmware, moduleHash: logicModule().sha256,
      });
      keepNow(store, { title, record, map: outcome.map });
      if (!cancel && record.resistances.length === 0 && (record.live?.length ?? 0) === 0) figures.incomplete += 1;
    }
    if ((number + 1) % Math.max(1, Math.floor(count / 10)) === 0) {
      globalThis.gc?.();
      figures.heap_bytes.push(process.memoryUsage().heapUsed);
      figures.handles = process.getActiveResourcesInfo().length - handles;
      tenth(figures);
    }
  }
  if (store.do(countOf('tests', { withVirtual: true })) !== figures.finished) figures.incomplete += 1;
  store.close();
  return figures;
}

/** One test to its end, however often the cable is pulled on the way. @returns null when it never ended */
async function oneTest(
  twin: BoardTwin, pulls: number, cancel: boolean, chance: RandomStream, figures: SoakFigures,
  lost: (sentence: string) => void,
): Promise<TestOutcome | null> {
  const setup = setupOf(twin.frontEnd.pickup);
  const logic = createLogic();
  let left = pulls;
  let resume: BenchTest | undefined;
  let sentence = '';
  let wantsCancel = cancel;
  for (let tries = 0; tries <= pulls; tries += 1) {
    let reports = 0;
    const pullAt = left > 0 ? 1 + chance.below(LATEST_REPORT) : Infinity;
    const cancelAt = wantsCancel ? 1 + chance.below(LATEST_REPORT) : Infinity;
    const test: BenchTest = new BenchTest(twin, {
      logic, setup, ...(resume === undefined ? {} : { resume }),
      onReport() {
        reports += 1;
        if (reports === cancelAt) {
          wantsCancel = false;
          figures.cancelled += 1;
          test.press(Button.long);
        }
        if (reports === pullAt) {
          left -= 1;
          figures.pulls += 1;
          twin.unplug();
        }
      },
    });
    try {
      return await test.run();
    } catch (error) {
      if (!(error instanceof TransportError)) throw error;
      resume = test;
      sentence = error.message;
    }
  }
  lost(sentence);
  return null;
}
