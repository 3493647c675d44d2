/**
 * Bursts: while a lead has no contact, its channel hears hum and noise many times those of the rest. Such samples are
 * missing: nothing is fitted to them, and they count as no flux.
 *
 * They are told by the sixth difference of the captured samples, a steep high-pass: white noise grows by sqrt(924) in it,
 * while a pulse of 2 ms at 10 kHz falls to (pi / 20)^6 and a clack's ring of 900 Hz to 3 %. Blocks are judged by the median
 * of its size, which corners of a waveform (a bounce, a fast touch, samples over range) do not move.
 */
import { CAPTURE_HEAD, CaptureHead, MAX_CHANNELS, OVERRANGE } from '../layout';
import { captureChannel } from './capture';
import { WORK, gridChannel, gridChannels, gridCount, gridStep, keepStep } from './grid';

/** Order of the difference. */
const ORDER: u32 = 6;
/** Length of a block; three in a row are the shortest burst that is believed: one of 20 ms has them, two may be the ring of a bounce. */
const BLOCK_s: f32 = 0.005;
const SLOW_BLOCK_s: f32 = 0.01;
const BURST_s: f32 = 0.0145;
const BLOCK_LEAST: u32 = 8;
const BLOCKS_MAX: u32 = 512;
/** Blocks from this length on give every other sample only. */
const EVERY_LEAST: u32 = 100;
/**
 * Times the median of all blocks that a burst stands out. Bursts have 4 to 12 times the noise of the rest; in 200 captures
 * without one no two blocks in a row reach 2.3, in quantised ones too.
 */
const TIMES: f32 = 3;
/**
 * Below SLOW_Hz a bounce, the clack's ring and the mains' harmonics pass the difference: there a burst must outlast the
 * 30 ms of bounces, and stand out further than hum ever changes with the hand.
 */
export const SLOW_Hz: f32 = 6000;
const SLOW_BURST_s: f32 = 0.04;
const SLOW_TIMES: f32 = 3.2;
/**
 * From WHITE_Hz on a rate tells noise from a waveform by itself, whatever moves beside it: in a block of noise, hum in it or not, the
 * median of the sixth difference is 1.1 times its own sweep and more, in one of touch and bounces 0.33 at most (bounces of 3 ms, simulated).
 */
const WHITE_Hz: f32 = 1900;
const WHITE: f32 = 0.7;
const WHITE_BLOCKS: u32 = 2;
/**
 * A ring is no burst, of the coils at a kink or of what was struck. The sixth difference of white noise goes up and down by turns:
 * its neighbours correlate by -6/7, so that 83 of 100 have other signs; of a ring at most twice its frequency over the rate. At least
 * TURNS of 256 have them in a run, and from SLOW_Hz on NOISY of its blocks are even.
 */
const TURNS: u32 = 169;
const NOISY: f32 = 0.65;
/** Contact that goes or comes moves a channel this many times as far as any of so many steps before and after. */
const JUMP: f32 = 6;
const NEAR: u32 = 4;
/** What lasts longer than this share of a capture is no burst: then nobody can tell which part is the rest. */
export const SHARE_MOST: f32 = 0.48;
/** Within a burst a block may stand out by only this share of that. */
const GOES_ON: f32 = 0.6;
/** A burst is as loud all through, within this factor; a ring that passes at a low rate dies. */
const EVEN: f32 = 2.5;
const STEADY: f32 = 1.8;
/**
 * What a waveform that sweeps the converter's range makes of itself, as the median size of the sixth difference over that
 * sweep: the converter's errors up to 0.35 % of it (wide codes, RP2040 data sheet, erratum E11), times 0.6745 sqrt(924); and
 * the ring of the coils at a kink, which a coil beside the touched one has too. A burst is more than any channel's sweep makes.
 */
const SWEPT: f32 = 0.07;
/** Median size of the sixth difference of a converter's rounding alone, in its steps: 0.6745 sqrt(924 / 12). */
const ROUNDING: f32 = 5.92;

