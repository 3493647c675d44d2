/**
 * What is not the touch: offset, drift and mains hum, fitted to the whole grid and taken out of it. The fit limits
 * each sample to a few times the usual size (Huber's way), so that a pulse that stands out weighs next to nothing.
 */
import { WORK, GRID_V, gridChannel, gridChannels, gridCount, gridRate_Hz, gridStart_s } from './grid';
import { QUARTER_TURN, cosine, sine } from '../waves';

/** Mains is looked for between these (nominal 50 and 60 Hz; checks.md row 21 allows 1 %). */
const HUM_MIN_Hz: f32 = 44;
const HUM_MAX_Hz: f32 = 66;
const HUM_MIDDLE_Hz: f32 = 55;
/** Harmonics always taken out; those above, up to HARMONICS, only where they stand out of the noise. */
const HARMONICS_ALWAYS: u32 = 3;
const HARMONICS: u32 = 9;
/** Below this rate of the grid hum cannot be told from its aliases and stays. */
const RATE_MIN_Hz: f32 = 300;
const FULL_TURN: f32 = 4294967296;
/** Samples are limited at this many usual sizes in every fit. */
const LIMIT_SIZES: i32 = 3;
/** Mean of the limited size of a normal deviate when the limit is three times that mean. */
const LIMITED_MEAN: f32 = 0.792;

/** Bits by which samples of at most `limit` are shifted down so that `n` of them add up in 32 bits. */
export function roomFor(limit: i32, n: u32): i32 {
  const room = <i32>(0x7fffffff / max<u32>(1, n));
  let shift: i32 = 0;
  while ((limit >> shift) > room) shift++;
  return shift;
}

/** Mean size about `offset` of every `stride`-th sample, each limited. */
function limitedSize(base: u32, n: u32, stride: u32, offset: i32, limit: i32): i32 {
  const shift = roomFor(limit, n);
  let sum: i32 = 0;
  for (let i: u32 = 0; i < n; i += stride) sum += min(abs(load<i32>(base + i * 4) - offset), limit) >> shift;
  return (sum / <i32>((n + stride - 1) / stride) << shift) + 1;
}

/** How many of some 300 samples have each number of bits: 32 words. */
const BITS: usize = memory.data(128);
/** Size that half of some 300 samples lie below, within a tenth or so. */
function medianSize(base: u32, n: u32, offset: i32): i32 {
  memory.fill(BITS, 0, 128);
  const stride = 1 + n / 320;
  for (let i: u32 = 0; i < n; i += stride) {
    const at = BITS + <usize>((32 - clz(abs(load<i32>(base + i * 4) - offset))) << 2);
    store<u32>(at, load<u32>(at) + 1);
  }
  const half = (n + stride - 1) / stride / 2;
  let below: u32 = 0;
  let bits: u32 = 0;
  let here = load<u32>(BITS);
  while (below + here <= half) {
    below += here;
    here = load<u32>(BITS + <usize>(++bits << 2));
  }
  const floor = (1 << bits) >> 1;
  return floor + floor * <i32>(half - below) / <i32>here + 1;
}

/**
 * Usual size of the grid's samples about `offset`, in grid units: the size that half of some 300 of them lie below, then
 * the mean magnitude of all, limited at three times itself, which is steadier. A third of outliers does little harm.
 */
export function usualSize(base: u32, n: u32, offset: i32): i32 {
  const median = medianSize(base, n, offset);
  // Every fourth is enough for the limit, which matters little.
  const some = limitedSize(base, n, 4, offset, 3 * (median + (median >> 3)));
  return limitedSize(base, n, 1, offset, 3 * some);
}
/** Standard deviation of white noise of this usual size. */
export function deviationOf(size: i32): f32 { return <f32>size / LIMITED_MEAN; }

/** Mean of the samples limited about `middle`. */
function limitedMean(base: u32, n: u32, middle: i32, limit: i32): i32 {
  let sum: i64 = 0;
  for (let i: u32 = 0; i < n; i++) {
    const x = load<i32>(base + i * 4) - middle;
    sum += max(-limit, min(limit, x));
  }
  return middle + <i32>(sum / n);
}

