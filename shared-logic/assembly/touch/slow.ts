/**
 * An arrival of a third of a second and more: longer than any filter of the bank, and slower than what makes an event, unless a coupling
 * makes two of it. It is sought in means over 20 ms beside offset, drift and a bend, through any coupling of the front end.
 *
 * Model: a flux that goes over as (1 - cos(pi u)) / 2 (hand.ts), through a high-pass of first order; least squares beside a
 * parabola. The noise is what is left of the best fit, so that its likelihood is a power of that (Student's, with the noise
 * unknown): ln odds of two fits = (means - unknowns) / 2 * ln of the ratio of their residuals.
 */
import { GRID_V, gridChannels, gridCount, gridRate_Hz, gridStart_s, lastingRounding } from './grid';
import { Bent, bendAt, bendPower, fillMeans, lineAt, linePower, meanCount, meanLength, meansBegin, rowAt, takeParabola } from './means';
import { whiteOf } from './sizes';
import { QUARTER_TURN, cosine, exponential, logarithm } from '../waves';

/** Fewer means than this tell no movement from a parabola. */
const MEANS_LEAST: u32 = 14;
/** Offset, drift and bend; size, time and length; coupling. */
const UNKNOWNS: f32 = 7;

/** Lengths, seconds; beginnings, seconds from the trigger, which the slow start or another movement set off; corners, Hz. */
const LENGTHS: u32 = 5;
const FIRST_LENGTH_s: f32 = 0.2;
const LENGTH_RATIO: f32 = 1.45;
const BEGINNINGS: u32 = 5;
const FIRST_BEGINNING_s: f32 = -0.12;
const BEGINNING_STEP_s: f32 = 0.04;
const CORNERS: u32 = 5;
const FIRST_CORNER_Hz: f32 = 0.3;
const CORNER_RATIO: f32 = 1.9;

/** Means that move no more than this many times what white noise moves them are not worth a search. */
const MOVES: f32 = 3;
/** It is heard when this much (ln) speaks against nothing. */
const HEARD: f32 = 12;
/** A fit that leaves more than this share is no better than its independent means say. */
const LEFT_LITTLE: f32 = 0.15;
/** The noise of such means is no white one: half of what independent ones would tell of the sign, and no more than this. */
const COLOURED: f32 = 0.5;
const TELLS_MOST: f32 = 6;
/** So much likelier, ln, must it be than an amplifier that settles. */
const SETTLES: f32 = 3;
/** A longer one and a parabola look much like a shorter one: a flux is known to this share. Its own ratio to the leader's is far better. */
const LONGER_SHARE: f32 = 0.3;
const RATIO_u: f32 = 0.01;

/** One movement: its flux in each mean, and what of that comes through a coupling. */
@inline function stepAt(k: u32): u32 { return rowAt(gridChannels + 2, k); }
@inline function shapeAt(k: u32): u32 { return rowAt(gridChannels + 3, k); }

/** Fills the steps of flux in each mean of a movement of one weber. */
function fillSteps(from_s: f32, for_s: f32): void {
  const mean_s = <f32>meanLength / gridRate_Hz;
  stepsBegin_s = from_s;
  stepsLast_s = for_s;
  let before: f32 = 0;
  for (let k: u32 = 0; k <= meanCount; k++) {
    const u = max<f32>(0, min<f32>(1, (gridStart_s + <f32>k * mean_s - from_s) / for_s));
    const flux: f32 = <f32>0.5 - <f32>cosine(<u32>(u * <f32>(QUARTER_TURN * 2))) / 65534;
    if (k > 0) store<f32>(stepAt(k - 1), flux - before);
    before = flux;
  }
}

/** The movement's shape beside a channel: its power beside the parabola, and its product with the channel's means. */
@unmanaged class Fit {
  power: f32;
  product: f32;
}
const FIT: Fit = changetype<Fit>(memory.data(offsetof<Fit>()));
/** Takes the steps through a coupling, into the shape. @param corner_Hz - 0: none */
function fillShape(corner_Hz: f32): void {
  const a: f32 = <f32>6.2831853 * corner_Hz * <f32>meanLength / gridRate_Hz;
  const keeps = exponential(-a);
  // What is lost of a constant voltage within a mean, on average.
  const passes: f32 = a > <f32>1e-3 ? (1 - keeps) / a : 1;
  let held: f32 = 0;
  for (let k: u32 = 0; k < meanCount; k++) {
    const step = load<f32>(stepAt(k));
    store<f32>(shapeAt(k), (step - held) * passes);
    held = step + (held - step) * keeps;
  }
}
/** Fits the shape to a channel: fillShape goes before. */
function fit(c: u32, into: Fit): void {
  let sum: f32 = 0;
  let line: f32 = 0;
  let bend: f32 = 0;
  let power: f32 = 0;
  let product: f32 = 0;
  for (let k: u32 = 0; k < meanCount; k++) {
    const x = load<f32>(shapeAt(k));
    sum += x;
    line += x * load<f32>(lineAt(k));
    bend += x * load<f32>(bendAt(k));
    power += x * x;
    product += x * load<f32>(rowAt(c, k));
  }
  into.power = power - (sum * sum / <f32>meanCount + line * line / linePower + bend * bend / bendPower);
  into.product = product;
}

