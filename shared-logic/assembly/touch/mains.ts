/** The mains: its frequency, found from all channels together, and the phasor of each of its periods. */
import { WORK, gridChannel, gridChannels, gridCount, gridRate_Hz } from './grid';
import { LIMIT_SIZES, usualSize } from './sizes';
import { QUARTER_TURN, cosine, sine } from '../waves';

/** Nominal frequencies, and the part of them by which mains may be off as a rule: it stays within 1 % nearly all year (EN 50160, 4.2.1). */
export const HUM_Hz: f32 = 50;
export const OTHER_HUM_Hz: f32 = 60;
const AWAY: f32 = 0.015;
/** It stays from 6 % below to 4 % above them always; that far off it must show so many times the power, for what moves shows some. */
const FAR_LEAST: f32 = 0.94;
const FAR_MOST: f32 = 1.04;
const FAR_TIMES: f32 = 10;
/** What was found at the end of a search may be off by this part. */
const FAR_REACH: f32 = 0.05;
/** What the channels are mixed down by. */
const HUM_MIDDLE_Hz: f32 = 55;
/** Below this rate of the grid hum cannot be told from its aliases and stays. */
const RATE_MIN_Hz: f32 = 300;
/** A turn of a phase. */
export const FULL_TURN: f32 = 4294967296;

/** Amplitudes of a projection, grid units. */
@unmanaged class Phasor {
  cosine: f32;
  sine: f32;
}
const PROJECTED: Phasor = changetype<Phasor>(memory.data(offsetof<Phasor>()));
/** Cosine and sine, 16384 = 1. */
export function cosine14(phase: u32): i32 { return cosine(phase) >> 1; }
function sine14(phase: u32): i32 { return cosine14(phase - QUARTER_TURN); }
/** Samples over which a sinusoid is turned on from sample to sample before its table is asked again. */
const TURNED: u32 = 8;

/** Projects limited samples from `from` to `to` on one sinusoid. @param step - its phase advance per sample */
function project(base: u32, from: u32, to: u32, step: u32, limit: i32, into: Phasor): void {
  let shift: i32 = 0;
  while ((limit >> shift) > 32767) shift++;
  let c: i32 = 0;
  let s: i32 = 0;
  const stepCosine = cosine14(step);
  const stepSine = sine14(step);
  let at = base + from * 4;
  for (let i = from; i < to; i += TURNED) {
    let turnCosine = cosine14(step * i);
    let turnSine = sine14(step * i);
    // Eight products of 15 and 14 bits fit into 32.
    let c8: i32 = 0;
    let s8: i32 = 0;
    for (const end = base + min(to, i + TURNED) * 4; at < end; at += 4) {
      const x = max(-limit, min(limit, load<i32>(at))) >> shift;
      c8 += (x * turnCosine) >> 3;
      s8 += (x * turnSine) >> 3;
      const turned = (turnCosine * stepCosine - turnSine * stepSine + 8192) >> 14;
      turnSine = (turnSine * stepCosine + turnCosine * stepSine + 8192) >> 14;
      turnCosine = turned;
    }
    c += (c8 + 512) >> 10;
    s += (s8 + 512) >> 10;
  }
  const scale = <f32>(1 << shift) / <f32>(to - from);
  into.cosine = <f32>c * scale;
  into.sine = <f32>s * scale;
}

/** Phase advance of the fundamental per grid sample, a turn is 2^32. */
export let humStep: u32 = 0;
/** Takes the mains for one of this frequency, or phase advance. */
export function setHum(frequency_Hz: f32): void { humStep = stepOf(frequency_Hz); }
export function takeHum(step: u32): void { humStep = step; }
/** Samples per block of the search, blocks. */
let blockSamples: u32 = 0;
let blocks: u32 = 0;
@inline function blockAt(channel: u32, block: u32): u32 { return WORK + (channel * blocks + block) * 8; }

/** Phase advance per sample of a frequency. */
@inline function stepOf(frequency_Hz: f32): u32 { return <u32>(frequency_Hz / gridRate_Hz * FULL_TURN); }

