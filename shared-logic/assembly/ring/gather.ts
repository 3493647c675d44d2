/**
 * Many cuts of the same coil, added up sample by sample. Every burst begins some samples before the switches
 * step; the sample at that place is the last one before they do, on every board.
 */
import { OVERRANGE, RingWork } from '../layout';
import { CODE_X1, codesBegin, straightened } from './codes';
import { RING_SAMPLES } from './sizes';

/** Forgets every burst. @param sums - address of RING_SAMPLES words */
export function ringBegin(work: RingWork, sums: u32): void {
  memory.fill(changetype<usize>(work), 0, offsetof<RingWork>());
  memory.fill(sums, 0, RING_SAMPLES * 4);
  codesBegin();
}

/**
 * Adds one burst of the x1 input.
 * @param samples - address of `count` words, 2^-20 V, OVERRANGE where the converter could not follow
 * @param count - RING_SAMPLES or fewer
 */
export function ringAdd(work: RingWork, sums: u32, samples: u32, count: u32): void {
  for (let k: u32 = 0; k < count; k++) {
    const sample = load<i32>(samples + k * 4);
    if (sample == OVERRANGE) {
      if (k >= work.clearFrom) work.clearFrom = <u16>(k + 1);
    } else {
      store<i32>(sums + k * 4, load<i32>(sums + k * 4) + straightened(sample, CODE_X1));
    }
  }
  work.bursts++;
}
