/**
 * A ring as A c(t) + B s(t) + K with s^2 + g s + w = 0, by least squares (Gauss and Newton): natural frequency and loss, which
 * exist whether it swings or creeps. The gain of y with w obeys the same equation driven by -y, and that with g is its slope
 * plus A s, so one stride of two numbers carries both.
 */
import { BURST_RATE_Hz, RingWork } from '../layout';
import { guessRing } from './guess';
import { NORMAL_bytes, normalAdd, rightAdd, solution, solveNormal, varianceOf } from './normal';
import { takePoints } from './points';
import { Stride, strideOf } from './swing';

const ROUNDS_most: u32 = 8;
/** Rounds end when w and g move by less than this share. */
const SETTLED: f32 = 1e-4;
/** Longest step of w and g in one round, as a share. */
const STEP_most: f32 = 0.4;
/** Faster than this in one step is no coil: 27 kHz, or gone between two samples. */
const W_most: f32 = 2;
const G_most: f32 = 2;
/** What the converter's curve leaves is alike from point to point: as if one in so many counted. */
const ALIKE: f32 = 8;
/** What the path and the converter's curve leave in any case, as shares. */
const NATURAL_u_least: f32 = 3e-4;
const LOSS_u_least: f32 = 3e-3;

const NORMAL: u32 = <u32>memory.data(5 * 24);
const STRIDE: u32 = <u32>memory.data(16);

function stride(): Stride { return changetype<Stride>(<usize>STRIDE); }

/** Amplitudes for the w and g of the work. */
function fitAmplitudes(work: RingWork, points: u32): bool {
  memory.fill(NORMAL, 0, NORMAL_bytes);
  const step = stride();
  strideOf(step, work.w, work.g, 1);
  const w = work.w;
  const fallen = step.c - work.g * step.s;
  let c: f32 = 1;
  let s: f32 = 0;
  for (let k: u32 = 0; k < <u32>work.count; k++) {
    const y = load<f32>(points + k * 4);
    normalAdd(NORMAL, 0, 0, c * c);
    normalAdd(NORMAL, 1, 0, c * s);
    normalAdd(NORMAL, 1, 1, s * s);
    normalAdd(NORMAL, 2, 0, c);
    normalAdd(NORMAL, 2, 1, s);
    rightAdd(NORMAL, 0, c * y);
    rightAdd(NORMAL, 1, s * y);
    rightAdd(NORMAL, 2, y);
    const next = c * step.c - w * s * step.s;
    s = c * step.s + s * fallen;
    c = next;
  }
  normalAdd(NORMAL, 2, 2, <f32>work.count);
  if (!solveNormal(NORMAL, 3)) return false;
  work.a_V = solution(NORMAL, 0);
  work.b_V = solution(NORMAL, 1);
  work.k_V = solution(NORMAL, 2);
  return true;
}

/** Normal equations of all five; the squares of what is left go to `squares_V2`. */
function gatherAll(work: RingWork, points: u32): void {
  memory.fill(NORMAL, 0, NORMAL_bytes);
  const step = stride();
  const w = work.w;
  const g = work.g;
  strideOf(step, w, g, 1);
  const c1 = step.c;
  const s1 = step.s;
  const ws1 = w * s1;
  const fallen = c1 - g * s1;
  // The stride's own gain with w: rows of the matrix [[c, s], [-w s, c - g s]].
  const c_w = step.c_w;
  const s_w = step.s_w;
  const t_w = -s1 - w * s_w;
  const f_w = c_w - g * s_w;
  const a = work.a_V;
  const b = work.b_V;
  const offset = work.k_V;
  const slopeS = -w * a - g * b;
  let c: f32 = 1;
  let s: f32 = 0;
  let y_w: f32 = 0;
  let v_w: f32 = 0;
  let cc: f32 = 0, cs: f32 = 0, ss: f32 = 0, c0: f32 = 0, s0: f32 = 0, wc: f32 = 0, ws: f32 = 0, w0: f32 = 0, ww: f32 = 0;
  let gc: f32 = 0, gs: f32 = 0, g0: f32 = 0, gw: f32 = 0, gg: f32 = 0, rc: f32 = 0, rs: f32 = 0, r0: f32 = 0, rw: f32 = 0, rg: f32 = 0;
  let squares: f32 = 0;
  for (let k: u32 = 0; k < <u32>work.count; k++) {
    const y = a * c + b * s;
    const v = slopeS * s + b * c;
    const r = load<f32>(points + k * 4) - y - offset;
    const y_g = v_w + a * s;
    cc += c * c;
    cs += c * s;
    ss += s * s;
    c0 += c;
    s0 += s;
    wc += y_w * c;
    ws += y_w * s;
    w0 += y_w;
    ww += y_w * y_w;
    gc += y_g * c;
    gs += y_g * s;
    g0 += y_g;
    gw += y_g * y_w;
    gg += y_g * y_g;
    rc += r * c;
    rs += r * s;
    r0 += r;
    rw += r * y_w;
    rg += r * y_g;
    squares += r * r;
    const nextY_w = c1 * y_w + s1 * v_w + c_w * y + s_w * v;
    v_w = fallen * v_w - ws1 * y_w + t_w * y + f_w * v;
    y_w = nextY_w;
    const nextC = c * c1 - ws1 * s;
    s = c * s1 + s * fallen;
    c = nextC;
  }
  work.squares_V2 = squares;
  normalAdd(NORMAL, 0, 0, cc);
  normalAdd(NORMAL, 1, 0, cs);
  normalAdd(NORMAL, 1, 1, ss);
  normalAdd(NORMAL, 2, 0, c0);
  normalAdd(NORMAL, 2, 1, s0);
  normalAdd(NORMAL, 2, 2, <f32>work.count);
  normalAdd(NORMAL, 3, 0, wc);
  normalAdd(NORMAL, 3, 1, ws);
  normalAdd(NORMAL, 3, 2, w0);
  normalAdd(NORMAL, 3, 3, ww);
  normalAdd(NORMAL, 4, 0, gc);
  normalAdd(NORMAL, 4, 1, gs);
  normalAdd(NORMAL, 4, 2, g0);
  normalAdd(NORMAL, 4, 3, gw);
  normalAdd(NORMAL, 4, 4, gg);
  rightAdd(NORMAL, 0, rc);
  rightAdd(NORMAL, 1, rs);
  rightAdd(NORMAL, 2, r0);
  rightAdd(NORMAL, 3, rw);
  rightAdd(NORMAL, 4, rg);
}