/** Value that half of some 300 samples lie below, by halving the span between smallest and largest. */
function median(base: u32, n: u32): i32 {
  let low = load<i32>(base);
  let high = low;
  const stride = 1 + n / 320;
  const some = (n + stride - 1) / stride;
  for (let i: u32 = 0; i < n; i += stride) {
    const x = load<i32>(base + i * 4);
    low = min(low, x);
    high = max(high, x);
  }
  while (high - low > 4) {
    const middle = low + ((high - low) >> 1);
    let below: u32 = 0;
    for (let i: u32 = 0; i < n; i += stride) below += u32(load<i32>(base + i * 4) < middle);
    if (below * 2 > some) high = middle;
    else low = middle;
  }
  return low;
}

/** Takes a robust mean out of a channel: the median, then the mean of what is near it. */
function removeOffset(base: u32, n: u32): void {
  let middle = median(base, n);
  for (let round = 0; round < 2; round++) middle = limitedMean(base, n, middle, LIMIT_SIZES * usualSize(base, n, middle));
  for (let i: u32 = 0; i < n; i++) store<i32>(base + i * 4, load<i32>(base + i * 4) - middle);
}

/** Takes offset and drift out of a channel. */
function removeLine(base: u32, n: u32, limit: i32): void {
  let sum: i64 = 0;
  let sums: i64 = 0;
  for (let i: u32 = 0; i < n; i++) {
    sum += max(-limit, min(limit, load<i32>(base + i * 4)));
    sums += sum;
  }
  const centre = <i32>(n >> 1);
  const middle = <i32>(sum / n);
  // The sum of the running sums is the sum of x (n - i): the moment without a multiplication per sample.
  const moment = sum * <i64>(n - centre) - sums;
  const cube = <f32>n * <f32>n * <f32>n / 12;
  // Slope per sample in 2^-12 grid units.
  const slope = <i32>max<f32>(-524288, min<f32>(524288, <f32>moment * 4096 / cube));
  let line = -slope * centre;
  for (let i: u32 = 0; i < n; i++) {
    store<i32>(base + i * 4, load<i32>(base + i * 4) - middle - (line >> 12));
    line += slope;
  }
}

/** Amplitudes of the last projection, grid units. */
let cosinePart: f32 = 0;
let sinePart: f32 = 0;
/** Cosine and sine, 16384 = 1. */
function cosine14(phase: u32): i32 { return cosine(phase) >> 1; }
function sine14(phase: u32): i32 { return cosine14(phase - QUARTER_TURN); }
/** Samples over which a sinusoid is turned on from sample to sample before its table is asked again. */
const TURNED: u32 = 8;

/** Projects limited samples from `from` to `to` on one sinusoid. @param step - its phase advance per sample */
function project(base: u32, from: u32, to: u32, step: u32, limit: i32): void {
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
  cosinePart = <f32>c * scale;
  sinePart = <f32>s * scale;
}

/** Phase advance of the fundamental per grid sample, a turn is 2^32. */
export let humStep: u32 = 0;
/** Samples per block of the search, blocks. */
let blockSamples: u32 = 0;
let blocks: u32 = 0;
@inline function blockAt(channel: u32, block: u32): u32 { return WORK + (channel * blocks + block) * 8; }

/** Phase advance per sample of a frequency. */
@inline function stepOf(frequency_Hz: f32): u32 { return <u32>(frequency_Hz / gridRate_Hz * FULL_TURN); }

