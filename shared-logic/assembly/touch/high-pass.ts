/**
 * A front end that is coupled through a capacitor: after every change of flux its output undershoots and comes back over the
 * coupling's time constant, which looks like a slow departure, and hides a slow arrival. Where that is seen, it is undone.
 *
 * A first-order high-pass gives v' = u' - v / tau, so that its input is u = v + (1 / tau) times the running sum of v; and where
 * nothing moves (u = 0) the output is minus the running flux over tau. Only that is fitted, through the origin; or, where
 * samples over range are missing from the running flux, beside it, and how far beside tells the flux that they had. Where no line
 * fits all that follows the trigger, since something moves slowly, the tail of the largest movement may still show one.
 */
import { NO_STRETCH, WORK, firstStretch, gridChannel, isOver, gridCount, gridRate_Hz, gridStart_s } from './grid';
import { FULL_TURN, humStep } from './mains';
import { LIMIT_SIZES, limitedMean, median, usualSize } from './sizes';

/** Blocks that are fitted: one period of the hum, or this long where there is none. */
const BLOCK_s: f32 = 0.02;
/** Between a period of 60 Hz and one of 50 Hz. */
const OTHER_MAINS_s: f32 = 0.0182;
/** Time before the trigger that may already move. */
const LEAD_s: f32 = 0.0098;
/** Fewest and most blocks; blocks this many times further off the fit than half of them are, hold events. */
const BLOCKS_LEAST: u32 = 5;
const BLOCKS_MOST: u32 = 256;
const EVENT_TIMES: f32 = 4;
const ROUNDS: u32 = 3;
/** What is fitted must stand this far out of the noise, and leave no more than this share of the power beside that noise. */
const STANDS_OUT: f32 = 6;
const LEFT_MOST: f32 = 0.1;
/** The same where the running flux is off, by what was over range or moved slowly before, which fits more. */
const LEFT_MOST_OFF: f32 = 0.03;
/** A tail is in many blocks: one that has more than this share of the power is an event, and any line goes through it and the others. */
const ONE_MOST: f32 = 0.6;
/** After the largest movement another one may come, in two or three blocks. */
const TAIL_MOST: f32 = 0.5;
/** What a tail leaves of the power, as a share of what a straight line leaves. */
const CURVED: f32 = 0.3;
/** Corners of couplings in use: 0.2 to 4 Hz, as 1 / tau, 1/s. */
const RATE_LEAST: f32 = 1.2;
const RATE_MOST: f32 = 25;
/** Blocks so far apart are compared where the running flux of both is off by the same unknown amount. */
const APART: u32 = 2;

/** Mean, running flux, distance from the fit and run of each block, a word each: below the turns of the hum (harmonics.ts). */
@inline function blockAt(k: u32): u32 { return WORK + k * 16; }
@inline function meanOf(k: u32): f32 { return load<f32>(blockAt(k)); }
@inline function fluxOf(k: u32): f32 { return load<f32>(blockAt(k), 4); }
@inline function distanceOf(k: u32): f32 { return load<f32>(blockAt(k), 8); }
/** 1 more for each stretch over range before the block. */
@inline function runOf(k: u32): u32 { return load<u32>(blockAt(k), 12); }
/** Whether the running flux is that since the trigger; else it is off by something that the blocks of a run have in common. */
let fromNothing: bool = true;
@inline function isWhole(k: u32): bool { return fromNothing && runOf(k) == 0; }

/** Samples of a block, and the first block that is fitted. */
let block: u32 = 1;
let firstBlock: u32 = 0;
/** Samples of the grid that lie before the trigger for sure, whole blocks of them. */
function samplesBefore(): u32 {
  const before = (-gridStart_s - LEAD_s) * gridRate_Hz;
  if (before < 1 || before > <f32>gridCount) return 0;
  return <u32>before - <u32>before % block;
}
/** Mean of a channel's grid before the trigger, which a lift in that time hardly moves. */
function meanBefore(base: u32): i32 {
  const count = samplesBefore();
  if (count == 0) return 0;
  const middle = median(base, count);
  return limitedMean(base, count, middle, LIMIT_SIZES * usualSize(base, count, middle));
}