/** A step, shortened where it would go too far. */
@inline function within(step: f32, most: f32): f32 { return max<f32>(min<f32>(step, most), -most); }

/** What w and g are worth: from what the fit leaves. Needs the equations of the last round. */
function weigh(work: RingWork): void {
  const degrees = max<f32>((<f32>work.count - 5) / ALIKE, 1);
  const noise_V2 = work.squares_V2 / degrees;
  const u_w = sqrt<f32>(noise_V2 * varianceOf(NORMAL, 5, 3));
  const u_g = sqrt<f32>(noise_V2 * varianceOf(NORMAL, 5, 4));
  const relative_w = u_w / work.w;
  work.u_natural = max<f32>(relative_w / 2, NATURAL_u_least);
  // T = g/w; what w and g share is small beside either.
  work.u_loss = max<f32>(sqrt<f32>(relative_w * relative_w + u_g * u_g / (work.g * work.g)), LOSS_u_least);
  work.misfit = sqrt<f32>(work.squares_V2 / <f32>work.count) / work.peak_V;
}

/**
 * Fits the ring whose bursts were added up.
 * @param sums - as `ringAdd` left them @param points - address of POINTS_most words, overwritten
 * @returns false when no ring is there, or none of two exponentials; then only `peak_V` tells anything
 */
export function fitRing(work: RingWork, sums: u32, points: u32): bool {
  if (work.bursts == 0 || !takePoints(work, sums, points) || !guessRing(work, points)) return false;
  work.w = min<f32>(work.w, W_most);
  work.g = min<f32>(work.g, G_most);
  if (!fitAmplitudes(work, points)) return false;
  for (let round: u32 = 0; round < ROUNDS_most; round++) {
    gatherAll(work, points);
    if (!solveNormal(NORMAL, 5)) return false;
    const most = STEP_most * work.w;
    const step_w = within(solution(NORMAL, 3), most);
    const step_g = within(solution(NORMAL, 4), STEP_most * work.g);
    const cut = step_w != solution(NORMAL, 3) || step_g != solution(NORMAL, 4);
    work.w = min<f32>(work.w + step_w, W_most);
    work.g = min<f32>(work.g + step_g, G_most);
    if (cut) {
      if (!fitAmplitudes(work, points)) return false;
      continue;
    }
    work.a_V += solution(NORMAL, 0);
    work.b_V += solution(NORMAL, 1);
    work.k_V += solution(NORMAL, 2);
    if (abs<f32>(step_w) < SETTLED * work.w && abs<f32>(step_g) < SETTLED * work.g) {
      weigh(work);
      return true;
    }
  }
  return false;
}

/** Natural angular frequency squared, per second squared. */
export function naturalSquared(work: RingWork): f32 {
  const per_s: f32 = <f32>BURST_RATE_Hz / <f32>work.width;
  return work.w * per_s * per_s;
}

/** Loss 1/(Q w0), seconds. */
export function lossTime_s(work: RingWork): f32 { return work.g / work.w * <f32>work.width / <f32>BURST_RATE_Hz; }
