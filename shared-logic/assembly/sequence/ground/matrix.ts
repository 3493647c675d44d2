/**
 * Words of the clip matrix: eight 8:1 switches, one nibble each, bit 3 = enabled, bits 0 to 2 = throw less one.
 * Switches M1 to M6 reach clip n at throw n; the other throws have the names below.
 */
import { CLIP_COUNT } from '../../layout';

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
