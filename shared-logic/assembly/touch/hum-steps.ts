/** Hum that changes when a hand comes or goes: where it steps, it is fitted to each stretch by itself. */
import { GRID_V } from './grid';
import {
  HARMONICS, OTHER_WAVE, WAVE, WHOLE, drawWave, fitHum, fitStanding, humAmplitude, partAt, partOf, powerOf, takeFitOut, takeOut, waveAt,
} from './harmonics';
import { findPhasors, humStep, period, periodAt, periodStart, periods } from './mains';
import { usualSize } from './sizes';

/** Shortest stretch of unchanged hum, in periods. */
const STRETCH: u32 = 2;
/** The same between two steps: no hand goes again so soon, but a contact that bounces comes and goes about as often as the mains. */
const BETWEEN: u32 = 4;

/** Once the sums are there the phasors themselves make room: 1 / k, and the spread from period k on. */
@inline function inverse(k: u32): f32 { return load<f32>(periodAt(k)); }
@inline function spreadFrom(k: u32): f32 { return load<f32>(periodAt(k), 4); }

/** Spread of the phasors of periods a to b (b excluded) about their mean. */
function spread(a: u32, b: u32): f32 {
  const re = load<f32>(periodAt(b), 8) - load<f32>(periodAt(a), 8);
  const im = load<f32>(periodAt(b), 12) - load<f32>(periodAt(a), 12);
  return load<f32>(periodAt(b), 16) - load<f32>(periodAt(a), 16) - (re * re + im * im) * inverse(b - a);
}

/** Harmonics that are fitted to each stretch. */
const MODELLED: u32 = 5;

@inline function stretchSize(base: u32, from: u32, to: u32): i32 { return usualSize(base + from * 4, to - from, 0); }

/** Fits the harmonics to whole periods inside one stretch; the periods beside a step may hold part of it. */
function fitStretch(base: u32, stretch: u32, from: u32, to: u32): void {
  const first = from > 0 && to - from > 1 ? from + 1 : from;
  const last = to < periods && to - first > 1 ? to - 1 : to;
  // Its own usual size: in a short stretch the hum that was left may be many times that of the whole.
  const size = stretchSize(base, periodStart(first), periodStart(last));
  fitHum(base, periodStart(first), periodStart(last), size, stretch, MODELLED);
}
/**
 * Whether what was fitted to a stretch may be hum: not far more than that of the whole capture, or than a hand brings where there
 * was none (a few millivolts; common practice, no published source), or it is the touch.
 */
function isHum(stretch: u32, harmonics: u32): bool {
  const most = max<f32>(HUM_MOST_V / GRID_V, HUM_TIMES * humAmplitude());
  let power: f32 = 0;
  for (let k: u32 = 1; k <= harmonics; k++) power += powerOf(partAt(stretch, k));
  return power <= most * most;
}
const HUM_MOST_V: f32 = 0.003;
const HUM_TIMES: f32 = 4;
/** Distance of the fundamentals of two stretches. */
function partDistance(a: u32, b: u32): f32 {
  const re = partOf(partAt(b, 1)) - partOf(partAt(a, 1));
  const im = partOf(partAt(b, 1) + 4) - partOf(partAt(a, 1) + 4);
  return sqrt<f32>(re * re + im * im);
}
/** Draws a stretch's hum and that of the next one. */
function drawBeside(stretch: u32): void {
  drawWave(WAVE, stretch, MODELLED);
  drawWave(OTHER_WAVE, stretch + 1, MODELLED);
}
/** The sample at which one stretch's hum passes into the next one's, near `guess`. */
function findStep(base: u32, n: u32, stretch: u32, guess: u32): u32 {
  const reach = <u32>(<f32>1.3 * period);
  const from = guess > reach ? guess - reach : 0;
  const to = min(n, guess + reach);
  drawBeside(stretch);
  let sum: i32 = 0;
  let least: i32 = 0;
  let at = from;
  for (let i = from; i < to; i++) {
    const x = load<i32>(base + i * 4);
    sum += abs(x - waveAt(WAVE, humStep * i)) - abs(x - waveAt(OTHER_WAVE, humStep * i));
    if (sum < least) {
      least = sum;
      at = i + 1;
    }
  }
  return at;
}
/** A hand that comes near changes the hum over up to so many half periods on either side of the middle. */
const RAMP_MOST: u32 = 8;
/** Weight of the second wave in a ramp of so many samples on either side: after i of them, i times this in 2^-14. */
function slopeOf(half: u32): u32 { return (1 << 14) / (2 * half); }
/** One wave that passes evenly into another one. @param passed - samples since the ramp began @param slope - of `slopeOf` */
@inline function mixed(x: i32, y: i32, passed: u32, slope: u32): i32 { return x + ((y - x) * <i32>((passed * slope) >> 6) >> 8); }
/** On how many samples either side of `at` the hum passes from one stretch's into the next one's. */
function findRamp(base: u32, stretch: u32, from: u32, at: u32, to: u32): u32 {
  drawBeside(stretch);
  let best: u32 = 0;
  let most: i32 = 0;
  for (let k: u32 = 1; k <= RAMP_MOST; k++) {
    const half = <u32>(<f32>k * period / 2);
    if (at < from + half || at + half > to) break;
    const slope = slopeOf(half);
    let gained: i32 = 0;
    for (let i = at - half; i < at + half; i += RAMP_STRIDE) {
      const x = waveAt(WAVE, humStep * i);
      const y = waveAt(OTHER_WAVE, humStep * i);
      const v = load<i32>(base + i * 4);
      gained += abs(v - (i < at ? x : y)) - abs(v - mixed(x, y, i + half - at, slope));
    }
    if (gained <= most) continue;
    most = gained;
    best = half;
  }
  return best;
}
/** Enough of the samples to tell. */
const RAMP_STRIDE: u32 = 2;
/** Takes the hum out there. */
function takeRamp(base: u32, stretch: u32, at: u32, half: u32): void {
  if (half == 0) return;
  drawBeside(stretch);
  const slope = slopeOf(half);
  for (let i = at - half; i < at + half; i++) {
    const hum = mixed(waveAt(WAVE, humStep * i), waveAt(OTHER_WAVE, humStep * i), i + half - at, slope);
    store<i32>(base + i * 4, load<i32>(base + i * 4) - hum);
  }
}

