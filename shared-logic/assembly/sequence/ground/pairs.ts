/** What is known of each pair of clips while the test runs, and which clips hang together. */
import { CLIP_COUNT, PAIR_COUNT, PairWork, WORK_GROUPS } from '../../layout';
import { pairWork } from '../../blocks';
import { pairHigh, pairLow, pairOf } from '../../clip-pairs';
import { bareMask, clipMask } from './setup';

/** Values of PairWork.state. */
export enum PairState { unknown = 0, open = 1, read = 2 }

/** Readings of one pair that may follow a disagreement. */
export const REPEATS: u32 = 2;

/** Whether both clips of a pair are in use. @param pair - index, 0 to 14 */
function pairInUse(pair: u32): bool {
  return ((clipMask >> (pairLow(pair) - 1)) & (clipMask >> (pairHigh(pair) - 1)) & 1) != 0;
}

/** Lowest clip that a clip is connected to. @param clip - 1 to 6 */
export function groupOf(clip: u32): u32 { return load<u8>(WORK_GROUPS + clip); }

/** Joins the clips of each pair that has been read into groups. */
export function findGroups(): void {
  for (let clip: u32 = 1; clip <= CLIP_COUNT; clip++) store<u8>(WORK_GROUPS + clip, <u8>clip);
  for (let pair: u32 = 0; pair < PAIR_COUNT; pair++) {
    if (!pairInUse(pair) || <u32>pairWork(pair).state != PairState.read) continue;
    const low = groupOf(pairLow(pair));
    const high = groupOf(pairHigh(pair));
    const keep = low < high ? low : high;
    for (let clip: u32 = 1; clip <= CLIP_COUNT; clip++) {
      if (groupOf(clip) == low || groupOf(clip) == high) store<u8>(WORK_GROUPS + clip, <u8>keep);
    }
  }
}

/** Whether a clip in use is connected to no other. @param clip - 1 to 6 */
function isAlone(clip: u32): bool {
  for (let other: u32 = 1; other <= CLIP_COUNT; other++) {
    if (other != clip && groupOf(other) == groupOf(clip)) return false;
  }
  return true;
}

/**
 * A clip to ground while listening or stepping: an isolated bare one, else 0. A coloured lead that seems isolated may be
 * a coil's end without contact: grounded, it would short that coil as soon as the contact is back.
 */
export function isolatedBareClip(): u32 {
  for (let clip: u32 = 1; clip <= CLIP_COUNT; clip++) {
    if ((clipMask & bareMask & 1 << (clip - 1)) != 0 && isAlone(clip)) return clip;
  }
  return 0;
}

/** Whether a pair stands for the path between its two groups: the lowest clip of each. @param pair - index */
export function betweenGroups(pair: u32): bool {
  const low = pairLow(pair);
  const high = pairHigh(pair);
  return groupOf(low) == low && groupOf(high) == high;
}

/** Whether a pair links its higher clip to the group's lowest: enough of these reach every clip. @param pair - index */
export function isSpanning(pair: u32): bool {
  return <u32>pairWork(pair).state == PairState.read && groupOf(pairLow(pair)) == pairLow(pair);
}

/** The next pair in use from `pair` on, or PAIR_COUNT. */
export function nextPair(pair: u32): u32 {
  while (pair < PAIR_COUNT && !pairInUse(pair)) pair++;
  return pair;
}

/** Work of the pair of two clips. */
export function workOf(a: u32, b: u32): PairWork { return pairWork(pairOf(a, b)); }
