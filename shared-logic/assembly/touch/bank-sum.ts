/**
 * The probability of the sign of a touch near the noise, summed over arrival, rise time, flux and departure.
 *
 * Model of a touch of sign s: flux s*F arrives at t in T and may leave later in T'. With z(t, T) the filter's output in
 * standard deviations and a = F * perWeber(T), its likelihood against nothing is exp(s a z - a^2/2), times the mean of
 * exp(-s a' z' - a'^2/2) over departures. Priors: F log-uniform, T log-uniform over the bank, arrival nearly
 * anywhere, departure uniform from 50 ms to 1 s later.
 */
import { Extreme, WIDTHS, areaAt, filter, output } from './bank';
import { gridChannel, gridCount, gridRate_Hz, gridStart_s } from './grid';
import {
  CLOSE, CLOSE_FROM_ms, CLOSE_TO_ms, FAINT_HOLD_MIN_s, FAINT_HOLD_SPAN_s, LATER_256, LATER_ms, LEFT_TOLD, NEAR, NEAR_ms,
  NO_TOUCH_AFTER_LIFT, STAYS_SPAN, UNSEEN, UNSEEN_ms, beganAfter, restsBefore,
} from './hand';
import { restsClearly } from './rest';
import { DECAY_STEPS, addLogs, decay, logarithm } from '../waves';

/** Samples per bin of arrival times. */
const BIN: u32 = 4;
/** Flux steps of the sum: a ratio of 1.5, from half a standard deviation upwards. */
const FLUXES_MAX: u32 = 14;
const FLUX_RATIO: f32 = 1.5;
const LOG_RATIO: f32 = 0.405465;

/** What stands this far out, 64ths of a deviation, is seen as it comes: it sets off the trigger, and a capture hears it. */
export const SEEN: i32 = 768;

/** Logarithms of how likely a channel is with a touch, against nothing. */
@unmanaged export class SignSum {
  /** A positive and a negative one. */
  up: f32;
  down: f32;
  /** What both cost more because a touch's flux may be anything up to FLUX_MOST_Wb, of which the sum covers a part. */
  anyFlux: f32;
}
const FLUX_MOST_Wb: f32 = 0.015;

/**
 * A hand's step has none of the bank's shapes, and leaves as it likes: an output is off by this share of what the flux gives,
 * whatever the noise. So a step of FLUX_RATIO is fine enough for any flux.
 */
const SHAPE_SHARE: f32 = 0.12;

/** For each flux under each filter: amplitude, 64ths of a deviation; 256ths of 1 / variance; 16ths of ln of the deviation. */
const AMPLITUDES: usize = memory.data(672);
@inline function amplitudes(j: u32): usize { return AMPLITUDES + <usize>(j * FLUXES_MAX * 8); }
function fillAmplitudes(fluxes: u32, first_Wb: f32): void {
  for (let j: u32 = 0; j < WIDTHS; j++) {
    let a = first_Wb * filter(j).perWeber;
    for (let i: u32 = 0; i < fluxes; i++) {
      const at = amplitudes(j) + <usize>(i * 8);
      const variance: f32 = <f32>1 + SHAPE_SHARE * SHAPE_SHARE * a * a;
      store<i32>(at, <i32>min<f32>(a * 64, 16383));
      store<u16>(at, <u16>max<f32>(1, nearest(<f32>256 / variance)), 4);
      store<u16>(at, <u16>nearest(<f32>8 * logarithm(variance)), 6);
      a *= FLUX_RATIO;
    }
  }
}

/** Adds one bin's likelihoods of a pulse of each flux and sign to the sums at `sums` (up, down per flux), 2^-20 each. */
function addBin(base: u32, from: u32, n: u32, fluxes: u32, roofUp: i32, roofDown: i32, sums: u32): void {
  for (let j: u32 = 0; j < WIDTHS; j++) {
    const f = filter(j);
    const stride = f.stride;
    for (let t = from; t < from + BIN && t + f.length <= n; t += stride) {
      const z = output(f, base + t * 4);
      // No flux makes more of this output than z^2/2.
      const most = (z * z) >> 9;
      if ((z > 0 ? roofUp - most : roofUp) >= DECAY_STEPS && (z < 0 ? roofDown - most : roofDown) >= DECAY_STEPS) continue;
      let at = sums;
      for (let i: u32 = 0; i < fluxes; i++) {
        const entry = amplitudes(j) + <usize>(i * 8);
        const amplitude = load<i32>(entry);
        const weight = <i32>load<u16>(entry, 4);
        const wide = <i32>load<u16>(entry, 6) - most;
        // 16ths of a natural logarithmic unit: (z - a)^2 / 2 = (64 z - 64 a)^2 / 512.
        const over = amplitude - z;
        const under = amplitude + z;
        const up = roofUp + wide + (((over * over) >> 9) * weight >> 8);
        if (up < DECAY_STEPS) store<u32>(at, load<u32>(at) + stride * decay(max(0, up)));
        const down = roofDown + wide + (((under * under) >> 9) * weight >> 8);
        if (down < DECAY_STEPS) store<u32>(at, load<u32>(at, 4) + stride * decay(max(0, down)), 4);
        // Beyond the output's own flux both only fall.
        else if (up >= DECAY_STEPS && amplitude > abs(z)) break;
        at += 8;
      }
    }
  }
}