/** Mixes every channel down from the middle of the range into blocks of about 20 ms, weighted to vanish at both ends. */
function mixDown(): void {
  blockSamples = <u32>max<f32>(1, nearest(gridRate_Hz * <f32>0.02));
  blocks = min<u32>(gridCount / blockSamples, 1000 / gridChannels);
  const step = stepOf(HUM_MIDDLE_Hz);
  const windowStep = <u32>(FULL_TURN / <f32>blocks);
  for (let c: u32 = 0; c < gridChannels; c++) {
    const base = gridChannel(c);
    const limit = LIMIT_SIZES * usualSize(base, gridCount, 0);
    for (let k: u32 = 0; k < blocks; k++) {
      project(base, k * blockSamples, (k + 1) * blockSamples, step, limit);
      const fall: i32 = 32768 - cosine(windowStep * k + (windowStep >> 1));
      const window = <f32>fall * <f32>1.52587890625e-5;
      store<i32>(blockAt(c, k), <i32>nearest(cosinePart * window));
      store<i32>(blockAt(c, k), <i32>nearest(sinePart * window), 4);
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

/** Best frequency between `from` and `to` in steps of `step_Hz`, refined by the parabola through the three best points. */
function searchFrequency(from: f32, to: f32, step_Hz: f32): f32 {
  let best: f32 = -1;
  let bestAt = from;
  for (let f = from; f <= to; f += step_Hz) {
    const power = powerAt(f);
    if (power > best) {
      best = power;
      bestAt = f;
    }
  }
  const low = powerAt(bestAt - step_Hz);
  const high = powerAt(bestAt + step_Hz);
  const bend: f32 = <f32>2 * best - low - high;
  if (bend <= 0) return bestAt;
  return bestAt + step_Hz * max<f32>(-1, min<f32>(1, (high - low) / (<f32>2 * bend)));
}

/** Finds the mains frequency from all channels together (their offsets are out already). */
function findFrequency(): f32 {
  mixDown();
  const duration_s = <f32>(blocks * blockSamples) / gridRate_Hz;
  const coarse = min<f32>(2, <f32>0.6 / duration_s);
  const first = searchFrequency(HUM_MIN_Hz, HUM_MAX_Hz, coarse);
  const second = searchFrequency(first - coarse / 2, first + coarse / 2, coarse / 8);
  return max(HUM_MIN_Hz, min(HUM_MAX_Hz, second));
}

/** Amplitude of the fundamental of the channel that was cleaned last, volts. */
export let humAmplitude_V: f32 = 0;
/** Flux that the hum may still pretend in that channel, webers: where it changed, and what of it was left. */
export let humLeft_Wb: f32 = 0;
/** Sum of the sizes of all changes of the fundamental that were found, grid units. */
let jumps: f32 = 0;
/** Usual size of what is left in that channel, grid units. */
export let cleanSize: i32 = 0;

/** Takes offset, drift and hum out of all channels of the grid. Call before cleanChannel. */
export function findHum(): void {
  for (let c: u32 = 0; c < gridChannels; c++) removeOffset(gridChannel(c), gridCount);
  humStep = gridRate_Hz < RATE_MIN_Hz ? 0 : stepOf(findFrequency());
  if (humStep != 0) refineFrequency();
  fillTurns();
}

// ---------------------------------------------------------------- one period of the hum, all its harmonics at once

/** Mains periods that are looked at one by one: 20 bytes each at WORK. */
const PERIODS_MAX: u32 = 360;
/** Points of a period. The periods of the search for steps are not needed any more when this is. */
const POINTS: u32 = 128;
const POINTS_bits: u32 = 7;
/** Samples added up by their phase, POINTS of them; then two periods of a model, each with its first point again at the end. */
const FOLD: u32 = WORK;
const WAVE: u32 = FOLD + POINTS * 4;
const OTHER_WAVE: u32 = WAVE + (POINTS + 1) * 4;
/** Amplitudes of a stretch's harmonics, 16ths of a grid unit, 2 words each behind the periods; the last is what removeHum fits. */
const WHOLE: u32 = 3;
@inline function partAt(stretch: u32, k: u32): u32 { return WORK + PERIODS_MAX * 20 + 24 + (stretch * HARMONICS + k - 1) * 8; }

/** Cosine of each half point, 16384 = 1. */
const TURNS: u32 = WORK + PERIODS_MAX * 20 + 24 + (WHOLE + 1) * HARMONICS * 8;
@inline function turnedBy(halfPoints: u32): i32 { return load<i16>(TURNS + (halfPoints & 2 * POINTS - 1) * 2); }
function fillTurns(): void {
  for (let i: u32 = 0; i < 2 * POINTS; i++) store<i16>(TURNS + i * 2, <i16>cosine14(i << (31 - POINTS_bits)));
}

/** Samples of one period of the hum. */
@inline function humPeriod(): f32 { return FULL_TURN / <f32>humStep; }

/**
 * Fits harmonics to the whole periods from `from` to `to`, all in one pass: the limited samples are added up by their
 * phase, and the harmonics are those of the sums. Below half the grid's rate only; the others become 0.
 */
function fitHum(base: u32, from: u32, to: u32, size: i32, stretch: u32, harmonics: u32): void {
  const period = humPeriod();
  // Whole but for the sample that rounding may have taken off.
  const whole = <u32>nearest(<f32><u32>((<f32>(to - from) + 1) / period) * period);
  const n = whole > 0 ? min(whole, to - from) : to - from;
  const limit = LIMIT_SIZES * size;
  const shift = roomFor(limit, n);
  memory.fill(FOLD, 0, POINTS * 4);
  let phase = humStep * from;
  for (let at = base + from * 4, end = at + n * 4; at < end; at += 4) {
    const bin = FOLD + ((phase >>> (32 - POINTS_bits)) << 2);
    store<i32>(bin, load<i32>(bin) + (max(-limit, min(limit, load<i32>(at))) >> shift));
    phase += humStep;
  }
  let most: i32 = 0;
  for (let b: u32 = 0; b < POINTS; b++) most = max(most, abs(load<i32>(FOLD + b * 4)));
  let down: i32 = 0;
  while ((most >> down) > 32767) down++;
  const scale = <f32>(1 << shift) * <f32>(1 << down) / (4 * <f32>n);
  for (let k: u32 = 1; k <= harmonics; k++) {
    let c: i32 = 0;
    let s: i32 = 0;
    if (humStep <= 0x70000000 / k) {
      for (let i: u32 = 0; i < POINTS; i++) {
        const x = load<i32>(FOLD + i * 4) >> down;
        // The middle of the point's phases.
        const turn = k * (2 * i + 1);
        c += (x * turnedBy(turn)) >> 7;
        s += (x * turnedBy(turn - POINTS / 2)) >> 7;
      }
    }
    store<i32>(partAt(stretch, k), <i32>(<f32>c * scale));
    store<i32>(partAt(stretch, k), <i32>(<f32>s * scale), 4);
  }
}

/** Draws one period of what was fitted to a stretch. */
function drawWave(wave: u32, stretch: u32, harmonics: u32): void {
  memory.fill(wave, 0, POINTS * 4);
  for (let k: u32 = 1; k <= harmonics; k++) {
    let a = load<i32>(partAt(stretch, k));
    let b = load<i32>(partAt(stretch, k), 4);
    if ((a | b) == 0) continue;
    let left: i32 = 18;
    for (; max(abs(a), abs(b)) > 32767; a >>= 1, b >>= 1) left--;
    for (let i: u32 = 0; i < POINTS; i++) {
      const at = wave + i * 4;
      const turn = 2 * k * i;
      store<i32>(at, load<i32>(at) + ((a * turnedBy(turn) + b * turnedBy(turn - POINTS / 2)) >> left));
    }
  }
  store<i32>(wave + POINTS * 4, load<i32>(wave));
}
/** A drawn period at a phase. */
@inline function waveAt(wave: u32, phase: u32): i32 {
  const at = wave + ((phase >>> (32 - POINTS_bits)) << 2);
  const low = load<i32>(at);
  return low + (((load<i32>(at, 4) - low) * <i32>((phase >>> (25 - POINTS_bits)) & 127)) >> 7);
}
/** Takes what was fitted to a stretch out of the samples from `from` to `to`. */
function takeOut(base: u32, from: u32, to: u32, stretch: u32, harmonics: u32): void {
  drawWave(WAVE, stretch, harmonics);
  let phase = humStep * from;
  for (let at = base + from * 4, end = base + to * 4; at < end; at += 4) {
    store<i32>(at, load<i32>(at) - waveAt(WAVE, phase));
    phase += humStep;
  }
}

/** Takes the harmonics of the hum that stand in the samples from `from` to `to` out of them. */
function removeHum(base: u32, from: u32, to: u32, size: i32, harmonics: u32): void {
  if (humStep == 0) return;
  const deviation = deviationOf(size);
  fitHum(base, from, to, size, WHOLE, harmonics);
  for (let k = HARMONICS_ALWAYS + 1; k <= harmonics; k++) {
    const at = partAt(WHOLE, k);
    if (powerOf(at) * <f32>(to - from) < 24 * deviation * deviation) store<u64>(at, 0);
  }
  takeFitOut(base, from, to, harmonics);
}
/** Takes the last fit out of the samples from `from` to `to`, and keeps count of its fundamental. */
function takeFitOut(base: u32, from: u32, to: u32, harmonics: u32): void {
  takeOut(base, from, to, WHOLE, harmonics);
  humCosine += partOf(partAt(WHOLE, 1));
  humSine += partOf(partAt(WHOLE, 1) + 4);
}
/** Amplitude, grid units. */
@inline function partOf(at: u32): f32 { return <f32>load<i32>(at) / 16; }
function powerOf(at: u32): f32 { return partOf(at) * partOf(at) + partOf(at + 4) * partOf(at + 4); }
let humCosine: f32 = 0;
let humSine: f32 = 0;

/** Deviation of white noise, grid units: from second differences, which hardly see hum and pulses. @param usual - size */
function whiteDeviation(base: u32, n: u32, usual: i32): f32 {
  let size = 3 * usual;
  for (let round = 0; round < 4; round++) {
    const limit = 3 * size;
    // Every fourth is enough for the limit.
    const stride: u32 = round < 3 ? 4 : 1;
    const shift = roomFor(limit, n);
    let sum: i32 = 0;
    let count: i32 = 0;
    for (let i: u32 = 1; i + 1 < n; i += stride) {
      const at = base + i * 4;
      sum += min(limit, abs(load<i32>(at - 4) - 2 * load<i32>(at) + load<i32>(at + 4))) >> shift;
      count++;
    }
    size = (sum / count << shift) + 1;
  }
  return <f32>size / (LIMITED_MEAN * <f32>2.4494898);
}

// ---------------------------------------------------------------- hum that changes when a hand comes or goes

/** One mains period as a phasor, and the sums up to it: 5 words at WORK + k * 20. */
@inline function periodAt(k: u32): u32 { return WORK + k * 20; }
/** Noise this much above white noise may be hum that changed. */
const STEPS_SHOW: f32 = 1.06;
/** Shortest stretch of unchanged hum, in periods. */
const STRETCH: u32 = 2;

/** Spread of the phasors of periods a to b (b excluded) about their mean. */
function spread(a: u32, b: u32): f32 {
  const n = <f32>(b - a);
  const re = load<f32>(periodAt(b), 8) - load<f32>(periodAt(a), 8);
  const im = load<f32>(periodAt(b), 12) - load<f32>(periodAt(a), 12);
  return load<f32>(periodAt(b), 16) - load<f32>(periodAt(a), 16) - (re * re + im * im) / n;
}

/** Periods of the grid, and samples of one. */
let periods: u32 = 0;
let period: f32 = 0;
@inline function periodStart(k: u32): u32 { return <u32>(<f32>k * period); }

/** Phasors of the fundamental, one per mains period. */
function findPhasors(base: u32, n: u32, size: i32): void {
  period = FULL_TURN / <f32>humStep;
  periods = min<u32>(PERIODS_MAX, <u32>(<f32>n / period));
  for (let k: u32 = 0; k < periods; k++) {
    project(base, periodStart(k), periodStart(k + 1), humStep, LIMIT_SIZES * size);
    store<f32>(periodAt(k), cosinePart);
    store<f32>(periodAt(k), sinePart, 4);
  }
}

/** Turn of the phasors from one period to the next: its two products, and its mean angle over the channels so far. */
let along: f32 = 0;
let across: f32 = 0;
/** Adds the turns of the channel's phasors that lie within `reach` of `middle`. @returns mean distance from middle */
function addTurns(middle: f32, reach: f32): f32 {
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
  return weight > 0 ? distance / weight : 0;
}

/**
 * Corrects the frequency by how the phasors turn from one period to the next. A pulse's two errors cancel; the turn
 * at a step of the hum stands out and is left away.
 */
function refineFrequency(): void {
  for (let round = 0; round < 2; round++) {
    let allAlong: f32 = 0;
    let allAcross: f32 = 0;
    for (let c: u32 = 0; c < gridChannels; c++) {
      findPhasors(gridChannel(c), gridCount, usualSize(gridChannel(c), gridCount, 0));
      let middle: f32 = 0;
      let reach: f32 = 1;
      for (let pass = 0; pass < 3; pass++) {
        along = 0;
        across = 0;
        const distance = addTurns(middle, reach);
        if (along <= 0) break;
        middle = across / along;
        reach = <f32>2.5 * distance + <f32>1e-4;
      }
      allAlong += max<f32>(0, along);
      allAcross += along > 0 ? across : 0;
    }
    if (allAlong <= 0 || abs(allAcross) > <f32>0.3 * allAlong) return;
    humStep = <u32>(<i32>humStep + <i32>(allAcross / allAlong / period * TURN_PER_RADIAN));
  }
}
const TURN_PER_RADIAN: f32 = 683565275.6;

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
 * Whether what was fitted to a stretch may be hum: not far more than that of the whole capture and than hum ever is,
 * or it is the touch.
 */
function isHum(stretch: u32): bool {
  const most = max<f32>(HUM_MOST_V / GRID_V, HUM_TIMES * sqrt<f32>(humCosine * humCosine + humSine * humSine));
  let power: f32 = 0;
  for (let k: u32 = 1; k <= MODELLED; k++) power += powerOf(partAt(stretch, k));
  return power <= most * most;
}
const HUM_MOST_V: f32 = 0.03;
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
/** The samples beside a step hold a mixture of both sides: what the step itself explains in them is dropped. */
function smoothStep(base: u32, n: u32, stretch: u32, at: u32): void {
  drawBeside(stretch);
  for (let i = at > 0 ? at - 1 : 0; i < min(n, at + 1); i++) {
    const jump = abs(waveAt(WAVE, humStep * i) - waveAt(OTHER_WAVE, humStep * i));
    if (abs(load<i32>(base + i * 4)) <= jump) store<i32>(base + i * 4, 0);
  }
}

/**
 * Refits the hum where its amplitude or phase steps: one or two steps, where they explain much more than noise.
 * @returns whether there were any
 */
function removeSteps(base: u32, n: u32, size: i32, white: f32): bool {
  findPhasors(base, n, size);
  if (periods < 2 * STRETCH) return false;
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
  // Noise in one phasor, both parts: 4 s^2 / samples.
  const noise = <f32>4 * white * white / period;
  const none = spread(0, periods);
  const worth: f32 = <f32>30 * noise;
  if (none < worth) return false;
  let best = none;
  let first: u32 = 0;
  let second: u32 = periods;
  for (let a: u32 = STRETCH; a + STRETCH <= periods; a++) {
    const one = spread(0, a) + spread(a, periods);
    if (one < best) {
      best = one;
      first = a;
      second = periods;
    }
  }
  const single = best;
  for (let a: u32 = STRETCH; single > worth && a + 2 * STRETCH <= periods; a++) {
    const head = spread(0, a);
    if (head >= <f32>0.6 * single) break;
    for (let b = a + STRETCH; b + STRETCH <= periods; b++) {
      const two = head + spread(a, b) + spread(b, periods);
      if (two < best && two < <f32>0.6 * single && single - two > worth) {
        best = two;
        first = a;
        second = b;
      }
    }
  }
  if (first == 0 || none - best < worth || best > <f32>0.7 * none) return false;
  fitStretch(base, 0, 0, first);
  fitStretch(base, 1, first, second);
  if (second < periods) fitStretch(base, 2, second, periods);
  if (!isHum(0) || !isHum(1) || (second < periods && !isHum(2))) return false;
  jumps += partDistance(0, 1);
  if (second < periods) jumps += partDistance(1, 2);
  const from = findStep(base, n, 0, periodStart(first));
  const to = second < periods ? max(from, findStep(base, n, 1, periodStart(second))) : n;
  takeOut(base, 0, from, 0, MODELLED);
  takeOut(base, from, to, 1, MODELLED);
  if (to < n) takeOut(base, to, n, 2, MODELLED);
  smoothStep(base, n, 0, from);
  if (to < n) smoothStep(base, n, 1, to);
  if (<f32>from > period) removeHum(base, 0, from, stretchSize(base, 0, from), HARMONICS);
  if (<f32>(to - from) > period) removeHum(base, from, to, stretchSize(base, from, to), HARMONICS);
  if (<f32>(n - to) > period) removeHum(base, to, n, stretchSize(base, to, n), HARMONICS);
  return true;
}

/** Takes drift and hum out of one channel; leaves humAmplitude_V and cleanSize. */
export function cleanChannel(channel: u32): void {
  const base = gridChannel(channel);
  const n = gridCount;
  humCosine = 0;
  humSine = 0;
  jumps = 0;
  let size = usualSize(base, n, 0);
  for (let sweep = 0; sweep < 3; sweep++) {
    removeLine(base, n, LIMIT_SIZES * size);
    removeHum(base, 0, n, size, sweep == 1 ? HARMONICS : HARMONICS_ALWAYS);
    size = usualSize(base, n, 0);
  }
  humAmplitude_V = sqrt<f32>(humCosine * humCosine + humSine * humSine) * GRID_V;
  const white = whiteDeviation(base, n, size);
  for (let pass = 0; pass < 2 && humStep != 0 && deviationOf(size) > STEPS_SHOW * white; pass++) {
    if (!removeSteps(base, n, size, white)) break;
    size = usualSize(base, n, 0);
    removeLine(base, n, LIMIT_SIZES * size);
    size = usualSize(base, n, 0);
  }
  cleanSize = size;
  unrest = deviationOf(size) / max<f32>(2, white);
  // A sinusoid of amplitude A has a flux of A / (2 pi f).
  const perWeber = <f32>humStep / FULL_TURN * gridRate_Hz * <f32>6.2831853;
  humLeft_Wb = humStep == 0 ? 0 : (CHANGE_SHARE * jumps + LEFT_TIMES * leftOver(base, n, size, white)) * GRID_V / perWeber;
}

/** Noise this many times the white noise is no noise: something moves through most of the capture. */
export const MOVES: f32 = 4;
/** What is left of the channel cleaned last, as multiples of its white noise. */
export let unrest: f32 = 0;
/** Seconds before the trigger that may already move, and the shortest time before that to clean by. */
const LEAD_s: f32 = 0.01;
const BEFORE_s: f32 = 0.0395;

/**
 * Cleans a channel that moves nearly all the time by what came before the trigger: offset and hum are those of the time
 * before. The grid of the channel is built afresh before.
 * @returns whether there was enough time before, and nothing moved in it
 */
export function cleanByStart(channel: u32): bool {
  const base = gridChannel(channel);
  const n = gridCount;
  const before = (-gridStart_s - LEAD_s) * gridRate_Hz;
  if (before < BEFORE_s * gridRate_Hz || before > <f32>n) return false;
  const quiet = <u32>before;
  humCosine = 0;
  humSine = 0;
  let size: i32 = 0;
  for (let sweep = 0; sweep < 3; sweep++) {
    const middle = limitedMean(base, quiet, 0, 0x3fffffff);
    for (let i: u32 = 0; i < n; i++) store<i32>(base + i * 4, load<i32>(base + i * 4) - middle);
    size = usualSize(base, quiet, 0);
    if (humStep == 0) continue;
    fitHum(base, 0, quiet, size, WHOLE, HARMONICS_ALWAYS);
    takeFitOut(base, 0, n, HARMONICS_ALWAYS);
    size = usualSize(base, quiet, 0);
  }
  cleanSize = size;
  const amplitude = sqrt<f32>(humCosine * humCosine + humSine * humSine);
  humAmplitude_V = amplitude * GRID_V;
  // Carried on from before, it may get out of step.
  humLeft_Wb = humStep == 0 ? 0 : amplitude * GRID_V / (<f32>humStep / FULL_TURN * gridRate_Hz * <f32>6.2831853);
  unrest = deviationOf(size) / max<f32>(2, whiteDeviation(base, quiet, size));
  return unrest < MOVES;
}

/** Share of a change of the hum that its fit may miss, and times what stands in all periods. */
const CHANGE_SHARE: f32 = 0.15;
const LEFT_TIMES: f32 = 1;
/** Share of the periods, the ones with most in them, that may be the touch. */
const TOUCHED: u32 = 4;

/** Amplitude of what of the hum is left in most periods; 0 where noise explains it. */
function leftOver(base: u32, n: u32, size: i32, white: f32): f32 {
  findPhasors(base, n, size);
  if (periods == 0) return 0;
  let power: f32 = 0;
  for (let k: u32 = 0; k < periods; k++) {
    const x = load<f32>(periodAt(k));
    const y = load<f32>(periodAt(k), 4);
    store<f32>(periodAt(k), x * x + y * y);
    power += x * x + y * y;
  }
  const touched = (periods + TOUCHED - 1) / TOUCHED;
  for (let round: u32 = 0; round < touched; round++) {
    let most: u32 = 0;
    for (let k: u32 = 1; k < periods; k++) if (load<f32>(periodAt(k)) > load<f32>(periodAt(most))) most = k;
    power -= load<f32>(periodAt(most));
    store<f32>(periodAt(most), 0);
  }
  const mean = max<f32>(0, power) / <f32>max<u32>(1, periods - touched);
  // Without its largest quarter a mean of exponential deviates is 0.54 of the whole, give or take 0.6 / sqrt(count).
  const noise = <f32>4 * white * white / period;
  return mean > noise * (<f32>0.54 + <f32>2.4 / sqrt<f32>(<f32>periods)) ? sqrt<f32>(mean) : 0;
}