/** Most that a movement of either sign explains of the leader's power, and the best one of all. */
let bestUp: f32 = 0;
let bestDown: f32 = 0;
let begins_s: f32 = 0;
let lasts_s: f32 = 0;
let corner_Hz: f32 = 0;
/** Beginning and length of the steps that were filled last. */
let stepsBegin_s: f32 = 0;
let stepsLast_s: f32 = 0;
/** Fits the steps through a coupling to the leader. */
function tryShape(leader: u32, corner: f32): void {
  fillShape(corner);
  fit(leader, FIT);
  // What the parabola takes up nearly whole is no movement.
  if (FIT.power < LEAST_POWER / <f32>meanCount) return;
  const explained = FIT.product * FIT.product / FIT.power;
  const isBest = explained > max(bestUp, bestDown);
  if (FIT.product > 0) bestUp = max(bestUp, explained);
  else bestDown = max(bestDown, explained);
  if (!isBest) return;
  begins_s = stepsBegin_s;
  lasts_s = stepsLast_s;
  corner_Hz = corner;
}

/** A slow arrival. */
@unmanaged export class SlowArrival {
  /** Channel that moves most. */
  leader: u32;
  /** Which way it went, ln odds. */
  tells: f32;
  /** Middle of the arrival, seconds. */
  arrival_s: f32;
  /** Flux of the leader, webers. */
  flux_Wb: f32;
}
/** What one channel shows of it. */
@unmanaged export class SlowShare {
  flux_Wb: f32;
  /** Uncertainty of the flux. */
  u_Wb: f32;
  /** How far it stands out, deviations. */
  stands: f32;
  /**
   * Share of the means that are worth independent ones, by how much what the movement leaves of one is like that of the next: of noise whose
   * correlation dies away by a factor r from one to the next it is (1 - r) / (1 + r).
   */
  independent: f32;
}
const BENT: Bent = changetype<Bent>(memory.data(offsetof<Bent>()));
const LEADERS: SlowShare = changetype<SlowShare>(memory.data(offsetof<SlowShare>()));

/** Most that a voltage which dies away from the beginning of the capture on, as an amplifier's that settles, explains of a channel's power. */
function settling(c: u32): f32 {
  let most: f32 = 0;
  // From one mean on to all of them.
  for (let keeps: f32 = 0.4; 1 - keeps >= 1 / <f32>meanCount; keeps = sqrt<f32>(keeps)) {
    let left: f32 = 1;
    for (let k: u32 = 0; k < meanCount; k++, left *= keeps) store<f32>(shapeAt(k), left);
    fit(c, FIT);
    if (FIT.power > LEAST_POWER / <f32>meanCount) most = max(most, FIT.product * FIT.product / FIT.power);
  }
  return most;
}

/** White noise of a channel's means, as a power of all of them. */
function whitePower(c: u32): f32 {
  const deviation = whiteOf(c);
  const lasting = lastingRounding(c, deviation);
  return (deviation * deviation / <f32>meanLength + lasting * lasting) * <f32>meanCount;
}

/** Whether one mean of a channel has more power than `most`. */
function isInOne(c: u32, most: f32): bool {
  for (let k: u32 = 0; k < meanCount; k++) {
    const x = load<f32>(rowAt(c, k));
    if (x * x > most) return true;
  }
  return false;
}

/**
 * Seeks a slow arrival on all channels, cleaned; overwrites WORK.
 * @param usable - channels that lost no sample, a bit each
 * @param leftMost - share of the means' power that it may leave
 * @param oneMost - what is in one mean with more than this share of the power is no slow movement
 * @param into - written where one was heard @returns whether one was
 */
