/**
 * A front end that is coupled through a capacitor: after every change of flux its output undershoots and comes back over the
 * coupling's time constant, which looks like a slow departure, and hides a slow arrival. Where that is seen, it is undone.
 *
 * A first-order high-pass gives v' = u' - v / tau, so that its input is u = v + (1 / tau) times the running sum of v; and where
 * nothing moves (u = 0) the output is minus the running flux over tau. Only that is fitted, through the origin; or, where
 * samples over range are missing from the running flux, beside it, and how far beside tells the flux that they had.
 */
import { NO_STRETCH, WORK, firstStretch, gridChannel, gridCount, gridRate_Hz, gridStart_s } from './grid';
import { FULL_TURN, humStep } from './mains';

/** Blocks that are fitted: one period of the hum, or this long where there is none. */
const BLOCK_s: f32 = 0.02;
/** Time before the trigger that may already move. */
const LEAD_s: f32 = 0.0098;
/** After the largest pulse its own tail is waited for. */
const AFTER_s: f32 = 0.03;
/** Fewest and most blocks; blocks this many times further off the fit than half of them are, hold events. */
const BLOCKS_LEAST: u32 = 5;
const BLOCKS_MOST: u32 = 256;
const EVENT_TIMES: f32 = 4;
const ROUNDS: u32 = 3;
/** What is fitted must stand this far out of the noise of the blocks, and leave no more than this share of its power. */
const STANDS_OUT: f32 = 6;
const LEFT_MOST: f32 = 0.1;
const LEFT_MOST_OVER: f32 = 0.03;
/** Corners of couplings in use: 0.2 to 4 Hz, as 1 / tau, 1/s. */
const RATE_LEAST: f32 = 1.2;
const RATE_MOST: f32 = 25;

/** Mean, running flux and distance from the fit of each block, a word each: below the turns of the hum (harmonics.ts). */
@inline function blockAt(k: u32): u32 { return WORK + k * 12; }

function blockLength(): u32 {
  return <u32>nearest(humStep == 0 ? BLOCK_s * gridRate_Hz : FULL_TURN / <f32>humStep);
}
/** Samples of the grid that lie before the trigger for sure, whole blocks of them. */
function samplesBefore(): u32 {
  const before = (-gridStart_s - LEAD_s) * gridRate_Hz;
  if (before < 1 || before > <f32>gridCount) return 0;
  return <u32>before - <u32>before % blockLength();
}
/** Mean of a channel's grid before the trigger. */
function meanBefore(base: u32): i32 {
  const count = samplesBefore();
  let sum: i64 = 0;
  for (let i: u32 = 0; i < count; i++) sum += load<i32>(base + i * 4);
  return <i32>(sum / max<u32>(1, count));
}

/** Fills the blocks after a sample. @returns how many */
function fillBlocks(base: u32, after: u32): u32 {
  const middle = meanBefore(base);
  const block = blockLength();
  let flux: i64 = 0;
  for (let i: u32 = 0; i < min(after, gridCount); i++) flux += load<i32>(base + i * 4) - middle;
  let blocks: u32 = 0;
  for (let from = after; from + block <= gridCount && blocks < BLOCKS_MOST; from += block) {
    let fluxes: i64 = 0;
    const begins = flux;
    for (let i = from; i < from + block; i++) {
      flux += load<i32>(base + i * 4) - middle;
      fluxes += flux;
    }
    store<f32>(blockAt(blocks), <f32>(flux - begins) / <f32>block);
    store<f32>(blockAt(blocks), <f32>fluxes / <f32>block, 4);
    store<f32>(blockAt(blocks), 0, 8);
    blocks++;
  }
  return blocks;
}

/** Distance from the fit that half of the blocks stay below, by halving. */
function medianDistance(blocks: u32): f32 {
  let high: f32 = 0;
  for (let k: u32 = 0; k < blocks; k++) high = max(high, load<f32>(blockAt(k), 8));
  let low: f32 = 0;
  for (let round = 0; round < 12; round++) {
    const middle = (low + high) / 2;
    let below: u32 = 0;
    for (let k: u32 = 0; k < blocks; k++) below += u32(load<f32>(blockAt(k), 8) <= middle);
    if (below * 2 > blocks) high = middle;
    else low = middle;
  }
  return high;
}

