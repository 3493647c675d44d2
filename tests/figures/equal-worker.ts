/** A worker thread that tests its share of a lot on the chip twin and tells how chip and host differ. */
import { parentPort, workerData } from 'node:worker_threads';
import { compareOnChip } from '../chip/compare.ts';
import { inventPickup } from '../lots/generator.ts';

/** Which pickups of a lot: every `step`-th one from `first` on. */
export interface EqualShare {
  readonly seed: number;
  readonly first: number;
  readonly step: number;
  readonly count: number;
  readonly image: string;
}

/** What was found of one pickup; no lines when all bytes are equal. */
export interface Compared {
  readonly number: number;
  readonly title: string | undefined;
  readonly lines: readonly string[];
}

const { seed, first, step, count, image } = workerData as EqualShare;
for (let number = first; number < count; number += step) {
  const { pickup } = inventPickup(seed, number);
  const lines = await compareOnChip(pickup, number, image);
  parentPort!.postMessage({ number, title: pickup.title, lines } satisfies Compared);
}
