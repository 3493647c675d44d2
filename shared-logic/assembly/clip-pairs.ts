/** Pairs of clips by their index in the evidence: 12 13 14 15 16 23 24 ... 56. */

import { CLIP_COUNT } from './layout';

/** Index of a pair of clips in the order 12 13 14 15 16 23 24 ... 56. @param a - clip @param b - another clip */
export function pairOf(a: u32, b: u32): u32 {
  const low = a < b ? a : b;
  const high = a < b ? b : a;
  assert(low < high);
  return (low - 1) * (12 - low) / 2 + high - low - 1;
}

/** Lower clip of a pair. @param pair - index, 0 to 14 */
export function pairLow(pair: u32): u32 {
  let low: u32 = 1;
  let rest = pair;
  while (rest >= CLIP_COUNT - low) {
    rest -= CLIP_COUNT - low;
    low++;
  }
  return low;
}

/** Higher clip of a pair. @param pair - index, 0 to 14 */
export function pairHigh(pair: u32): u32 {
  const low = pairLow(pair);
  return pair - (low - 1) * (12 - low) / 2 + low + 1;
}