/** Bursts of each channel as grid samples: first, and one beyond the last. */
const GAPS_MAX: u32 = 4;
const GAPS: usize = memory.data(192);
const COUNTS: usize = memory.data(24);
@inline function gapAt(channel: u32, k: u32): usize { return GAPS + <usize>((channel * GAPS_MAX + k) * 8); }
@inline export function gapCount(channel: u32): u32 { return load<u32>(COUNTS + <usize>(channel * 4)); }

/**
 * Histogram of sizes, four bins an octave, then the median bin of each block, a byte each; 255 = too few samples; and how many of 256
 * of its differences have another sign than the one before.
 */
const BINS: u32 = 128;
const HISTOGRAM: u32 = WORK;
const MEDIANS: u32 = WORK + BINS * 4;
const TURNED: u32 = MEDIANS + BLOCKS_MAX;
const UNKNOWN: u32 = 255;

/** Bins of the sizes below 256; six octaves further the pattern repeats. The chip has no instruction that finds an octave. */
const SMALL_BINS: u32 = TURNED + BLOCKS_MAX;
function fillBins(): void {
  for (let size: u32 = 0; size < 256; size++) {
    const octave = 31 - clz(size);
    store<u8>(SMALL_BINS + size, <u8>(size < 4 ? size : ((octave - 1) << 2) | ((size >> (octave - 2)) & 3)));
  }
}
@inline function binOf(size: u32): u32 {
  if (size < 1 << 8) return load<u8>(SMALL_BINS + size);
  if (size < 1 << 14) return <u32>load<u8>(SMALL_BINS + (size >> 6)) + 24;
  if (size < 1 << 20) return <u32>load<u8>(SMALL_BINS + (size >> 12)) + 48;
  if (size < 1 << 26) return <u32>load<u8>(SMALL_BINS + (size >> 18)) + 72;
  return <u32>load<u8>(SMALL_BINS + (size >> 24)) + 96;
}
/** Middle of a bin. */
function sizeOf(bin: u32): f32 {
  if (bin < 4) return <f32>bin;
  const width = <f32>(1 << ((bin >> 2) - 1));
  return (<f32>(4 | bin & 3) + <f32>0.5) * width;
}
/** The bin that half of the histogram's `total` lie below; clears it. */
function medianBin(total: u32): u32 {
  let below: u32 = 0;
  let bin: u32 = 0;
  while (bin < BINS - 1) {
    below += load<u32>(HISTOGRAM + bin * 4);
    if (below * 2 >= total) break;
    bin++;
  }
  memory.fill(HISTOGRAM, 0, BINS * 4);
  return bin;
}
@inline function countSize(size: u32): void {
  const at = HISTOGRAM + binOf(size) * 4;
  store<u32>(at, load<u32>(at) + 1);
}

/** Smallest step between two samples that differ: the converter's, where it is coarse. */
let smallest: i32 = 0;
/** Finds the median size of the sixth difference in each block. @returns the number of blocks */
function measureBlocks(base: u32, n: u32, block: u32): u32 {
  let d0: i32 = 0;
  let d1: i32 = 0;
  let d2: i32 = 0;
  let d3: i32 = 0;
  let d4: i32 = 0;
  let d5: i32 = 0;
  let last: i32 = 0;
  let run: u32 = 0;
  smallest = i32.MAX_VALUE;
  fillBins();
  memory.fill(HISTOGRAM, 0, BINS * 4);
  let blocks: u32 = 0;
  for (let i: u32 = 0; i + block <= n && blocks < BLOCKS_MAX; blocks++) {
    let valid: u32 = 0;
    let turns: u32 = 0;
    let all: u32 = 0;
    for (const end = i + block; i < end; i++) {
      const x = load<i32>(base + i * 4);
      if (x == OVERRANGE) {
        run = 0;
        continue;
      }
      const e1 = x - d0;
      const e2 = e1 - d1;
      const e3 = e2 - d2;
      const e4 = e3 - d3;
      const e5 = e4 - d4;
      const e6 = e5 - d5;
      d0 = x;
      d1 = e1;
      d2 = e2;
      d3 = e3;
      d4 = e4;
      d5 = e5;
      if (run > 0 && e1 != 0) smallest = min(smallest, abs(e1));
      if (run++ < ORDER) continue;
      turns += <u32>(e6 ^ last) >> 31;
      last = e6;
      all++;
      // Every other one is enough for a median.
      if (block >= EVERY_LEAST && (i & 1) != 0) continue;
      countSize(abs(e6));
      valid++;
    }
    const bin = medianBin(valid);
    store<u8>(MEDIANS + blocks, <u8>(valid * 4 > block ? bin : UNKNOWN));
    store<u8>(TURNED + blocks, <u8>((turns << 8) / (all + 1)));
  }
  return blocks;
}