/** Fills the blocks after the trigger that hold no sample over range. @returns how many */
function fillBlocks(channel: u32): u32 {
  const base = gridChannel(channel);
  const middle = meanBefore(base);
  const first = samplesBefore();
  let flux: i64 = 0;
  for (let i: u32 = 0; i < first; i++) flux += load<i32>(base + i * 4) - middle;
  let blocks: u32 = 0;
  let run: u32 = isOver(channel, 0, first) ? 1 : 0;
  for (let from = first; from + block <= gridCount && blocks < BLOCKS_MOST; from += block) {
    let fluxes: i64 = 0;
    const begins = flux;
    for (let i = from; i < from + block; i++) {
      flux += load<i32>(base + i * 4) - middle;
      fluxes += flux;
    }
    if (isOver(channel, from, from + block)) {
      run++;
      continue;
    }
    store<f32>(blockAt(blocks), <f32>(flux - begins) / <f32>block);
    store<f32>(blockAt(blocks), <f32>fluxes / <f32>block, 4);
    store<f32>(blockAt(blocks), 0, 8);
    store<u32>(blockAt(blocks), run, 12);
    blocks++;
  }
  return blocks;
}

/**
 * The slope that half of the weight of the blocks lies on either side of: least absolute deviations, which events hardly move.
 * A block weighs as much as its running flux, or the difference of two where that is off.
 */
function medianRate(blocks: u32): f32 {
  let low: f32 = 0;
  let high: f32 = 2 * RATE_MOST / gridRate_Hz;
  for (let round = 0; round < 12; round++) {
    const middle = (low + high) / 2;
    let below: f32 = 0;
    let above: f32 = 0;
    for (let k = firstBlock; k < blocks; k++) {
      let mean = meanOf(k);
      let flux = fluxOf(k);
      if (!isWhole(k)) {
        if (k + APART >= blocks || runOf(k + APART) != runOf(k)) continue;
        mean -= meanOf(k + APART);
        flux -= fluxOf(k + APART);
      }
      if (-mean * (flux < 0 ? <f32>-1 : <f32>1) < middle * abs(flux)) below += abs(flux);
      else above += abs(flux);
    }
    if (below > above) high = middle;
    else low = middle;
  }
  return high;
}

/** Distance from the fit that half of the blocks stay below, by halving. */
function medianDistance(blocks: u32): f32 {
  let high: f32 = 0;
  for (let k = firstBlock; k < blocks; k++) high = max(high, distanceOf(k));
  let low: f32 = 0;
  for (let round = 0; round < 12; round++) {
    const middle = (low + high) / 2;
    let below: u32 = 0;
    for (let k = firstBlock; k < blocks; k++) below += u32(distanceOf(k) <= middle);
    if (below * 2 > blocks - firstBlock) high = middle;
    else low = middle;
  }
  return high;
}

/** What the kept blocks of a run have in common: 0 where their running flux is whole. */
let runMean: f32 = 0;
let runFlux: f32 = 0;
let runCount: u32 = 0;
/** Adds up the kept blocks of the run that begins with block `from`. @returns the first block of the next run */
function takeRun(from: u32, blocks: u32, most: f32): u32 {
  let k = from;
  runMean = 0;
  runFlux = 0;
  runCount = 0;
  for (; k < blocks && runOf(k) == runOf(from); k++) {
    if (distanceOf(k) > most) continue;
    runMean += meanOf(k);
    runFlux += fluxOf(k);
    runCount++;
  }
  if (isWhole(from) || runCount == 0) {
    runMean = 0;
    runFlux = 0;
  } else {
    runMean /= <f32>runCount;
    runFlux /= <f32>runCount;
  }
  return k;
}

/** What half of the blocks of a run lie above a fit through the origin, by halving. */
function medianOffset(from: u32, to: u32, rate: f32): f32 {
  let low: f32 = f32.MAX_VALUE;
  let high: f32 = -f32.MAX_VALUE;
  for (let k = from; k < to; k++) {
    low = min(low, meanOf(k) + rate * fluxOf(k));
    high = max(high, meanOf(k) + rate * fluxOf(k));
  }
  for (let round = 0; round < 16; round++) {
    const middle = (low + high) / 2;
    let below: u32 = 0;
    for (let k = from; k < to; k++) below += u32(meanOf(k) + rate * fluxOf(k) <= middle);
    if (below * 2 > to - from) high = middle;
    else low = middle;
  }
  return high;
}
/** Sets the distance of all blocks from a fit of this rate. */
function setDistances(blocks: u32, rate: f32): void {
  for (let from = firstBlock; from < blocks;) {
    let to = from;
    while (to < blocks && runOf(to) == runOf(from)) to++;
    const offset: f32 = isWhole(from) ? 0 : medianOffset(from, to, rate);
    for (let k = from; k < to; k++) store<f32>(blockAt(k), abs(meanOf(k) + rate * fluxOf(k) - offset), 8);
    from = to;
  }
}

