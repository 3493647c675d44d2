/** Sizes and means of a channel that outliers hardly move: every sample counts for a few times the usual size at most (Huber's way). */
import { channelOf, gridChannel, gridCount, leastDeviation, nextStep } from './grid';

/** Samples are limited at this many usual sizes in every fit. */
export const LIMIT_SIZES: i32 = 3;
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
  // Where most samples are on one step of a coarse converter, those on the next are its noise.
  const next = nextStep(channelOf(base));
  // Every fourth is enough for the limit, which matters little.
  const some = limitedSize(base, n, 4, offset, max(3 * (median + (median >> 3)), next));
  return limitedSize(base, n, 1, offset, max(3 * some, next));
}
/** Standard deviation of white noise of this usual size. */
export function deviationOf(size: i32): f32 { return <f32>size / LIMITED_MEAN; }

/** Mean of the samples limited about `middle`. */
export function limitedMean(base: u32, n: u32, middle: i32, limit: i32): i32 {
  let sum: i64 = 0;
  for (let i: u32 = 0; i < n; i++) {
    const x = load<i32>(base + i * 4) - middle;
    sum += max(-limit, min(limit, x));
  }
  return middle + <i32>(sum / n);
}

/** Value that half of some 300 samples lie below, by halving the span between smallest and largest. */
export function median(base: u32, n: u32): i32 {
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

/** Deviation of white noise, grid units: from second differences, which hardly see hum and pulses; no less than rounding makes. @param usual - size */
export function whiteDeviation(base: u32, n: u32, usual: i32): f32 {
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
  return max(leastDeviation(channelOf(base)), <f32>size / (LIMITED_MEAN * <f32>2.4494898));
}
/** The same of a whole channel while its hum is still in it. */
export function whiteOf(channel: u32): f32 {
  const base = gridChannel(channel);
  return whiteDeviation(base, gridCount, usualSize(base, gridCount, 0));
}
