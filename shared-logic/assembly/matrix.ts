/**
 * Words of the clip matrix: eight 8:1 switches, one nibble each, bit 3 = enabled, bits 0 to 2 = throw less one.
 * Switches M1 to M6 reach clip n at throw n; the other throws have the names below.
 */
import { CLIP_COUNT } from './layout';

/** All off. */
export const MATRIX_OFF: u32 = 0;
export const DRV_CURRENT: u32 = 8 << 24;
export const DRV_PLUS: u32 = 9 << 24;
export const DRV_MINUS: u32 = 10 << 24;
export const DRV_ZERO: u32 = 11 << 24;
export const RET_REFERENCE: u32 = 8 << 28;
export const RET_MEGOHM: u32 = 9 << 28;
export const RET_ZERO: u32 = 10 << 28;
export const RET_BLEED: u32 = 11 << 28;
/** Sensing port across the reference resistor, four-wire. */
export const SENSE_REFERENCE: u32 = (14 << 8) | (14 << 12);
/** Sensing port from the A- common to 0 V. */
export const SENSE_RETURN: u32 = (15 << 8) | (15 << 12);

function clipThrow(clip: u32): u32 {
  assert(clip >= 1);
  assert(clip <= CLIP_COUNT);
  return 7 + clip;
}

/** Drive port: A+ on one clip, A- on another (or the same). @param plus - clip, 1 to 6 @param minus - clip, 1 to 6 */
export function drivePort(plus: u32, minus: u32): u32 { return clipThrow(plus) | (clipThrow(minus) << 4); }

/** Sensing port: B+ on one clip, B- on another. @param plus - clip, 1 to 6 @param minus - clip, 1 to 6 */
export function sensePort(plus: u32, minus: u32): u32 { return (clipThrow(plus) << 8) | (clipThrow(minus) << 12); }

/** Grounds a clip through G1; clip 0 = none. */
export function ground1(clip: u32): u32 { return clip == 0 ? 0 : clipThrow(clip) << 16; }

/** Grounds a clip through G2; clip 0 = none. */
export function ground2(clip: u32): u32 { return clip == 0 ? 0 : clipThrow(clip) << 20; }

/** The current source through two clips and the reference. @param sense - where the sensing port is */
export function currentWord(plus: u32, minus: u32, sense: u32): u32 {
  return drivePort(plus, minus) | sense | DRV_CURRENT | RET_REFERENCE;
}

/** The voltage drive through two clips and the leak path's megohm. @param drive - `DRV_PLUS` or `DRV_MINUS` */
export function leakWord(plus: u32, minus: u32, drive: u32): u32 {
  return drivePort(plus, minus) | SENSE_RETURN | drive | RET_MEGOHM;
}

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