/**
 * What a channel of which nothing but its offset has been taken out says of the coupling; the work space is overwritten.
 * @param deviation - of the noise of a sample, grid units
 * @returns 1 / tau, per grid sample; 0: none is seen
 */
export function findHighPass(channel: u32, deviation: f32): f32 {
  block = <u32>nearest(humStep == 0 ? BLOCK_s * gridRate_Hz : FULL_TURN / <f32>humStep);
  const rate = rateAnyhow(channel, deviation);
  if (rate != 0) return rate;
  // What moves may have hidden the mains, or named the wrong ones.
  block = <u32>nearest(gridRate_Hz / (<f32>block > OTHER_MAINS_s * gridRate_Hz ? <f32>60 : <f32>50));
  return rateAnyhow(channel, deviation);
}
/** By all blocks, or by the tail of the largest or the last event over range, before which something may have moved slowly. */
function rateAnyhow(channel: u32, deviation: f32): f32 {
  firstBlock = 0;
  fromNothing = true;
  if (samplesBefore() == 0) return 0;
  const blocks = fillBlocks(channel);
  let rate = rateByBlocks(blocks, deviation);
  if (rate != 0 || blocks == 0) return rate;
  if (runOf(blocks - 1) != 0) {
    while (runOf(firstBlock) != runOf(blocks - 1)) firstBlock++;
  } else {
    for (let k: u32 = 1; k < blocks; k++) if (abs(meanOf(k)) > abs(meanOf(firstBlock))) firstBlock = k;
    firstBlock++;
    fromNothing = false;
  }
  rate = rateByBlocks(blocks, deviation);
  firstBlock = 0;
  return rate;
}
/** Power of the kept blocks from firstBlock on that a straight line in time leaves: the drift of an offset, beside which a flux is one too. */
function lineLeaves(blocks: u32, most: f32): f32 {
  let count: f32 = 0;
  let time: f32 = 0;
  let times: f32 = 0;
  let mean: f32 = 0;
  let product: f32 = 0;
  let power: f32 = 0;
  for (let k = firstBlock; k < blocks; k++) {
    if (distanceOf(k) > most) continue;
    const x = <f32>(k - firstBlock);
    count += 1;
    time += x;
    times += x * x;
    mean += meanOf(k);
    product += x * meanOf(k);
    power += meanOf(k) * meanOf(k);
  }
  const cross = product - time * mean / count;
  return power - mean * mean / count - cross * cross / (times - time * time / count);
}
function rateByBlocks(blocks: u32, deviation: f32): f32 {
  if (blocks < firstBlock + BLOCKS_LEAST) return 0;
  let rate = medianRate(blocks);
  setDistances(blocks, rate);
  const noise = deviation * deviation / <f32>block;
  for (let round: u32 = 0; round < ROUNDS; round++) {
    const most = EVENT_TIMES * max(medianDistance(blocks), sqrt<f32>(noise));
    let kept: u32 = 0;
    let cross: f32 = 0;
    let fluxes: f32 = 0;
    let power: f32 = 0;
    let largest: f32 = 0;
    for (let from = firstBlock; from < blocks;) {
      const to = takeRun(from, blocks, most);
      for (let k = from; k < to; k++) {
        if (distanceOf(k) > most) continue;
        const mean = meanOf(k) - runMean;
        const flux = fluxOf(k) - runFlux;
        cross -= mean * flux;
        fluxes += flux * flux;
        power += mean * mean;
        largest = max(largest, mean * mean);
        kept++;
      }
      from = to;
    }
    if (kept < BLOCKS_LEAST || fluxes <= 0 || cross <= 0) return 0;
    rate = cross / fluxes;
    if (round + 1 < ROUNDS) {
      setDistances(blocks, rate);
      continue;
    }
    const told = rate * cross;
    const left = power - told;
    if (told < STANDS_OUT * STANDS_OUT * max(noise, left / <f32>kept)) return 0;
    if (largest > (fromNothing ? ONE_MOST : TAIL_MOST) * power) return 0;
    if (!fromNothing && max(left, noise * <f32>kept) > CURVED * lineLeaves(blocks, most)) return 0;
    if (left - 2 * noise * <f32>kept > (isWhole(blocks - 1) ? LEFT_MOST : LEFT_MOST_OFF) * power) return 0;
  }
  return rate * gridRate_Hz < RATE_LEAST || rate * gridRate_Hz > RATE_MOST ? 0 : rate;
}