/** Whether a run is as loud in its second half as in its first. */
function isSteady(first: u32, end: u32): bool {
  let before: f32 = 0;
  let after: f32 = 0;
  for (let i: u32 = 0; i < (end - first) / 2; i++) {
    before += sizeOf(load<u8>(MEDIANS + first + i));
    after += sizeOf(load<u8>(MEDIANS + end - 1 - i));
  }
  return before < STEADY * after && after < STEADY * before;
}

/** Blocks of a run that are about as loud as its middle one. */
function evenBlocks(first: u32, end: u32): u32 {
  const middle = sizeOf(load<u8>(MEDIANS + (first + end) / 2));
  let count: u32 = 0;
  for (let b = first; b < end; b++) {
    const size = sizeOf(load<u8>(MEDIANS + b));
    if (size < EVEN * middle && size * EVEN > middle) count++;
  }
  return count;
}

/** From the lowest to the highest sample of a stretch of a channel; nothing is told of one over range. */
function sweepOf(channel: u32, from: u32, to: u32): f32 {
  const base = captureChannel(channel);
  let low = i32.MAX_VALUE;
  let high = i32.MIN_VALUE;
  for (let i = from; i < to; i++) {
    const x = load<i32>(base + i * 4);
    if (x == OVERRANGE) return f32.MAX_VALUE;
    low = min(low, x);
    high = max(high, x);
  }
  return <f32>high - <f32>low;
}
/** The same of the channel that moves most. */
function sweep(from: u32, to: u32): f32 {
  let most: f32 = 0;
  for (let c: u32 = 0; c < gridChannels; c++) most = max(most, sweepOf(c, from, to));
  return most;
}

/** How many blocks of a run are noise by themselves. */
function whiteBlocks(channel: u32, first: u32, end: u32, block: u32): u32 {
  let count: u32 = 0;
  for (let b = first; b < end; b++) {
    count += u32(sizeOf(load<u8>(MEDIANS + b)) > WHITE * sweepOf(channel, b * block, (b + 1) * block));
  }
  return count;
}

/** Whether a run turns as noise does. */
function isNoise(first: u32, end: u32): bool {
  let turned: u32 = 0;
  for (let b = first; b < end; b++) turned += load<u8>(TURNED + b);
  return turned >= TURNS * (end - first);
}

/** Whether so many blocks of a run are louder than what moves then makes them. @param beside - samples before and after @param least - blocks */
function isBurst(n: u32, first: u32, end: u32, block: u32, beside: u32, least: u32): bool {
  let loud: u32 = 0;
  for (let b = first; b < end; b++) {
    const from = b * block;
    const swept = sweep(from > beside ? from - beside : 0, min(n, from + block + beside));
    if (sizeOf(load<u8>(MEDIANS + b)) > SWEPT * swept && ++loud == least) return true;
  }
  return false;
}

/**
 * Whether a channel jumps between two samples about the start of a block while it hardly moves before and after: contact that goes or
 * comes. The emf of steel that moves takes a millisecond and more. measureBlocks of the channel goes before.
 */
