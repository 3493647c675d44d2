/** Splits a lot among worker threads and sums what they find. */
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import { emptyTally, merge, type Tally } from './tally.ts';

/** Pickups handed out at a time. */
const SHARE = 50;

/** What a worker is told: which part of the lot, and the lot itself. */
export interface Share<Lot> {
  readonly lot: Lot;
  readonly from: number;
  readonly to: number;
}

/** Runs `count` pickups of a lot.
 * @param script - a module that answers each `Share` with a `Tally`
 * @param done - told how many pickups are through
 */
export async function runLot<Lot>(
  script: URL,
  lot: Lot,
  count: number,
  done: (pickups: number) => void,
): Promise<Tally> {
  const total = emptyTally();
  let next = 0;
  await Promise.all(
    Array.from(
      { length: Math.min(availableParallelism(), Math.ceil(count / SHARE)) },
      () =>
        new Promise<void>((resolve, reject) => {
          const worker = new Worker(script);
          const hand = (): void => {
            if (next >= count) {
              void worker.terminate().then(() => resolve());
              return;
            }
            const from = next;
            next = Math.min(count, next + SHARE);
            worker.postMessage({ lot, from, to: next } satisfies Share<Lot>);
          };
          worker.on('message', (tally: Tally) => {
            merge(total, tally);
            done(total.pickups);
            hand();
          });
          worker.on('error', reject);
          hand();
        }),
    ),
  );
  return total;
}