/**
 * What a channel of which nothing but its offset has been taken out says of the coupling; the work space is overwritten.
 * @param peakAt - grid sample of its largest pulse
 * @param deviation - of the noise of a sample, grid units
 * @param over - samples of it are over range
 * @returns 1 / tau, per grid sample; 0: none is seen
 */
export function findHighPass(channel: u32, peakAt: u32, deviation: f32, over: bool): f32 {
  if (samplesBefore() == 0) return 0;
  const blocks = fillBlocks(gridChannel(channel), peakAt + <u32>(AFTER_s * gridRate_Hz));
  if (blocks < BLOCKS_LEAST) return 0;
  let rate: f32 = 0;
  let most = f32.MAX_VALUE;
  for (let round: u32 = 0; round < ROUNDS; round++) {
    let kept: u32 = 0;
    let cross: f32 = 0;
    let fluxes: f32 = 0;
    let power: f32 = 0;
    let means: f32 = 0;
    let sums: f32 = 0;
    for (let k: u32 = 0; k < blocks && over; k++) {
      if (load<f32>(blockAt(k), 8) > most) continue;
      means += load<f32>(blockAt(k));
      sums += load<f32>(blockAt(k), 4);
      kept++;
    }
    if (over && kept == 0) return 0;
    const middle = over ? means / <f32>kept : 0;
    const run = over ? sums / <f32>kept : 0;
    kept = 0;
    for (let k: u32 = 0; k < blocks; k++) {
      if (load<f32>(blockAt(k), 8) > most) continue;
      const mean = load<f32>(blockAt(k)) - middle;
      const flux = load<f32>(blockAt(k), 4) - run;
      cross -= mean * flux;
      fluxes += flux * flux;
      power += mean * mean;
      kept++;
    }
    if (fluxes <= 0 || cross <= 0) return 0;
    rate = cross / fluxes;
    for (let k: u32 = 0; k < blocks; k++) {
      store<f32>(blockAt(k), abs(load<f32>(blockAt(k)) - middle + rate * (load<f32>(blockAt(k), 4) - run)), 8);
    }
    most = EVENT_TIMES * medianDistance(blocks);
    if (round + 1 < ROUNDS) continue;
    const noise = deviation * deviation / <f32>blockLength();
    if (power < STANDS_OUT * STANDS_OUT * noise * <f32>kept || power - rate * cross > (over ? LEFT_MOST_OVER : LEFT_MOST) * power) return 0;
  }
  return rate * gridRate_Hz < RATE_LEAST || rate * gridRate_Hz > RATE_MOST ? 0 : rate;
}

/** After a stretch over range its tail is waited for; before the next one it may already move; between them so much is needed. */
const SETTLES_s: f32 = 0.05;
const NEXT_s: f32 = 0.01;
const TAIL_s: f32 = 0.02;
/** A flux of the range over so long is in doubt; more than that many times it was not lost. */
const LOST_LEAST_s: f32 = 0.001;
const LOST_MOST: f32 = 30;
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
      lost = lostAt(base, i, over == NO_STRETCH ? gridCount : over & 0x3fffff, middle, flux, rate) / <f32>back;
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
function lostAt(base: u32, from: u32, next: u32, middle: i32, before: i64, rate: f32): f32 {
  const first = from + <u32>(SETTLES_s * gridRate_Hz);
  const end = next == gridCount ? next : next - min(next, <u32>(NEXT_s * gridRate_Hz));
  if (end < first + <u32>(TAIL_s * gridRate_Hz)) return 0;
  let flux = before;
  let sum: f32 = 0;
  // One period of the hum, or as much as there is.
  const last = min(end, first + blockLength());
  for (let i = from; i < last; i++) {
    const x = load<i32>(base + i * 4) - middle;
    flux += x;
    if (i >= first) sum += <f32>x + <f32>flux * rate;
  }
  const lost = -sum / (<f32>(last - first) * rate);
  // What went over range went further the way in which it went, and not without bound.
  const edge = <f32>load<i32>(base + from * 4);
  const least = abs(edge) * LOST_LEAST_s * gridRate_Hz;
  return (lost * edge < 0 && abs(lost) > least) || abs(lost) > LOST_MOST * least ? 0 : lost;
}