function jumpsAt(channel: u32, b: u32, block: u32, n: u32): bool {
  const base = captureChannel(channel);
  const from = max(NEAR, b > 0 ? (b - 1) * block : 0);
  const to = min(n - NEAR - 1, (b + 1) * block);
  for (let i = from; i + 1 < to; i++) {
    const x = load<i32>(base + i * 4);
    const step = load<i32>(base + i * 4 + 4) - x;
    // The converter's own steps are none.
    let near = smallest;
    for (let k: u32 = 1; k <= NEAR && near < i32.MAX_VALUE; k++) {
      near = max(near, max(stepAt(base, i - k), stepAt(base, i + k)));
    }
    if (near < i32.MAX_VALUE && <f32>abs(step) > JUMP * <f32>near) return true;
  }
  return false;
}
/** Size of the step after a sample; i32.MAX_VALUE beside one over range. */
function stepAt(base: u32, i: u32): i32 {
  const x = load<i32>(base + i * 4);
  const next = load<i32>(base + i * 4 + 4);
  return x == OVERRANGE || next == OVERRANGE ? i32.MAX_VALUE : abs(next - x);
}

/** Keeps a burst of a channel. @param from - first sample of the grid that it may hold @param to - one beyond the last */
export function keepGap(channel: u32, from: u32, to: u32): void {
  const k = gapCount(channel);
  if (k == GAPS_MAX) return;
  store<u32>(COUNTS + <usize>(channel * 4), k + 1);
  store<u32>(gapAt(channel, k), from);
  store<u32>(gapAt(channel, k), min(gridCount, to), 4);
}

/**
 * A lead that hangs in the air may float to the end of the range and stay there; steel that moves so strongly does for a few
 * hundredths of a second. Contact that comes back may ring for a moment.
 */
const FLOATS_s: f32 = 0.1;
const RINGS_s: f32 = 0.01;
/** Keeps the stretches in which a channel floats. @returns how many of its samples over range they hold */
function findFloating(channel: u32, rate_Hz: f32): u32 {
  const base = captureChannel(channel);
  const n = gridCount * gridStep;
  const least = <u32>(FLOATS_s * rate_Hz);
  let floating: u32 = 0;
  let from: u32 = 0;
  for (let i: u32 = 0; i <= n; i++) {
    if (i < n && load<i32>(base + i * 4) == OVERRANGE) continue;
    if (i - from > least) {
      floating += i - from;
      keepGap(channel, from / gridStep, (i + <u32>(RINGS_s * rate_Hz)) / gridStep + 1);
    }
    from = i + 1;
  }
  return floating;
}

/**
 * Finds the bursts of a channel in CAPTURE; gridBegin and burstsBegin go before. The work space is overwritten.
 * @returns how many samples over range are no touch but a lead that floats
 */
export function findBursts(channel: u32): u32 {
  const h = changetype<CaptureHead>(<usize>CAPTURE_HEAD);
  const n = h.sampleCount;
  const rate_Hz = h.rate_Hz / <f32>h.decimation;
  const floating = findFloating(channel, rate_Hz);
  findNoisy(channel, n, rate_Hz);
  return floating;
}