export function findSlow(usable: u32, leftMost: f32, oneMost: f32, into: SlowArrival): bool {
  let leader: i32 = -1;
  meansBegin();
  if (meanCount < MEANS_LEAST) return false;
  let most: f32 = MOVES;
  let all: f32 = 0;
  for (let c: u32 = 0; c < gridChannels; c++) {
    if ((usable >> c & 1) == 0) continue;
    fillMeans(c);
    takeParabola(c, BENT);
    const moved = BENT.left;
    if (isInOne(c, oneMost * moved)) continue;
    const times = moved / whitePower(c);
    if (times <= most) continue;
    most = times;
    all = moved;
    leader = <i32>c;
  }
  if (leader < 0) return false;
  bestUp = 0;
  bestDown = 0;
  let length_s = FIRST_LENGTH_s;
  for (let i: u32 = 0; i < LENGTHS; i++, length_s *= LENGTH_RATIO) {
    for (let j: u32 = 0; j < BEGINNINGS; j++) {
      fillSteps(FIRST_BEGINNING_s + <f32>j * BEGINNING_STEP_s, length_s);
      let corner: f32 = 0;
      for (let m: u32 = 0; m < CORNERS; m++, corner = m == 1 ? FIRST_CORNER_Hz : corner * CORNER_RATIO) tryShape(leader, corner);
    }
  }
  // Halfway between the steps of the search, twice.
  let lengths = sqrt<f32>(LENGTH_RATIO);
  let beginnings = BEGINNING_STEP_s / 2;
  let corners = sqrt<f32>(CORNER_RATIO);
  for (let round = 0; round < 2; round++) {
    const atBegin_s = begins_s;
    const atLength_s = lasts_s;
    const atCorner_Hz = corner_Hz;
    for (let i = 0; i < 9; i++) {
      const longer: f32 = i % 3 == 0 ? <f32>1 / lengths : i % 3 == 1 ? <f32>1 : lengths;
      fillSteps(atBegin_s + <f32>(i / 3 - 1) * beginnings, atLength_s * longer);
      let corner = atCorner_Hz / corners;
      for (let m = 0; m < 3; m++, corner *= corners) tryShape(leader, corner);
    }
    lengths = sqrt<f32>(lengths);
    beginnings /= 2;
    corners = sqrt<f32>(corners);
  }
  const half = (<f32>meanCount - UNKNOWNS) / 2;
  const best = max(bestUp, bestDown);
  const left = max<f32>(LEAST_LEFT, 1 - best / all);
  const other = max<f32>(LEAST_LEFT, 1 - min(bestUp, bestDown) / all);
  const speaks = -half * logarithm(left);
  if (left > leftMost || speaks < HEARD) return false;
  if (COLOURED * half * logarithm(max<f32>(LEAST_LEFT, 1 - settling(leader) / all) / left) < SETTLES) return false;
  fillSteps(begins_s, lasts_s);
  fillShape(corner_Hz);
  takeParabola(gridChannels + 3, BENT);
  measureSlow(leader, 0, LEADERS);
  if (left > LEFT_LITTLE && speaks * LEADERS.independent < HEARD) return false;
  const tells = min<f32>(TELLS_MOST, COLOURED * half * logarithm(other / left));
  into.leader = leader;
  into.tells = bestUp > bestDown ? tells : -tells;
  into.arrival_s = begins_s + lasts_s / 2;
  into.flux_Wb = LEADERS.flux_Wb;
  return true;
}
/** Power of a movement of one weber that the parabola leaves, at least, as a share of what one mean would have alone. */
const LEAST_POWER: f32 = 0.01;
/** No fit is better than this. */
const LEAST_LEFT: f32 = 1e-4;

/** Measures the movement that was just found on a usable channel. @param leads_Wb - flux of the leader, or 0 for itself */
export function measureSlow(c: u32, leads_Wb: f32, into: SlowShare): void {
  fit(c, FIT);
  const unit = GRID_V * <f32>meanLength / gridRate_Hz;
  const times = FIT.product / FIT.power;
  let before: f32 = 0;
  let power: f32 = 0;
  let alike: f32 = 0;
  for (let k: u32 = 0; k < meanCount; k++) {
    const left = load<f32>(rowAt(c, k)) - times * load<f32>(shapeAt(k));
    power += left * left;
    alike += left * before;
    before = left;
  }
  into.independent = (power - alike) / (power + alike);
  const left = max(whitePower(c), power) / (<f32>meanCount - UNKNOWNS);
  const flux = times * unit;
  const ratio = RATIO_u * leads_Wb;
  const noise = sqrt<f32>(left / FIT.power * unit * unit + ratio * ratio);
  into.flux_Wb = flux;
  into.stands = abs(flux) / noise;
  into.u_Wb = sqrt<f32>(noise * noise + LONGER_SHARE * LONGER_SHARE * flux * flux);
}
