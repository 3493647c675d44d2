/**
 * Many cuts of the same coil, added up sample by sample. Every burst begins some samples before the switches
 * step; the sample at that place is the last one before they do, on every board.
 */
import { OVERRANGE, RingWork } from '../layout';
import { RING_SAMPLES } from './sizes';

/** One code of the x1 input in units of 2^-20 V. */
const CODE: i32 = 768;

/** Forgets every burst. @param sums - address of RING_SAMPLES words */
export function ringBegin(work: RingWork, sums: u32): void {
  memory.fill(changetype<usize>(work), 0, offsetof<RingWork>());
  memory.fill(sums, 0, RING_SAMPLES * 4);
}

/**
 * A sample with the wide codes of the RP2040's converter taken out (erratum RP2040-E11): codes 512, 1536, 2560 and 3584 are
 * 8.9 codes wider than the others, so between them the gain is 1024/1015.1. Sample by sample: jitter would smear a sum's steps.
 */
@inline function straightened(sample: i32): i32 {
  const size = abs<i32>(sample);
  const halves = i32(size >= 512 * CODE) + i32(size > 512 * CODE) + i32(size >= 1536 * CODE) + i32(size > 1536 * CODE);
  // 8.9/1024 of the size, in integers: 2278/2^18; half a wide code is 4.45 codes.
  const out = size - (((size >> 8) * 2278) >> 10) + halves * 3418;
  return sample < 0 ? -out : out;
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
      store<i32>(sums + k * 4, load<i32>(sums + k * 4) + straightened(sample));
    }
  }
  work.bursts++;
}