/** Takes out what is left of the hum between two steps. Its fit spared the periods beside a step: there may be a touch. */
function removeRest(base: u32, from: u32, to: u32): void {
  if (<f32>(to - from) <= period) return;
  fitStanding(base, from, to, stretchSize(base, from, to), HARMONICS);
  if (isHum(WHOLE, HARMONICS)) takeFitOut(base, from, to, HARMONICS);
}

/** What removeSteps says where the hum does not step. */
export const NO_STEPS: f32 = -1;

/**
 * Refits the hum where its amplitude or phase steps: one or two steps, where they explain much more than noise.
 * @returns sum of the sizes of the changes of the fundamental, grid units, or NO_STEPS
 */
export function removeSteps(base: u32, n: u32, size: i32, white: f32): f32 {
  findPhasors(base, n, size);
  if (periods < 2 * STRETCH) return NO_STEPS;
  let re: f32 = 0;
  let im: f32 = 0;
  let power: f32 = 0;
  for (let k: u32 = 0; k <= periods; k++) {
    const at = periodAt(k);
    store<f32>(at, re, 8);
    store<f32>(at, im, 12);
    store<f32>(at, power, 16);
    if (k == periods) break;
    const x = load<f32>(at);
    const y = load<f32>(at, 4);
    re += x;
    im += y;
    power += x * x + y * y;
  }
  for (let k: u32 = 1; k <= periods; k++) store<f32>(periodAt(k), 1 / <f32>k);
  for (let k: u32 = 0; k < periods; k++) store<f32>(periodAt(k), spread(k, periods), 4);
  // Noise in one phasor, both parts: 4 s^2 / samples.
  const noise = <f32>4 * white * white / period;
  const none = spreadFrom(0);
  const worth: f32 = <f32>30 * noise;
  if (none < worth) return NO_STEPS;
  let best = none;
  let first: u32 = 0;
  let second: u32 = periods;
  for (let a: u32 = STRETCH; a + STRETCH <= periods; a++) {
    const one = spread(0, a) + spreadFrom(a);
    if (one < best) {
      best = one;
      first = a;
      second = periods;
    }
  }
  const single = best;
  for (let a: u32 = STRETCH; single > worth && a + BETWEEN + STRETCH <= periods; a++) {
    const head = spread(0, a);
    if (head >= <f32>0.6 * single) break;
    for (let b = a + BETWEEN; b + STRETCH <= periods; b++) {
      const two = head + spread(a, b) + spreadFrom(b);
      if (two < best && two < <f32>0.6 * single && single - two > worth) {
        best = two;
        first = a;
        second = b;
      }
    }
  }
  if (first == 0 || none - best < worth || best > <f32>0.7 * none) return NO_STEPS;
  fitStretch(base, 0, 0, first);
  fitStretch(base, 1, first, second);
  if (second < periods) fitStretch(base, 2, second, periods);
  if (!isHum(0, MODELLED) || !isHum(1, MODELLED) || (second < periods && !isHum(2, MODELLED))) return NO_STEPS;
  const jumps = partDistance(0, 1) + (second < periods ? partDistance(1, 2) : 0);
  const from = findStep(base, n, 0, periodStart(first));
  const to = second < periods ? max(from, findStep(base, n, 1, periodStart(second))) : n;
  const between = (from + to) >> 1;
  const half = findRamp(base, 0, 0, from, between);
  const other = to < n ? findRamp(base, 1, between, to, n) : 0;
  // Once more without the ramps in the fits.
  const spared = <u32>(<f32>half / period);
  const sparedThen = <u32>(<f32>other / period);
  if (spared + sparedThen > 0) {
    fitStretch(base, 0, 0, max(STRETCH, first - min(first, spared)));
    if (second > first + spared + sparedThen + STRETCH) fitStretch(base, 1, first + spared, second - sparedThen);
    if (second + sparedThen + STRETCH < periods) fitStretch(base, 2, second + sparedThen, periods);
  }
  takeRamp(base, 0, from, half);
  if (to < n) takeRamp(base, 1, to, other);
  takeOut(base, 0, from - half, 0, MODELLED);
  takeOut(base, from + half, to - other, 1, MODELLED);
  if (to < n) takeOut(base, to + other, n, 2, MODELLED);
  removeRest(base, 0, from);
  removeRest(base, from, to);
  removeRest(base, to, n);
  return jumps;
}