/** Finds the bursts of n samples in which a channel hears hum and noise. */
function findNoisy(channel: u32, n: u32, rate_Hz: f32): void {
  const slow = rate_Hz < SLOW_Hz;
  const block = max(BLOCK_LEAST, max(n / BLOCKS_MAX, <u32>nearest((slow ? SLOW_BLOCK_s : BLOCK_s) * rate_Hz)));
  const blocks = measureBlocks(captureChannel(channel), n, block);
  const step: i32 = smallest == i32.MAX_VALUE ? 1 : smallest;
  keepStep(channel, step);
  let known: u32 = 0;
  for (let b: u32 = 0; b < blocks; b++) {
    const bin: u32 = load<u8>(MEDIANS + b);
    if (bin == UNKNOWN) continue;
    const at = HISTOGRAM + bin * 4;
    store<u32>(at, load<u32>(at) + 1);
    known++;
  }
  if (known == 0) return;
  const rest = max<f32>(sizeOf(medianBin(known)), ROUNDING * <f32>step);
  const least = rest * (slow ? SLOW_TIMES : TIMES);
  const shortest = max<u32>(2, <u32>nearest((slow ? SLOW_BURST_s : BURST_s) * rate_Hz / <f32>block));
  let first: u32 = 0;
  for (let b: u32 = 0; b <= blocks; b++) {
    const bin: u32 = b < blocks ? <u32>load<u8>(MEDIANS + b) : UNKNOWN;
    if (bin != UNKNOWN && sizeOf(bin) > (b > first ? GOES_ON : 1) * least) continue;
    if (<f32>(b - first) < SHARE_MOST * <f32>blocks && b > first) {
      // A touch just before it, or after it, is far louder at a low rate; what is short beside one belongs to it.
      const loudest = EVEN * sizeOf(load<u8>(MEDIANS + (first + b) / 2));
      const from = first;
      let last = b;
      while (slow && sizeOf(load<u8>(MEDIANS + first)) > loudest) first++;
      while (slow && sizeOf(load<u8>(MEDIANS + last - 1)) > loudest) last--;
      const whole = last - first == b - from;
      const even = evenBlocks(first, last);
      // The last block of noise, which only goes on, may hold no more than its end.
      const end = last - 1 > first && sizeOf(load<u8>(MEDIANS + last - 1)) <= least ? last - 1 : last;
      const fine = rate_Hz > WHITE_Hz;
      const steady = isSteady(first, end);
      if (isNoise(first, last) && (slow || (<f32>even >= NOISY * <f32>(last - first) && steady)) && (
        (even >= shortest && (!slow || isSteady(first, last))
          && isBurst(n, first, last, block, <u32>nearest(BLOCK_s * rate_Hz), shortest))
        || (fine && whole && even >= (slow ? WHITE_BLOCKS : shortest) && steady
          && whiteBlocks(channel, first, last, block) >= WHITE_BLOCKS)
        || (fine && even >= WHITE_BLOCKS && (jumpsAt(channel, from, block, n) || jumpsAt(channel, b, block, n))))) {
        // A block on either side may hold part of it.
        keepGap(channel, first > 0 ? (first - 1) * block / gridStep : 0, (last + 1) * block / gridStep + 1);
      }
    }
    first = b + 1;
  }
}

/** What is missing of a channel counts as nothing: as no hum once the hum of the rest is out. */
export function blankGaps(channel: u32): void {
  for (let k: u32 = 0; k < gapCount(channel); k++) {
    const from = load<u32>(gapAt(channel, k));
    memory.fill(gridChannel(channel) + from * 4, 0, (load<u32>(gapAt(channel, k), 4) - from) * 4);
  }
}

/** Samples of a channel's grid that are missing among those from `from` to `to`. */
export function missing(channel: u32, from: u32, to: u32): u32 {
  let sum: u32 = 0;
  for (let k: u32 = 0; k < gapCount(channel); k++) {
    const first = max(from, load<u32>(gapAt(channel, k)));
    const end = min(to, load<u32>(gapAt(channel, k), 4));
    if (end > first) sum += end - first;
  }
  return sum;
}

/** Grid samples of the longest burst of all channels. */
export function longestGap(): u32 {
  let most: u32 = 0;
  for (let c: u32 = 0; c < MAX_CHANNELS; c++) {
    for (let k: u32 = 0; k < gapCount(c); k++) most = max(most, load<u32>(gapAt(c, k), 4) - load<u32>(gapAt(c, k)));
  }
  return most;
}
/** Forgets the bursts of all channels. */
export function burstsBegin(): void { memory.fill(COUNTS, 0, MAX_CHANNELS * 4); }
