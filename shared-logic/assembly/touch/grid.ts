/**
 * The working grid of a touch: CAPTURE averaged down to about 2.5 kHz, in units of 2^-22 V, in SCRATCH,
 * with samples over range filled in. CAPTURE itself stays as it is: the host still has to fetch it.
 */
import { CAPTURE_HEAD, CaptureHead, OVERRANGE, SCRATCH } from '../layout';
import { captureChannel } from './capture';

/** Volts of one unit of the grid. */
export const GRID_V: f32 = 2.384185791015625e-7;
/** Aim of the grid's rate: a 2 ms pulse still has five samples. */
const GRID_RATE_Hz: f32 = 2500;
/** Words of SCRATCH that hold the grid; the rest is work space. */
const GRID_WORDS: u32 = 10240;
export const WORK: u32 = SCRATCH + GRID_WORDS * 4;

/** Samples per channel, channels and rate of the grid; time of its first sample. */
export let gridCount: u32 = 0;
export let gridChannels: u32 = 0;
export let gridRate_Hz: f32 = 0;
export let gridStart_s: f32 = 0;
/** Captured samples averaged into one of the grid, at their own rate. */
export let gridStep: u32 = 1;
/** Samples over range in the channel that was built last. */
export let gridOverrange: u32 = 0;

/** Address of a channel's first grid sample. */
@inline export function gridChannel(channel: u32): u32 { return SCRATCH + channel * gridCount * 4; }

/** Deviation that rounding to the converter's steps makes of a channel's samples on the grid, per channel, grid units. */
const ROUNDED: usize = memory.data(24);
/** Units of the grid in one of the capture. */
const GRID_UNITS: i32 = 4;
/** Deviation of an error that is spread evenly over a step: 1 / sqrt 12 of it. */
const EVENLY: f32 = 0.28867513;
/** Keeps the step of a channel's converter, units of the capture; what is averaged is rounded by less. */
export function keepStep(channel: u32, step: i32): void {
  store<f32>(ROUNDED + <usize>(channel * 4), EVENLY * <f32>GRID_UNITS * <f32>step / sqrt<f32>(<f32>gridStep));
}
/** Noise that a channel has for sure, grid units: findBursts of it goes before. */
export function leastDeviation(channel: u32): f32 { return load<f32>(ROUNDED + <usize>(channel * 4)); }
/**
 * Deviation of what rounding leaves of a mean, however long it is, grid units: where the converter's steps drown the noise the same error
 * stands in sample after sample. @param deviation - noise of a sample, grid units
 */
export function lastingRounding(channel: u32, deviation: f32): f32 {
  const least = leastDeviation(channel);
  return deviation > DROWNED * least ? 0 : least * sqrt<f32>(<f32>gridStep);
}
/** Half a step of the converter in deviations of its rounding: no error of a sample, and of no mean of them, is larger. */
export const HALF_STEP_u: f32 = 1.7320508;
/** Noise that is no more than this many times the rounding's. */
const DROWNED: f32 = 1.3;
/** The channel that holds a sample of the grid. @param at - address of it */
export function channelOf(at: u32): u32 { return (at - SCRATCH) / 4 / gridCount; }
/** Samples of a channel this far from the usual may still be on the next step of the converter, grid units. */
export function nextStep(channel: u32): i32 { return <i32>(STEP_DEVIATIONS * leastDeviation(channel)); }
const STEP_DEVIATIONS: f32 = 6;

/** Fixes count and rate of the grid from CAPTURE_HEAD. */
export function gridBegin(): void {
  const h = changetype<CaptureHead>(<usize>CAPTURE_HEAD);
  const rate_Hz = h.rate_Hz / <f32>h.decimation;
  let step: u32 = 1;
  if (rate_Hz > GRID_RATE_Hz) step = <u32>(rate_Hz / GRID_RATE_Hz + <f32>0.3);
  while ((h.sampleCount / step) * h.channelCount > GRID_WORDS) step++;
  gridStep = step;
  gridCount = h.sampleCount / step;
  gridChannels = h.channelCount;
  gridRate_Hz = rate_Hz / <f32>step;
  gridStart_s = h.start_s;
  stretches = 0;
}

/** Stretches over range: channel << 24 | sign << 22 | first grid sample; sign 0 open, 1 positive, 2 negative. */
const STRETCHES_MAX: u32 = 64;
const STRETCHES: usize = memory.data(256);
let stretches: u32 = 0;
/** The first stretch over range among these samples of a channel, as in STRETCHES with channel 0; none = NO_STRETCH. */
export const NO_STRETCH: u32 = 0xffffffff;
export function firstStretch(channel: u32, from: u32, to: u32): u32 {
  let first: u32 = NO_STRETCH;
  let earliest = to;
  for (let k: u32 = 0; k < min(stretches, STRETCHES_MAX); k++) {
    const mark = load<u32>(STRETCHES + <usize>(k * 4));
    const at = mark & 0x3fffff;
    if (mark >> 24 != channel || at < from || at >= earliest) continue;
    earliest = at;
    first = mark & 0xffffff;
  }
  return first;
}

/** Whether a channel has samples over range between two samples of the grid; the channel is built before. */
export function isOver(channel: u32, from: u32, to: u32): bool {
  const base = captureChannel(channel);
  for (let i = from * gridStep; i < to * gridStep; i++) if (load<i32>(base + i * 4) == OVERRANGE) return true;
  return false;
}

/**
 * The sample before a stretch tells the sign when it is CLEAR_SHARE of the largest one, or when it has risen by RISE_SHARE
 * of it within RISE_SAMPLES, and by RISE_TIMES as much as in any other such span of the RISE_LOOK samples before: hum and
 * noise rise too.
 */