/** Usual size of a channel after it was mixed down, so that one that moves does not outvote one that shows nothing but hum. */
const MIXED_SIZE: f32 = 4096;
/** Mixes every channel down from the middle of the range into blocks of about 20 ms, weighted to vanish at both ends. */
function mixDown(): void {
  blockSamples = <u32>max<f32>(1, nearest(gridRate_Hz * <f32>0.02));
  blocks = min<u32>(gridCount / blockSamples, 1000 / gridChannels);
  const step = stepOf(HUM_MIDDLE_Hz);
  const windowStep = <u32>(FULL_TURN / <f32>blocks);
  for (let c: u32 = 0; c < gridChannels; c++) {
    const base = gridChannel(c);
    const size = usualSize(base, gridCount, 0);
    const gain = MIXED_SIZE / <f32>size;
    for (let k: u32 = 0; k < blocks; k++) {
      project(base, k * blockSamples, (k + 1) * blockSamples, step, LIMIT_SIZES * size, PROJECTED);
      const fall: i32 = 32768 - cosine(windowStep * k + (windowStep >> 1));
      const window = <f32>fall * <f32>1.52587890625e-5 * gain;
      store<i32>(blockAt(c, k), <i32>nearest(PROJECTED.cosine * window));
      store<i32>(blockAt(c, k), <i32>nearest(PROJECTED.sine * window), 4);
    }
  }
}
/** Power of all channels at a frequency. */
function powerAt(frequency_Hz: f32): f32 {
  const step = <u32><i32>((frequency_Hz - HUM_MIDDLE_Hz) / gridRate_Hz * FULL_TURN) * blockSamples;
  let power: f32 = 0;
  for (let c: u32 = 0; c < gridChannels; c++) {
    let re: i64 = 0;
    let im: i64 = 0;
    let phase: u32 = 0;
    for (let k: u32 = 0; k < blocks; k++) {
      const a = load<i32>(blockAt(c, k));
      const b = load<i32>(blockAt(c, k), 4);
      const cos = cosine(phase) >> 5;
      const sin = sine(phase) >> 5;
      re += a * cos - b * sin;
      im += b * cos + a * sin;
      phase += step;
    }
    const x = <f32>re * <f32>0.0009765625;
    const y = <f32>im * <f32>0.0009765625;
    power += x * x + y * y;
  }
  return power;
}

/** A frequency, and the power of all channels near it. */
@unmanaged class Line {
  at_Hz: f32;
  power: f32;
}
const NEAR: Line = changetype<Line>(memory.data(offsetof<Line>()));
const OTHER: Line = changetype<Line>(memory.data(offsetof<Line>()));
const ANYWHERE: Line = changetype<Line>(memory.data(offsetof<Line>()));

/** Best frequency between `from` and `to` in steps of `step_Hz`, refined by the parabola through the three best points. */
function searchFrequency(from: f32, to: f32, step_Hz: f32, into: Line): void {
  let best: f32 = -1;
  let bestAt = from;
  for (let f = from; f <= to; f += step_Hz) {
    const power = powerAt(f);
    if (power > best) {
      best = power;
      bestAt = f;
    }
  }
  into.power = best;
  into.at_Hz = bestAt;
  const low = powerAt(bestAt - step_Hz);
  const high = powerAt(bestAt + step_Hz);
  const bend: f32 = <f32>2 * best - low - high;
  if (bend > 0) into.at_Hz = bestAt + step_Hz * max<f32>(-1, min<f32>(1, (high - low) / (<f32>2 * bend)));
}

/** Steps of the search, and of the one around the best of them. */
function coarseStep_Hz(): f32 { return min<f32>(2, <f32>0.6 / (<f32>(blocks * blockSamples) / gridRate_Hz)); }
function fineStep_Hz(): f32 { return coarseStep_Hz() / 8; }
/** Best frequency between two, all channels together (their offsets are out already): mixDown goes before. */
function findBetween(least_Hz: f32, most_Hz: f32, into: Line): void {
  const span = most_Hz - least_Hz;
  const coarse = span / ceil<f32>(span / coarseStep_Hz());
  // Beyond the last one by less than a step: rounding must not leave it out.
  searchFrequency(least_Hz, most_Hz + coarse / 4, coarse, into);
  searchFrequency(into.at_Hz - coarse / 2, into.at_Hz + coarse / 2, fineStep_Hz(), into);
  into.at_Hz = max(least_Hz, min(most_Hz, into.at_Hz));
}
/** The same near a nominal one. */
function findNear(nominal_Hz: f32, into: Line): void { findBetween((1 - AWAY) * nominal_Hz, (1 + AWAY) * nominal_Hz, into); }
/** Whether a frequency lies at an end of where mains is looked for first: it may be beyond. */
function isAtEdge(found_Hz: f32): bool {
  const off = abs(found_Hz / (found_Hz < HUM_MIDDLE_Hz ? HUM_Hz : OTHER_HUM_Hz) - 1);
  return abs(off - AWAY) * found_Hz < fineStep_Hz();
}
/** Finds the mains frequency from all channels together. */
function findFrequency(): f32 {
  mixDown();
  findNear(HUM_Hz, NEAR);
  findNear(OTHER_HUM_Hz, OTHER);
  findBetween(FAR_LEAST * HUM_Hz, FAR_MOST * OTHER_HUM_Hz, ANYWHERE);
  const near = OTHER.power > NEAR.power ? OTHER : NEAR;
  return ANYWHERE.power > FAR_TIMES * near.power ? ANYWHERE.at_Hz : near.at_Hz;
}

