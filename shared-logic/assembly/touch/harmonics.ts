/** One period of the hum, all its harmonics at once: fitted to a stretch of a channel, drawn, and taken out of it. */
import { WORK } from './grid';
import { FULL_TURN, PERIODS_MAX, cosine14, humStep } from './mains';
import { LIMIT_SIZES, deviationOf, roomFor } from './sizes';

/** Harmonics always taken out; those above, up to HARMONICS, only where they stand out of the noise. */
export const HARMONICS_ALWAYS: u32 = 3;
export const HARMONICS: u32 = 9;
/** Points of a period. The periods of the search for steps are not needed any more when this is. */
const POINTS: u32 = 128;
const POINTS_bits: u32 = 7;
/** Samples added up by their phase, POINTS of them; then two periods of a model, each with its first point again at the end. */
const FOLD: u32 = WORK;
export const WAVE: u32 = FOLD + POINTS * 4;
export const OTHER_WAVE: u32 = WAVE + (POINTS + 1) * 4;
/** Amplitudes of a stretch's harmonics, 16ths of a grid unit, 2 words each behind the periods; the last is what removeHum fits. */
export const WHOLE: u32 = 3;
@inline export function partAt(stretch: u32, k: u32): u32 { return WORK + PERIODS_MAX * 20 + 24 + (stretch * HARMONICS + k - 1) * 8; }

/** Cosine of each half point, 16384 = 1. */
const TURNS: u32 = WORK + PERIODS_MAX * 20 + 24 + (WHOLE + 1) * HARMONICS * 8;
@inline function turnedBy(halfPoints: u32): i32 { return load<i16>(TURNS + (halfPoints & 2 * POINTS - 1) * 2); }
export function fillTurns(): void {
  for (let i: u32 = 0; i < 2 * POINTS; i++) store<i16>(TURNS + i * 2, <i16>cosine14(i << (31 - POINTS_bits)));
}

/** Samples of one period of the hum. */
@inline function humPeriod(): f32 { return FULL_TURN / <f32>humStep; }

/**
 * Fits harmonics to the whole periods from `from` to `to`, all in one pass: the limited samples are added up by their
 * phase, and the harmonics are those of the sums. Below half the grid's rate only; the others become 0.
 */
export function fitHum(base: u32, from: u32, to: u32, size: i32, stretch: u32, harmonics: u32): void {
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
export function drawWave(wave: u32, stretch: u32, harmonics: u32): void {
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
@inline export function waveAt(wave: u32, phase: u32): i32 {
  const at = wave + ((phase >>> (32 - POINTS_bits)) << 2);
  const low = load<i32>(at);
  return low + (((load<i32>(at, 4) - low) * <i32>((phase >>> (25 - POINTS_bits)) & 127)) >> 7);
}
/** Takes what was fitted to a stretch out of the samples from `from` to `to`. */
export function takeOut(base: u32, from: u32, to: u32, stretch: u32, harmonics: u32): void {
  drawWave(WAVE, stretch, harmonics);
  let phase = humStep * from;
  for (let at = base + from * 4, end = base + to * 4; at < end; at += 4) {
    store<i32>(at, load<i32>(at) - waveAt(WAVE, phase));
    phase += humStep;
  }
}

/** Takes the harmonics of the hum that stand in the samples from `from` to `to` out of them. */
export function removeHum(base: u32, from: u32, to: u32, size: i32, harmonics: u32): void {
  if (humStep == 0) return;
  fitStanding(base, from, to, size, harmonics);
  takeFitOut(base, from, to, harmonics);
}
/** Fits the harmonics to the samples from `from` to `to`, as WHOLE; of the higher ones those that stand out of the noise. */
export function fitStanding(base: u32, from: u32, to: u32, size: i32, harmonics: u32): void {
  const deviation = deviationOf(size);
  fitHum(base, from, to, size, WHOLE, harmonics);
  for (let k = HARMONICS_ALWAYS + 1; k <= harmonics; k++) {
    const at = partAt(WHOLE, k);
    if (powerOf(at) * <f32>(to - from) < 24 * deviation * deviation) store<u64>(at, 0);
  }
}
/** Takes the last fit out of the samples from `from` to `to`, and keeps count of its fundamental. */
export function takeFitOut(base: u32, from: u32, to: u32, harmonics: u32): void {
  takeOut(base, from, to, WHOLE, harmonics);
  humCosine += partOf(partAt(WHOLE, 1));
  humSine += partOf(partAt(WHOLE, 1) + 4);
}
/** Amplitude, grid units. */
@inline export function partOf(at: u32): f32 { return <f32>load<i32>(at) / 16; }
export function powerOf(at: u32): f32 { return partOf(at) * partOf(at) + partOf(at + 4) * partOf(at + 4); }

/** Fundamental of all that was taken out of the channel, grid units. */
let humCosine: f32 = 0;
let humSine: f32 = 0;
/** Begins the count of the fundamental. */
export function humBegin(): void {
  humCosine = 0;
  humSine = 0;
}
/** Amplitude of the fundamental taken out since, grid units. */
export function humAmplitude(): f32 { return sqrt<f32>(humCosine * humCosine + humSine * humSine); }