/** A channel in range whose blocks are so much further from a coupling than from none has none, whatever another seems to show. */
const REFUTED: f32 = 1.5;
/** A mean is off by so many times what white noise makes of it. */
const OFF: f32 = 3;
/**
 * Whether a channel in range shows that there is no coupling of this rate; findHighPass of another channel goes before.
 * @param deviation - of the noise of a sample, grid units
 */
export function refutesHighPass(channel: u32, rate: f32, deviation: f32): bool {
  const blocks = fillBlocks(channel);
  if (blocks < BLOCKS_LEAST) return false;
  // A tail of what was before the capture may lie under it.
  fromNothing = false;
  setDistances(blocks, 0);
  const without = medianDistance(blocks);
  setDistances(blocks, rate);
  // What the mean before the trigger is off by adds up in the running flux.
  const before = <f32>samplesBefore();
  const drifts = OFF * deviation / sqrt<f32>(max<f32>(1, before)) * rate * (<f32>gridCount - before) / 2;
  return medianDistance(blocks) > REFUTED * max(without, deviation / sqrt<f32>(<f32>block)) + drifts;
}

/** After a stretch over range its tail is waited for; before the next one it may already move; between them so much is needed. */
const SETTLES_s: f32 = 0.05;
const NEXT_s: f32 = 0.01;
const TAIL_s: f32 = 0.02;
/** A flux of the range over so long is in doubt; more than that many times it, over the whole stretch, was not lost. */
const LOST_LEAST_s: f32 = 0.001;
const LOST_MOST: f32 = 100;
/** The flux that was lost is put back over so long. */
const PUT_BACK_s: f32 = 0.002;

/** Channels of which all that went over range is known again, a bit each. */
let known: u32 = 0;
export function knowNothing(): void { known = 0; }
export function isKnown(channel: u32): bool { return ((known >> channel) & 1) != 0; }

/**
 * Undoes the coupling in a channel of the grid that was built afresh, and puts back what went over range: what the tail
 * after it has too much.
 * @param rate - of findHighPass
 */
export function undoHighPass(channel: u32, rate: f32): void {
  const base = gridChannel(channel);
  const middle = meanBefore(base);
  const back = max<u32>(1, <u32>(PUT_BACK_s * gridRate_Hz));
  let over = firstStretch(channel, 0, gridCount);
  let all = over != NO_STRETCH;
  let flux: i64 = 0;
  let lost: f32 = 0;
  let put: u32 = 0;
  for (let i: u32 = 0; i < gridCount; i++) {
    if (over != NO_STRETCH && i == (over & 0x3fffff)) {
      over = firstStretch(channel, i + 1, gridCount);
      lost = lostAt(channel, i, over == NO_STRETCH ? gridCount : over & 0x3fffff, middle, flux, rate) / <f32>back;
      if (lost == 0) all = false;
      put = i + back;
    }
    const x = load<i32>(base + i * 4) - middle + (i < put ? <i32>lost : 0);
    flux += x;
    store<i32>(base + i * 4, x + <i32>(<f32>flux * rate));
  }
  if (all) known |= 1 << channel;
}

/** Flux that a stretch over range had beyond what it was filled with, by the tail after it; 0 where there is none. */
function lostAt(channel: u32, from: u32, next: u32, middle: i32, before: i64, rate: f32): f32 {
  const base = gridChannel(channel);
  const first = from + <u32>(SETTLES_s * gridRate_Hz);
  const end = next == gridCount ? next : next - min(next, <u32>(NEXT_s * gridRate_Hz));
  if (end < first + <u32>(TAIL_s * gridRate_Hz)) return 0;
  let flux = before;
  let sum: f32 = 0;
  // One period of the hum, or as much as there is.
  const last = min(end, first + block);
  for (let i = from; i < last; i++) {
    const x = load<i32>(base + i * 4) - middle;
    flux += x;
    if (i >= first) sum += <f32>x + <f32>flux * rate;
  }
  const lost = -sum / (<f32>(last - first) * rate);
  // What went over range went further the way in which it went, and not without bound.
  const edge = <f32>load<i32>(base + from * 4);
  const least = abs(edge) * LOST_LEAST_s * gridRate_Hz;
  let to = from;
  while (to < next && isOver(channel, to, to + 1)) to++;
  const most = LOST_MOST * max(least, abs(edge) * <f32>(to - from));
  return (lost * edge < 0 && abs(lost) > least) || abs(lost) > most ? 0 : lost;
}