// ---------------------------------------------------------------- period by period

/** Mains periods that are looked at one by one: 20 bytes each at WORK. */
export const PERIODS_MAX: u32 = 360;
/** One mains period as a phasor, and the sums up to it: 5 words at WORK + k * 20. */
@inline export function periodAt(k: u32): u32 { return WORK + k * 20; }

/** Periods of the grid, and samples of one. */
export let periods: u32 = 0;
export let period: f32 = 0;
@inline export function periodStart(k: u32): u32 { return <u32>(<f32>k * period); }

/** Phasors of the fundamental, one per mains period. */
export function findPhasors(base: u32, n: u32, size: i32): void {
  period = FULL_TURN / <f32>humStep;
  periods = min<u32>(PERIODS_MAX, <u32>(<f32>n / period));
  for (let k: u32 = 0; k < periods; k++) {
    project(base, periodStart(k), periodStart(k + 1), humStep, LIMIT_SIZES * size, PROJECTED);
    store<f32>(periodAt(k), PROJECTED.cosine);
    store<f32>(periodAt(k), PROJECTED.sine, 4);
  }
}

/** How phasors turn from one period to the next: its two products, and the mean distance of the turns from their middle. */
@unmanaged class Turn {
  along: f32;
  across: f32;
  distance: f32;
}
const TURN: Turn = changetype<Turn>(memory.data(offsetof<Turn>()));
/** The turns of the channel's phasors that lie within `reach` of `middle`. */
function addTurns(middle: f32, reach: f32, into: Turn): void {
  let along: f32 = 0;
  let across: f32 = 0;
  let distance: f32 = 0;
  let weight: f32 = 0;
  for (let k: u32 = 0; k + 1 < periods; k++) {
    const re = load<f32>(periodAt(k));
    const im = load<f32>(periodAt(k), 4);
    const nextRe = load<f32>(periodAt(k + 1));
    const nextIm = load<f32>(periodAt(k + 1), 4);
    const x = nextRe * re + nextIm * im;
    const y = nextRe * im - nextIm * re;
    const off = abs(y - middle * x);
    if (off > reach * abs(x)) continue;
    along += x;
    across += y;
    distance += off;
    weight += abs(x);
  }
  into.along = along;
  into.across = across;
  into.distance = weight > 0 ? distance / weight : 0;
}

/**
 * Corrects the frequency by how the phasors turn from one period to the next. A pulse's two errors cancel; the turn
 * at a step of the hum stands out and is left away. Channels count by how much alike their turns are.
 */
function refineFrequency(): void {
  for (let round = 0; round < 2; round++) {
    let weights: f32 = 0;
    let turn: f32 = 0;
    for (let c: u32 = 0; c < gridChannels; c++) {
      const base = gridChannel(c);
      findPhasors(base, gridCount, usualSize(base, gridCount, 0));
      let middle: f32 = 0;
      let reach: f32 = 1;
      for (let pass = 0; pass < 3; pass++) {
        addTurns(middle, reach, TURN);
        if (TURN.along <= 0) break;
        middle = TURN.across / TURN.along;
        reach = <f32>2.5 * TURN.distance + <f32>1e-4;
      }
      if (TURN.along <= 0) continue;
      const weight: f32 = 1 / (TURN.distance * TURN.distance + <f32>1e-6);
      weights += weight;
      turn += weight * middle;
    }
    if (weights <= 0 || abs(turn) > <f32>0.3 * weights) return;
    humStep = <u32>(<i32>humStep + <i32>(turn / weights / period * TURN_PER_RADIAN));
  }
}
const TURN_PER_RADIAN: f32 = 683565275.6;

/** Finds the mains in all channels of the grid, whose offsets are out; leaves humStep, 0 where the grid is too slow for it. */
export function findMains(): void {
  humStep = 0;
  if (gridRate_Hz < RATE_MIN_Hz) return;
  const found_Hz = findFrequency();
  const reach_Hz = isAtEdge(found_Hz) ? FAR_REACH * found_Hz : coarseStep_Hz() / 2;
  const found = stepOf(found_Hz);
  humStep = found;
  refineFrequency();
  // Periods in which steel moves turn too. Hum that steps lies beside its frequency in the search, by no more than that.
  if (humStep < stepOf(found_Hz - reach_Hz) || humStep > stepOf(found_Hz + reach_Hz)) humStep = found;
}