const CLEAR_SHARE: f32 = 0.3;
const RISE_SHARE: f32 = 0.025;
const RISE_SAMPLES: u32 = 3;
const RISE_LOOK: u32 = 60;
const RISE_TIMES: i32 = 2;
/** A sample over range was at least this large, units of 2^-20 V: 0.125 V, the smallest range in use. */
const RANGE_MIN: i32 = 131072;

/** What stands for a stretch over range: its middle, its end, the values before and after the middle; sign open. */
let fillMiddle: u32 = 0;
let fillEnd: u32 = 0;
let fillFirst: i32 = 0;
let fillSecond: i32 = 0;
/** 0 open, 1 positive, 2 negative. */
let fillSign: u32 = 0;

/** How much the samples rose before a stretch at `from`; 0 when that says nothing. */
function riseBefore(base: u32, from: u32, large: i32): i32 {
  if (from == 0) return 0;
  const before = load<i32>(base + (from - 1) * 4);
  if (<f32>abs(before) >= CLEAR_SHARE * <f32>large) return before;
  if (from <= RISE_SAMPLES) return 0;
  const earlier = load<i32>(base + (from - 1 - RISE_SAMPLES) * 4);
  if (earlier == OVERRANGE) return 0;
  const rise = before - earlier;
  if (<f32>abs(rise) < RISE_SHARE * <f32>large) return 0;
  let usual: i32 = 0;
  const first = from > RISE_LOOK ? from - RISE_LOOK : 0;
  for (let i = first; i + 3 * RISE_SAMPLES < from; i++) {
    const x = load<i32>(base + i * 4);
    const y = load<i32>(base + (i + RISE_SAMPLES) * 4);
    if (x == OVERRANGE || y == OVERRANGE) return 0;
    usual = max(usual, abs(y - x));
  }
  return abs(rise) >= RISE_TIMES * usual ? rise : 0;
}

/** Bounces end so soon; the edge of a lobe falls to half so soon, and the tail of a coupling later. */
const BOUNCES_s: f32 = 0.03;
const EDGE_s: f32 = 0.01;
/** Whether a stretch that ends at `end` is followed by the edge of a lobe, and by none of the other sign as long as steel bounces. */
function isLastLobe(base: u32, end: u32, n: u32, large: i32): bool {
  const after = load<i32>(base + end * 4);
  const edge = end + <u32>(EDGE_s * gridRate_Hz) * gridStep;
  const to = min(n, end + <u32>(BOUNCES_s * gridRate_Hz) * gridStep);
  let falls = false;
  for (let i = end; i < to; i++) {
    const x = load<i32>(base + i * 4);
    if (x == OVERRANGE || ((x ^ after) < 0 && <f32>abs(x) >= CLEAR_SHARE * <f32>large)) return false;
    falls = falls || (i < edge && abs(x) < abs(after) / 2);
  }
  return falls;
}

/**
 * Fills the stretch over range from `from` on with at least the largest value seen: the sample before saw the first lobe
 * rise and gives the sign; a large one of the other sign after it belongs to a bounce, which takes the second half.
 */
function filling(base: u32, from: u32, n: u32, limit: i32): void {
  let end = from;
  while (end < n && load<i32>(base + end * 4) == OVERRANGE) end++;
  const large = max(limit, RANGE_MIN);
  const after = end < n ? load<i32>(base + end * 4) : 0;
  const rise = riseBefore(base, from, large);
  const sign = rise != 0 ? rise : after;
  const clear = <f32>abs(after) >= CLEAR_SHARE * <f32>large;
  const turns = (sign ^ after) < 0 && clear;
  // What rose between two samples shows as it falls: the last lobe of an arrival goes the way of the first.
  const told = rise != 0 ? rise : clear && isLastLobe(base, end, n, large) ? after : 0;
  fillSign = told == 0 ? 0 : told > 0 ? 1 : 2;
  fillFirst = sign >= 0 ? large : -large;
  fillSecond = turns ? -fillFirst : fillFirst;
  fillMiddle = from + (end - from) / 2;
  fillEnd = end;
}

/** Size of the largest sample in range. */
function largestOf(base: u32, n: u32): i32 {
  let largest: i32 = 0;
  for (let i: u32 = 0; i < n; i++) {
    const x = load<i32>(base + i * 4);
    if (x != OVERRANGE) largest = max(largest, abs(x));
  }
  return largest;
}

/** Builds one channel of the grid. */
export function gridBuild(channel: u32): void {
  const base = captureChannel(channel);
  const step = gridStep;
  const n = gridCount * step;
  let limit: i32 = 0;
  let over: u32 = 0;
  let target = gridChannel(channel);
  let i: u32 = 0;
  fillEnd = 0;
  while (i < n) {
    let sum: i32 = 0;
    for (const end = i + step; i < end; i++) {
      let x = load<i32>(base + i * 4);
      if (x == OVERRANGE) {
        if (over++ == 0) limit = largestOf(base, n);
        if (i >= fillEnd) {
          filling(base, i, n, limit);
          if (stretches < STRETCHES_MAX) store<u32>(STRETCHES + <usize>(stretches * 4), channel << 24 | fillSign << 22 | i / step);
          stretches++;
        }
        x = i < fillMiddle ? fillFirst : fillSecond;
      }
      sum += x;
    }
    store<i32>(target, <i32>((sum * GRID_UNITS) / <i32>step));
    target += 4;
  }
  gridOverrange = over;
}
