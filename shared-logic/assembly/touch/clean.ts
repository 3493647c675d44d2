/**
 * What is not the touch: offset, drift and mains hum, fitted to the whole grid and taken out of it. The fit limits
 * each sample to a few times the usual size (Huber's way), so that a pulse that stands out weighs next to nothing.
 */
import { GRID_V, gridChannel, gridChannels, gridCount, gridRate_Hz, gridStart_s, leastDeviation } from './grid';
import { blankGaps, missing } from './bursts';
import {
  HARMONICS, HARMONICS_ALWAYS, WHOLE, fillTurns, fitHum, humAmplitude, humBegin, partAt, powerOf, removeHum, takeFitOut,
} from './harmonics';
import { NO_STEPS, removeSteps } from './hum-steps';
import {
  FULL_TURN, HUM_Hz, OTHER_HUM_Hz, findMains, findPhasors, humStep, period, periodAt, periods, setHum, takeHum,
} from './mains';
import { Bent, fillMeans, meanCount, meanLength, meansBegin, rowAt, takeParabola } from './means';
import { LIMIT_SIZES, deviationOf, limitedMean, median, usualSize, whiteDeviation } from './sizes';

/** What cleaning found in a channel. */
@unmanaged export class Cleaned {
  /** Amplitude of the hum's fundamental, volts. */
  hum_V: f32;
  /** Flux that the hum may still pretend, webers: where it changed, and what of it was left. */
  humLeft_Wb: f32;
  /** Usual size of what is left, grid units. */
  size: i32;
  /** What is left, as multiples of its white noise. */
  unrest: f32;
  /** Samples by which the channel was cleaned, to one beyond the last; 0 and 0: all. */
  quietFrom: u32;
  quietTo: u32;
}