/** First bin that begins at a time after the trigger, milliseconds, or later. */
function binAt(time_ms: i32, bin_us: i32, bins: u32): i32 {
  const start_ms = <i32>max<f32>(-1e6, min<f32>(1e6, gridStart_s * 1000));
  return min(<i32>bins, (max(0, time_ms - start_ms) * 1000 + bin_us - 1) / bin_us);
}

/** A quarter of the departures differ from what was seen arrive: a slow start was lost, or a second step (hand.ts, pairDensity). */
const ANY_bits: u32 = 2;
@inline function equalOrAny(later: u32): u32 { return later - (later >> ANY_bits); }

/** Sums over the bins for one flux: what stays, what has left again, and all alike; upwards, then downwards. */
let sumsAt: u32 = 0;
const SUMS_bytes: u32 = 48;
/** Adds a bin of which `here` arrives and `later` leaves. @param prior - of each, 256 = 1 @param gone - that `here` is a lone departure */
@inline function addSums(at: u32, here: u32, later: u32, prior: u32, priorLeft: u32, gone: u32): void {
  const some = here >> 6;
  if (some == 0) return;
  store<u64>(at, load<u64>(at) + some * prior);
  if (later != 0) store<u64>(at, load<u64>(at, 8) + (<u64>some * later >> 10) * priorLeft, 8);
  store<u64>(at, load<u64>(at, 16) + <u64>some * gone, 16);
}
/** One of the sums over all fluxes, which are weighted alike in their logarithm. */
function sumOf(which: u32, fluxes: u32): f32 {
  let sum: f32 = 0;
  let weight: f32 = 1;
  for (let i: u32 = 0; i < fluxes; i++) {
    sum += <f32>load<i64>(sumsAt + i * SUMS_bytes + which) * weight;
    weight *= FLUX_RATIO;
  }
  return sum;
}

/** Logarithm of a sum that may be nothing: then far below all others, roofs included. */
function logOf(sum: f32): f32 { return sum > 0 ? logarithm(sum) : NOTHING; }
const NOTHING: f32 = -1e5;

