/**
 * All capacitance across a coil, from how fast its voltage leaves the rest: right after the cut the whole current flows into
 * it, dv/dt = -I/C, whatever inductance and loss are.
 */
import { BURST_RATE_Hz, RingWork } from '../layout';
import { CLIP_F, COMMON_F } from './fixture';
import { RING_LEAD, RING_SAMPLES } from './sizes';
import { NORMAL_bytes, normalAdd, rightAdd, solution, solveNormal } from './normal';
import { sampleAt, sumScale } from './points';
import { Stride, strideOf } from './swing';

/** Samples of the start that are fitted: half a period, between these. */
const SAMPLES_least: u32 = 6;
const SAMPLES_most: u32 = 64;
const SKIP: u32 = 1;
/** All that lies between the clip and 0 V, the common behind the clip's own series resistance; the rest is the winding's and wire to wire. */
const GROUNDED_F: f32 = CLIP_F + COMMON_F;
const ROUNDS: u32 = 4;
/** Of the current and the input's gain; and of the start's place, which counts with how much the slope turns within it. */
const SCALE_u: f32 = 0.005;
const PLACE_u_s: f32 = 2.5e-7;

const NORMAL: u32 = <u32>memory.data(5 * 24);
const STRIDE: u32 = <u32>memory.data(16);
const PERIOD_s: f32 = <f32>1 / <f32>BURST_RATE_Hz;

/**
 * Finds `total_F` and `u_F` of a ring that was fitted.
 * @param current_A - that was cut @param series_ohm - of the path to one clip
 * @returns false when the start was over range, or does not look like one
 */
export function startCapacitance(work: RingWork, sums: u32, current_A: f32, series_ohm: f32): bool {
  if (<u32>work.clearFrom > RING_LEAD) return false;
  const width = <f32>work.width;
  const w = work.w / (width * width);
  const g = work.g / width;
  // Half a period is pi/sqrt(w) samples.
  const samples = max<u32>(min<u32>(<u32>(<f32>3.1415927 / sqrt<f32>(w)), SAMPLES_most), SAMPLES_least);
  const rest = work.tail_V + work.k_V;
  const scale = sumScale(work);
  const step = changetype<Stride>(<usize>STRIDE);
  strideOf(step, w, g, 1);
  const fallen = step.c - g * step.s;
  memory.fill(NORMAL, 0, NORMAL_bytes);
  let c: f32 = 1;
  let s: f32 = 0;
  for (let k: u32 = 0; k < samples && RING_LEAD + SKIP + k < RING_SAMPLES; k++) {
    const y = sampleAt(sums, RING_LEAD + SKIP + k, scale) - rest;
    normalAdd(NORMAL, 0, 0, c * c);
    normalAdd(NORMAL, 1, 0, c * s);
    normalAdd(NORMAL, 1, 1, s * s);
    rightAdd(NORMAL, 0, c * y);
    rightAdd(NORMAL, 1, s * y);
    const next = c * step.c - w * s * step.s;
    s = c * step.s + s * fallen;
    c = next;
  }
  if (!solveNormal(NORMAL, 2)) return false;
  return fromStart(work, solution(NORMAL, 0), solution(NORMAL, 1), w, g, work.rest_V - rest, current_A, series_ohm);
}

/**
 * Follows the fitted start back to where it leaves the resting voltage. The clip's series resistance lifts the reading at rest
 * by I r and, while the current charges what lies behind it, by less; the other clip's carries all but
 * what flows in the winding's own capacitance Cw. Both together let the curve pass the resting voltage r (C1^2/C + Cw) before
 * the cut, C1 being what lies before the first resistance.
 */
function fromStart(work: RingWork, a: f32, b: f32, w: f32, g: f32, rest_V: f32, current_A: f32, series_ohm: f32): bool {
  const step = changetype<Stride>(<usize>STRIDE);
  let back: f32 = 1;
  let total_F: f32 = 0;
  for (let round: u32 = 0; round < ROUNDS; round++) {
    // Where the curve passes the resting voltage, by Newton.
    strideOf(step, w, g, -back);
    const v = a * step.c + b * step.s;
    const slope = -w * a * step.s + b * (step.c - g * step.s);
    if (!(slope < 0)) return false;
    back = max<f32>(min<f32>(back + (v - rest_V) / slope, 3), 0);
  }
  let late: f32 = 0;
  for (let round: u32 = 0; round < 2; round++) {
    strideOf(step, w, g, -(back - late));
    const slope = (-w * a * step.s + b * (step.c - g * step.s)) / PERIOD_s;
    if (!(slope < 0)) return false;
    total_F = -current_A / slope;
    const before = max<f32>(1 - COMMON_F / total_F, 0);
    const across_F = max<f32>(total_F - GROUNDED_F, 0);
    late = series_ohm * (total_F * before * before + across_F) / PERIOD_s;
  }
  const turn = g * PLACE_u_s / PERIOD_s;
  work.total_F = total_F;
  work.u_F = total_F * sqrt<f32>(SCALE_u * SCALE_u + turn * turn);
  return true;
}