/** Takes a robust mean out of a channel: the median, then the mean of what is near it; what is lost in gaps is 0 then. */
export function removeOffset(channel: u32): void {
  const base = gridChannel(channel);
  const n = gridCount;
  let middle = median(base, n);
  for (let round = 0; round < 2; round++) middle = limitedMean(base, n, middle, LIMIT_SIZES * usualSize(base, n, middle));
  for (let i: u32 = 0; i < n; i++) store<i32>(base + i * 4, load<i32>(base + i * 4) - middle);
  blankGaps(channel);
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

/** Takes offset, drift and hum out of all channels of the grid. Call before cleanChannel. */
export function findHum(): void {
  for (let c: u32 = 0; c < gridChannels; c++) removeOffset(c);
  findMains();
  fillTurns();
}

/** Noise this much above white noise may be hum that changed. */
const STEPS_SHOW: f32 = 1.06;
/** Takes drift and hum out of one channel. */
export function cleanChannel(channel: u32, into: Cleaned): void {
  const base = gridChannel(channel);
  const n = gridCount;
  humBegin();
  let jumps: f32 = 0;
  let size = usualSize(base, n, 0);
  for (let sweep = 0; sweep < 3; sweep++) {
    removeLine(base, n, LIMIT_SIZES * size);
    removeHum(base, 0, n, size, sweep == 1 ? HARMONICS : HARMONICS_ALWAYS);
    blankGaps(channel);
    size = usualSize(base, n, 0);
  }
  into.hum_V = humAmplitude() * GRID_V;
  const white = whiteDeviation(base, n, size);
  for (let pass = 0; pass < 2 && humStep != 0 && deviationOf(size) > STEPS_SHOW * white; pass++) {
    const stepped = removeSteps(base, n, size, white);
    if (stepped == NO_STEPS) break;
    jumps += stepped;
    size = usualSize(base, n, 0);
    removeLine(base, n, LIMIT_SIZES * size);
    blankGaps(channel);
    size = usualSize(base, n, 0);
  }
  into.quietFrom = 0;
  into.quietTo = 0;
  into.size = <i32>(<f32>size * <f32>n / <f32>(n - missing(channel, 0, n)));
  into.unrest = max(leastDeviation(channel), deviationOf(size)) / white;
  // A sinusoid of amplitude A has a flux of A / (2 pi f).
  const perWeber = <f32>humStep / FULL_TURN * gridRate_Hz * <f32>6.2831853;
  into.humLeft_Wb = humStep == 0 ? 0 : (CHANGE_SHARE * jumps + LEFT_TIMES * leftOver(base, n, size, white)) * GRID_V / perWeber;
}

/** Noise this many times the white noise is no noise: something moves through most of the capture. */
export const MOVES: f32 = 4;
/** But where that is hum that the fit missed, a stretch this many times quieter than all of the capture is quiet, if the end is too. */
const QUIETER: i32 = 8;
/** Seconds before the trigger that may already move, and the shortest time to clean by. */
const LEAD_s: f32 = 0.01;
const BEFORE_s: f32 = 0.0395;
/** A quiet stretch is this part of the capture, or the fewest means of it. */
const QUIET_SHARE: u32 = 6;
const MEANS_LEAST: u32 = 3;
/** Of what only drifts no more than this share of its power is left beside the parabola that fits it best. */
const DRIFT_LEFT: f32 = 0.06;

const BENT: Bent = changetype<Bent>(memory.data(offsetof<Bent>()));
/** Whether what moves in a cleaned channel is no more than a parabola: drift. */
export function onlyDrifts(channel: u32): bool {
  meansBegin();
  if (meanCount < 2 * MEANS_LEAST) return true;
  fillMeans(channel);
  takeParabola(channel, BENT);
  return BENT.left < DRIFT_LEFT * BENT.all;
}

/** Finds the stretch whose means differ least. @param into - its quiet stretch is written @returns whether there is one */
function findQuiet(channel: u32, into: Cleaned): bool {
  meansBegin();
  fillMeans(channel);
  const wide = max(MEANS_LEAST, meanCount / QUIET_SHARE);
  let least: f32 = f32.MAX_VALUE;
  for (let k: u32 = 0; k + wide <= meanCount; k++) {
    let low = load<f32>(rowAt(channel, k));
    let high = low;
    for (let j = k + 1; j < k + wide; j++) {
      low = min(low, load<f32>(rowAt(channel, j)));
      high = max(high, load<f32>(rowAt(channel, j)));
    }
    if (high - low >= least) continue;
    least = high - low;
    into.quietFrom = k * meanLength;
    into.quietTo = (k + wide) * meanLength;
  }
  return least < f32.MAX_VALUE;
}

/**
 * Cleans a channel that moves nearly all the time by what came before the trigger, where there was enough time.
 * The grid of the channel is built afresh before.
 * @param all - size of what is left of it, cleaned by all
 * @returns whether nothing moved in that time
 */
export function cleanByStart(channel: u32, all: i32, into: Cleaned): bool {
  const before = (-gridStart_s - LEAD_s) * gridRate_Hz;
  if (before < BEFORE_s * gridRate_Hz || before > <f32>gridCount) return false;
  into.quietFrom = 0;
  into.quietTo = <u32>before;
  return cleanByStretch(channel, all, into);
}
/** The same by the time in which it moves least. */
export function cleanByQuiet(channel: u32, all: i32, into: Cleaned): bool {
  return findQuiet(channel, into) && cleanByStretch(channel, all, into);
}

/** Offset and hum are those of the quiet stretch of `into`. Parameters as of cleanByStart. */
function cleanByStretch(channel: u32, all: i32, into: Cleaned): bool {
  const quietFrom = into.quietFrom;
  const quietTo = into.quietTo;
  const base = gridChannel(channel);
  const n = gridCount;
  const count = quietTo - quietFrom;
  const quiet = base + quietFrom * 4;
  humBegin();
  let size: i32 = 0;
  for (let sweep = 0; sweep < 3; sweep++) {
    const middle = limitedMean(quiet, count, 0, 0x3fffffff);
    for (let i: u32 = 0; i < n; i++) store<i32>(base + i * 4, load<i32>(base + i * 4) - middle);
    size = usualSize(quiet, count, 0);
    if (humStep == 0) continue;
    if (sweep == 0) nameHum(base, quietFrom, quietTo, size);
    fitHum(base, quietFrom, quietTo, size, WHOLE, HARMONICS_ALWAYS);
    takeFitOut(base, 0, n, HARMONICS_ALWAYS);
    blankGaps(channel);
    size = usualSize(quiet, count, 0);
  }
  into.size = size;
  const amplitude = humAmplitude();
  into.hum_V = amplitude * GRID_V;
  // Carried on from there, it may get out of step.
  into.humLeft_Wb = humStep == 0 ? 0 : amplitude * GRID_V / (<f32>humStep / FULL_TURN * gridRate_Hz * <f32>6.2831853);
  into.unrest = max(leastDeviation(channel), deviationOf(size)) / whiteDeviation(quiet, count, size);
  const little = all / QUIETER;
  return into.unrest < MOVES || (size < little && usualSize(base + (n - count) * 4, count, 0) < little);
}

/** What moves may have hidden the mains: where 50 or 60 Hz stands out more in the quiet stretch, it is that. */
function nameHum(base: u32, quietFrom: u32, quietTo: u32, size: i32): void {
  const found = humStep;
  let best = found;
  let most: f32 = 0;
  for (let k = 0; k < 3; k++) {
    if (k > 0) setHum(k == 1 ? HUM_Hz : OTHER_HUM_Hz);
    fitHum(base, quietFrom, quietTo, size, WHOLE, HARMONICS_ALWAYS);
    const power = powerOf(partAt(WHOLE, 1));
    if (power <= (k == 0 ? 0 : NAMED * most)) continue;
    most = power;
    best = humStep;
  }
  takeHum(best);
}
/** So much more power than what was found. */
const NAMED: f32 = 1.2;

/** Share of a change of the hum that its fit may miss, and times what stands in all periods. */
const CHANGE_SHARE: f32 = 0.1;
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