/** Sums over all touches. @param largestUp - what stands out most, by bankScan of the same channel just before @param largestDown - the same */
export function bankSum(channel: u32, largestUp: Extreme, largestDown: Extreme, into: SignSum): void {
  const bestUp = largestUp.most;
  const bestDown = largestDown.most;
  const base = gridChannel(channel);
  const n = gridCount;
  // Flux grid: from 0.6 of a deviation at a rise of 5 ms to 1.3 times the largest output.
  const first_Wb = <f32>0.6 / filter(2).perWeber;
  const most_Wb = max(<f32>bestUp / filter(largestUp.mostWidth).perWeber, <f32>bestDown / filter(largestDown.mostWidth).perWeber);
  const top = most_Wb / 64 * <f32>1.3;
  let fluxes: u32 = 4;
  for (let flux = first_Wb * FLUX_RATIO * FLUX_RATIO * FLUX_RATIO; flux < top && fluxes < FLUXES_MAX; fluxes++) {
    flux *= FLUX_RATIO;
  }
  into.anyFlux = logarithm(max<f32>(1, logarithm(FLUX_MOST_Wb / first_Wb) / (<f32>fluxes * LOG_RATIO)));
  // Exponents are kept below these roofs: z^2/2 in 16ths is (64 z)^2 >> 9.
  const roofUp = (bestUp * bestUp) >> 9;
  const roofDown = (bestDown * bestDown) >> 9;
  const lift = <f32>1 / 16;
  fillAmplitudes(fluxes, first_Wb);

  const bins = n / BIN;
  const bin_s = <f32>BIN / gridRate_Hz;
  const gap = min<u32>(40, max<u32>(1, <u32>(FAINT_HOLD_MIN_s / bin_s)));
  const row = FLUXES_MAX * 8;
  const ring = areaAt;
  const later = ring + (gap + 1) * row;
  sumsAt = later + row + 4 & ~7;
  memory.fill(ring, 0, sumsAt - ring + FLUXES_MAX * SUMS_bytes);
  const bin_us = <i32>(bin_s * 1e6);
  const closeFrom = binAt(CLOSE_FROM_ms, bin_us, bins);
  const closeTo = binAt(CLOSE_TO_ms, bin_us, bins);
  const nearFrom = binAt(-NEAR_ms, bin_us, bins);
  const nearTo = binAt(NEAR_ms, bin_us, bins);
  const laterFrom = binAt(LATER_ms, bin_us, bins);
  // A departure alone belongs to a contact of the other sign: one made before the capture (steel that lay there and went, and nothing
  // after it, though the person has touched by then, unless the capture missed just that), or one whose arrival was too slow to be seen.
  // In 65536ths, early in the capture and later.
  const rests = max(bestUp, bestDown) > SEEN ? restsClearly() : restsBefore();
  const before = rests * (beganAfter() ? 1 : NO_TOUCH_AFTER_LIFT);
  const goneEarly = <u32>(before * 65536);
  const goneLater = <u32>((before + (<f32>1 - before) * UNSEEN) * 65536);
  const unseenFrom = binAt(UNSEEN_ms, bin_us, bins);
  // Priors of a bin in 256ths of the even one.
  const anywhere: f32 = <f32>1 - (closeTo > closeFrom ? CLOSE : 0) - (nearTo > nearFrom ? NEAR : 0);
  const perBin = <f32>256 * <f32>bins / anywhere;
  const close: u32 = closeTo > closeFrom ? <u32>(CLOSE * perBin / <f32>(closeTo - closeFrom)) : 0;
  const near: u32 = nearTo > nearFrom ? <u32>(NEAR * perBin / <f32>(nearTo - nearFrom)) : 0;
  // Of a hold's span, in 65536ths.
  const bin_span = <i32>(bin_s / FAINT_HOLD_SPAN_s * 65536);
  let rest = -<i32>(FAINT_HOLD_MIN_s / FAINT_HOLD_SPAN_s * 65536);
  for (let b: i32 = <i32>bins - 1; b >= 0; b--) {
    const slot = ring + (<u32>b % (gap + 1)) * row;
    // What lies just beyond the shortest hold becomes a possible departure before its slot is used again.
    let anyUp: u32 = 0;
    let anyDown: u32 = 0;
    for (let at = later, from = slot, end = later + fluxes * 8; at < end; at += 8, from += 8) {
      const sumUp = load<u32>(at) + (load<u32>(from) >> 6);
      const sumDown = load<u32>(at, 4) + (load<u32>(from, 4) >> 6);
      store<u32>(at, sumUp);
      store<u32>(at, sumDown, 4);
      anyUp += sumUp >> 4;
      anyDown += sumDown >> 4;
    }
    anyUp = anyUp / fluxes << 4 - ANY_bits;
    anyDown = anyDown / fluxes << 4 - ANY_bits;
    memory.fill(slot, 0, row);
    addBin(base, <u32>b * BIN, n, fluxes, roofUp, roofDown, slot);
    rest += bin_span;
    const stays: u32 = 65536 - max(0, min(STAYS_SPAN, rest));
    const told: u32 = (b >= closeFrom && b < closeTo ? close : 0) + (b >= nearFrom && b < nearTo ? near : 0);
    const prior = ((b >= laterFrom ? LATER_256 : 256) + told) * stays >> 16;
    const priorLeft = 256 + LEFT_TOLD * told;
    const gone = b >= unseenFrom ? goneLater : goneEarly;
    for (let i: u32 = 0; i < fluxes; i++) {
      const sums = sumsAt + i * SUMS_bytes;
      const here = slot + i * 8;
      const leaves = later + i * 8;
      addSums(sums, load<u32>(here), equalOrAny(load<u32>(leaves, 4)) + anyDown, prior, priorLeft, gone);
      addSums(sums + 24, load<u32>(here, 4), equalOrAny(load<u32>(leaves)) + anyUp, prior, priorLeft, gone);
    }
  }
  // One likelihood of a bin: mean over BIN samples and WIDTHS filters; then what addSums left out.
  const unit: f32 = <f32>64 / (<f32>1048576 * <f32>(BIN * WIDTHS));
  const even = unit / <f32>bins;
  const uniform = even * anywhere / 256;
  const twice = uniform * unit * 1024 * bin_s / FAINT_HOLD_SPAN_s;
  const stayUp = uniform * sumOf(0, fluxes);
  const stayDown = uniform * sumOf(24, fluxes);
  const leftUp = twice * sumOf(8, fluxes);
  const leftDown = twice * sumOf(32, fluxes);
  const leaveUp = even / 65536 * sumOf(16, fluxes);
  const leaveDown = even / 65536 * sumOf(40, fluxes);
  let weights: f32 = 0;
  let weight: f32 = 1;
  for (let i: u32 = 0; i < fluxes; i++) {
    weights += weight;
    weight *= FLUX_RATIO;
  }
  const perFlux = <f32>1 / weights;
  const made = logarithm(perFlux * (<f32>1 - before));
  const alone = logarithm(perFlux);
  // Each story carries the roofs of the pulses that it explains.
  const highUp = <f32>roofUp * lift;
  const highDown = <f32>roofDown * lift;
  into.up = addLogs(
    made + addLogs(highUp + logOf(stayUp), highUp + highDown + logOf(leftUp)),
    alone + highDown + logOf(leaveDown));
  into.down = addLogs(
    made + addLogs(highDown + logOf(stayDown), highUp + highDown + logOf(leftDown)),
    alone + highUp + logOf(leaveUp));
}
