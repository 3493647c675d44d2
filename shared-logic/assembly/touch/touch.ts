/** A capture of a touch to what it says: which way each channel's flux went, how much, and how sure that is. */
import { captureHead, captureMinus, capturePlus, channelOf } from '../blocks';
import { ChannelEvidence, MAX_CHANNELS, NONE, TOUCH_bytes, TouchEvidence, TouchFlag } from '../layout';
import {
  GRID_V, gridBegin, gridBuild, gridChannel, gridChannels, gridCount, gridOverrange, gridRate_Hz, gridStart_s, leastDeviation,
} from './grid';
import { blankGaps, burstsBegin, findBursts, gapCount, longestGap, missing } from './bursts';
import { cleanByQuiet, cleanByStart, cleanChannel, Cleaned, findHum, MOVES, onlyDrifts, removeOffset } from './clean';
import { Extreme, WIDTHS, bankBegin, bankFlux_Wb, bankLength, bankPeak, bankScan } from './bank';
import { SEEN, SignSum, bankSum } from './bank-sum';
import {
  Event, NO_FLUX_SHARE, activityOf, collectEvents, eventAt, eventCount, eventTime_s, eventsBegin, markActivity, measureEvents,
  middleOfActivity,
} from './events';
import { TRIGGER_s, beganAfter, restsBefore } from './hand';
import { findLoudHum } from './loud-hum';
import { findHighPass, knowNothing, refutesHighPass, undoHighPass } from './high-pass';
import { splitByShares, splitEvents } from './split';
import { findSlow, measureSlow, SlowArrival, SlowShare } from './slow';
import {
  doubtLift, findLift, findOtherLift, isLift, keepFluxes, liftShare_Wb, mixedAt, readBefore, readRest, restsClearly, takeForLift,
  takeLiftOut,
} from './rest';
import { deviationOf, limitedMean, usualSize, whiteOf } from './sizes';
import { takeSettling } from './settling';
import { Story, weighStories } from './stories';
import { exponential, logarithm } from '../waves';

/** A channel this far above its noise is judged by its fluxes, not by the sum over shapes. */
const STRONG_d: f32 = 40;
/** A boxcar that stands this far out needs no search over shapes. */
const OBVIOUS: f32 = 60;
/** One touch is never worth more than odds of 9999 to 1: what is wrong then is the model (file-formats.md, confidence). */
const CAP: f32 = 9.21;
/** A boxcar that stands this far out of what hum and noise make shows a coupling, if there is one. */
const COUPLING_d: f32 = 5;
/** Fewer samples than this hold nothing. */
const SAMPLES_MIN: u32 = 24;
/** An event counts when its flux is this many uncertainties and this share of the channel's largest. */
const COUNT_u: f32 = 6;
/** Of what the hum may pretend, which is a bound rather than a deviation, fewer are enough. */
const COUNT_hum: f32 = 4;
const COUNT_SHARE: f32 = 0.12;
/** In a bounce more than this share of the flux goes and comes back. */
const BOUNCE_SHARE: f32 = 0.15;
/** The rise time of a faint touch is known to a step of the bank: this share of its flux. */
const WIDTH_SHARE: f32 = 0.1;
/** The filter whose output is largest was chosen for that: times the noise of one (measured over 400 draws at d = 8). */
const CHOSEN: f32 = 1.2;
/** What the baseline costs of a strong one's flux (physics.md 4: 1.2 to 1.4 in variance), and its share of model error. */
const BASELINE: f32 = 1.4;
const MODEL_SHARE: f32 = 0.002;
/**
 * The noise is judged from the capture itself and raised in doubt, which flattens small odds: by this share at even odds,
 * less beyond FLATTENED_TO (measured over touches near the trigger and anywhere, figures/touch.ts).
 */
const FLATTENED: f32 = 0.35;
const FLATTENED_TO: f32 = 1.5;
/**
 * What is SEEN, was over so long before the trigger and is followed by the other sign may as well be the lift of the last touch
 * before this one: little of its odds is left.
 */
const LIFTED_s: f32 = 0.02;
const EITHER: f32 = 0.16;

@inline function channelAt(at: u32, c: u32): ChannelEvidence {
  return channelOf(changetype<TouchEvidence>(<usize>at), c);
}
@inline function limited(x: f32): f32 { return max<f32>(-CAP, min<f32>(CAP, x)); }

/** What cleaning found in each channel. */
const CLEANED: usize = memory.data(MAX_CHANNELS * offsetof<Cleaned>());
@inline function cleanedAt(c: u32): Cleaned { return changetype<Cleaned>(CLEANED + <usize>(c * offsetof<Cleaned>())); }
/** Noise up to this many times the white noise is taken for what it is; beyond, that much of it is movement unexplained. */
const CALM: f32 = 2;

/** Uncertainty of a flux over `count` samples of white noise, webers. */
function whiteNoise_Wb(deviation: f32, count: u32): f32 {
  return deviation * GRID_V * sqrt<f32>(<f32>count) / gridRate_Hz;
}
/** The same with what the hum may pretend. */
function fluxNoise_Wb(c: u32, deviation: f32, count: u32): f32 {
  const white = whiteNoise_Wb(deviation, count);
  return sqrt<f32>(white * white + cleanedAt(c).humLeft_Wb * cleanedAt(c).humLeft_Wb);
}

/** Takes out of all channels what is not the touch. @param rate - of the coupling that is undone, or 0 */
function cleanAll(at: u32, rate: f32): void {
  for (let c: u32 = 0; c < gridChannels; c++) {
    const e = channelAt(at, c);
    const cleaned = cleanedAt(c);
    cleanChannel(c, cleaned);
    if (cleaned.unrest >= MAY_SETTLE && settlesBefore(c, deviationOf(cleaned.size) / cleaned.unrest)) cleanSettling(c, rate, cleaned);
    if (cleaned.unrest >= MOVES) cleanMoving(c, rate, cleaned);
    e.hum_V = cleaned.hum_V;
    e.noise_V = max(leastDeviation(c), deviationOf(cleaned.size)) * GRID_V;
  }
}
/** Cleans a channel again whose offset may have settled, without what that leaves. */
function cleanSettling(c: u32, rate: f32, into: Cleaned): void {
  build(c, rate);
  removeOffset(c);
  takeSettling(c);
  cleanChannel(c, into);
}
/** Noise this many times the white noise may be an offset that settles, where that shows before a hand may be there. */
const MAY_SETTLE: f32 = 1.5;
const STILL_s: f32 = -0.02;
const QUARTERS: u32 = 4;
const SETTLES_u: f32 = 6;
/**
 * Whether a channel goes one way before the trigger and ever more slowly, as a decay does: a hand that comes goes ever faster.
 * @param deviation - of a sample, grid units
 */
function settlesBefore(c: u32, deviation: f32): bool {
  if (!beginsStill()) return false;
  const count = <u32>((STILL_s - gridStart_s) * gridRate_Hz) / QUARTERS;
  if (count == 0 || QUARTERS * count > gridCount) return false;
  const base = gridChannel(c);
  const least = SETTLES_u * deviation * sqrt<f32>(2 / <f32>count);
  let before = limitedMean(base, count, 0, 0x3fffffff);
  const first = before;
  let ago: i32 = 0;
  for (let k: u32 = 1; k < QUARTERS; k++) {
    const mean = limitedMean(base + k * count * 4, count, 0, 0x3fffffff);
    const went = mean - before;
    if (k > 1 && !isLess(went, ago, least)) return false;
    before = mean;
    ago = went;
  }
  return <f32>abs(before - first) > least;
}
/** Whether one step is none, or goes as another does and no farther, give or take so much. */
function isLess(step: i32, other: i32, off: f32): bool {
  const along = <f32>(other >= 0 ? step : -step);
  return along > -off && along < <f32>abs(other) + off;
}
/** Cleans a channel that moves most of the time, if not all the time, by where it is quiet. */
function cleanMoving(c: u32, rate: f32, into: Cleaned): void {
  const drifts = onlyDrifts(c);
  const all = into.size;
  build(c, rate);
  if (cleanByStart(c, all, into)) return;
  if (!drifts) {
    build(c, rate);
    if (cleanByQuiet(c, all, into)) return;
  }
  build(c, rate);
  cleanChannel(c, into);
}
function build(c: u32, rate: f32): void {
  gridBuild(c);
  if (rate > 0) undoHighPass(c, rate);
}

/** The coupling that the clearest channel shows, without lost samples if there is one; 0: none. findHum goes before, cleaning after. */
function highPassOf(at: u32): f32 {
  moving = 0;
  const rate = highPassAmong(at, false);
  return rate > 0 ? rate : highPassAmong(at, true);
}
/** Channels in range that move, a bit each. */
let moving: u32 = 0;
function highPassAmong(at: u32, over: bool): f32 {
  let clearest: f32 = COUPLING_d;
  let leader: i32 = -1;
  for (let c: u32 = 0; c < gridChannels; c++) {
    const flags = channelAt(at, c).flags;
    if ((flags & <u16>TouchFlag.burst) != 0 || ((flags & <u16>TouchFlag.overrange) != 0) != over) continue;
    const stands = activityOf(c, <f32>usualSize(gridChannel(c), gridCount, 0), 0, 0);
    if (stands > COUPLING_d && !over) moving |= 1 << c;
    if (stands <= clearest) continue;
    clearest = stands;
    leader = <i32>c;
  }
  if (leader < 0) return 0;
  let rate = findHighPass(leader, whiteOf(leader));
  // A tail may be on any of those that lost samples.
  for (let c: u32 = 0; over && rate == 0 && c < gridChannels; c++) {
    if (<i32>c != leader && (channelAt(at, c).flags & <u16>TouchFlag.overrange) != 0) rate = findHighPass(c, whiteOf(c));
  }
  for (let c: u32 = 0; over && rate > 0 && c < gridChannels; c++) {
    if ((moving >> c & 1) != 0 && refutesHighPass(c, rate, whiteOf(c))) return 0;
  }
  return rate;
}

/**
 * Analyses the capture in CAPTURE and writes a TouchEvidence with its channels at `at` (all TOUCH_bytes; place = NONE).
 * CAPTURE is left as it is; SCRATCH is overwritten.
 */
export function analyseTouch(at: u32): void {
  memory.fill(at, 0, TOUCH_bytes);
  const touch = changetype<TouchEvidence>(<usize>at);
  const h = captureHead();
  assert(h.channelCount <= MAX_CHANNELS);
  touch.place = <u8>NONE;
  touch.channelCount = <u8>h.channelCount;
  for (let c: u32 = 0; c < h.channelCount; c++) {
    const e = channelAt(at, c);
    e.plus = <u8>capturePlus(c);
    e.minus = <u8>captureMinus(c);
  }
  gridBegin();
  if (gridCount < SAMPLES_MIN) {
    touch.flags = <u16>(TouchFlag.none | TouchFlag.noDeparture);
    return;
  }
  readBefore(at, gridChannels);
  burstsBegin();
  for (let c: u32 = 0; c < gridChannels; c++) {
    const floating = findBursts(c);
    gridBuild(c);
    channelAt(at, c).flags = <u16>(gridOverrange > floating ? TouchFlag.overrange : 0);
  }
  findHum();
  for (let c: u32 = 0; c < gridChannels; c++) {
    findLoudHum(c);
    blankGaps(c);
    if (gapCount(c) > 0) channelAt(at, c).flags = channelAt(at, c).flags | <u16>TouchFlag.burst;
  }
  touch.burst_ms = <u16>min<f32>(65535, <f32>longestGap() / gridRate_Hz * 1000);
  knowNothing();
  const rate = highPassOf(at);
  if (rate > 0) {
    for (let c: u32 = 0; c < gridChannels; c++) build(c, rate);
    findHum();
  }
  cleanAll(at, rate);
  // The bank and the hum share the work space: the bank comes after all cleaning.
  bankBegin();
  let marked: u32 = 0;
  FAINTEST.logOdds = -100;
  for (let c: u32 = 0; c < gridChannels; c++) {
    const e = channelAt(at, c);
    const cleaned = cleanedAt(c);
    const deviation = e.noise_V / GRID_V;
    const stands = activityOf(c, deviation * <f32>0.792, cleaned.quietFrom, cleaned.quietTo);
    if (stands >= OBVIOUS) e.matched_d = bankPeak(c, middleOfActivity(c), deviation);
    if (e.matched_d < STRONG_d) {
      e.matched_d = bankScan(c, deviation, cleaned.humLeft_Wb, UP, DOWN);
    }
    if (e.matched_d < STRONG_d) weighFaint(at, c, UP, DOWN, FAINTEST);
    // What moves longer than any shape of the bank shows in its boxcars.
    const long = cleaned.quietTo != 0 && stands >= MARKED_d;
    if (long) e.matched_d = max(e.matched_d, stands);
    const lobes = long || (e.matched_d < STRONG_d && isBeyondBank(UP, DOWN));
    // Of a channel that moves all along, what moves is its noise: events stand out of what is white in that.
    const stirs = e.matched_d * max<f32>(1, cleaned.unrest) >= MARKED_d;
    const strong = e.matched_d >= MARKED_d && (lobes || e.matched_d >= STRONG_d);
    store<u8>(MARKED + c, stirs ? strong ? 2 : 1 : 0);
    if (stirs) marked++;
  }
  // Steel that comes slowly through a coupling makes events of its own: the arrival and the tail, which goes the other way.
  const isSlow = marked > 0 && weighSlow(at, CLEARLY_SLOW, IN_ONE, TELLS_LEAST);
  const leading = isSlow || marked == 0 ? FAINT : weighStrong(at);
  if (!isSlow && leading == FAINT && (FAINTEST.logOdds > HEARD || !weighSlow(at, LIKELY_SLOW, 1, 0))) summariseFaint(at, FAINTEST);
  const followed = leading >= 0 && gapCount(leading) == 0;
  for (let c: u32 = 0; c < gridChannels; c++) if (gapCount(c) > 0) leaveOpen(at, c, followed);
  let flags = <u32>touch.flags | (beganAfter() ? TouchFlag.missed : 0);
  for (let c: u32 = 0; c < gridChannels; c++) flags |= channelAt(at, c).flags & (TouchFlag.overrange | TouchFlag.burst);
  touch.flags = <u16>flags;
}

/** Time on either side of the arrival's middle that must be heard. */
const ARRIVAL_REACH_s: f32 = 0.01;
/** Where the arrival of a touch that set off the trigger may lie. */
const TRIGGER_FROM_s: f32 = -0.05;

/**
 * Leaves the sign of a channel with bursts open where its arrival was not heard: it lies in a burst, or what stands alone
 * after a burst near the trigger may as well be the end of an arrival in it.
 * @param followed - a channel without bursts told what happened when
 */
function leaveOpen(at: u32, c: u32, followed: bool): void {
  const touch = changetype<TouchEvidence>(<usize>at);
  const arrival = (touch.arrival_s - gridStart_s) * gridRate_Hz;
  const reach = ARRIVAL_REACH_s * gridRate_Hz;
  const from = <u32>max<f32>(0, arrival - reach);
  const to = <u32>max<f32>(0, arrival + reach);
  const alone = touch.departure_s == 0 || touch.arrival_s <= gridStart_s;
  const last = <u32>max<f32>(0, (max(touch.arrival_s, touch.departure_s) - gridStart_s) * gridRate_Hz);
  const before = <u32>max<f32>(0, (TRIGGER_FROM_s - gridStart_s) * gridRate_Hz);
  // What came late after a burst where the trigger was may be the departure of what set it off.
  const late = touch.arrival_s > TRIGGER_s && missing(c, before, from) > 0;
  const unheard = late || (alone && missing(c, before, last) > 0);
  const e = channelAt(at, c);
  if ((unheard && !followed) || missing(c, from, to) > 0) e.signLogOdds = 0;
  // What was not heard, or heard without its flux, may have been in the burst.
  e.touchLogOdds = max<f32>(0, e.touchLogOdds);
  e.flags = e.flags & ~<u16>TouchFlag.noFlux;
}

/**
 * A channel from MARKED_d on is looked at for events. Below STRONG_d they are believed where there are at least two, since the
 * sum over shapes may still see what makes no event, or where the channel is beyond what that sum knows (2).
 */
const MARKED: usize = memory.data(8);
const MARKED_d: f32 = 15;
const EVENTS_LEAST: u32 = 2;
const LOBES_s: f32 = 0.035;
const LOBES_SHARE: f32 = 0.4;
/** Whether the largest outputs of both signs lie together, or the longest filter sees most. */
function isBeyondBank(up: Extreme, down: Extreme): bool {
  const apart = abs(<f32>up.at - <f32>down.at);
  if ((up.most > down.most ? up.width : down.width) == WIDTHS - 1) return true;
  return apart < LOBES_s * gridRate_Hz && <f32>min(up.most, down.most) > LOBES_SHARE * <f32>max(up.most, down.most);
}
/** What stands out most on the channel at hand, and what the sum over shapes makes of it. */
const UP: Extreme = changetype<Extreme>(memory.data(offsetof<Extreme>()));
const DOWN: Extreme = changetype<Extreme>(memory.data(offsetof<Extreme>()));
const SUM: SignSum = changetype<SignSum>(memory.data(offsetof<SignSum>()));

/** Of the channels near the noise the one that shows most: its ln odds of a touch, and the times of it. */
@unmanaged class Faintest {
  logOdds: f32;
  arrival_s: f32;
  departure_s: f32;
}
const FAINTEST: Faintest = changetype<Faintest>(memory.data(offsetof<Faintest>()));

/** A channel near the noise. @param largestUp - what stands out most on it @param largestDown - the same @param into - kept where it shows more */
function weighFaint(at: u32, c: u32, largestUp: Extreme, largestDown: Extreme, into: Faintest): void {
  const e = channelAt(at, c);
  bankSum(c, largestUp, largestDown, SUM);
  // What moves slowly is no independent noise: its samples tell less of a sign than so many of white noise.
  const share = CALM / max<f32>(CALM, cleanedAt(c).unrest);
  const odds = (SUM.up - SUM.down) * share * share;
  e.signLogOdds = limited(odds * (1 + FLATTENED * exponential(-abs(odds) / FLATTENED_TO)));
  const high = max(SUM.up, SUM.down);
  const low = min(SUM.up, SUM.down);
  const touched = high + logarithm(<f32>0.5 + <f32>0.5 * exponential(low - high)) - SUM.anyFlux;
  e.touchLogOdds = limited(touched);
  const up = SUM.up >= SUM.down;
  const main = up ? largestUp : largestDown;
  const other = up ? largestDown : largestUp;
  e.flux_Wb = bankFlux_Wb(main.width, up ? main.output : -main.output);
  const noise_Wb = bankFlux_Wb(main.width, 64);
  e.u_flux_Wb = sqrt<f32>(CHOSEN * CHOSEN * noise_Wb * noise_Wb + WIDTH_SHARE * WIDTH_SHARE * e.flux_Wb * e.flux_Wb);
  e.peak_V = <f32>load<i32>(gridChannel(c) + (main.at + bankLength(main.width) / 2) * 4) * GRID_V;
  const arrival_s = gridStart_s + (<f32>main.at + <f32>bankLength(main.width) * <f32>0.5) / gridRate_Hz;
  let departure_s: f32 = 0;
  if (other.at > main.at && other.most > 5 * 64) {
    e.departure_Wb = bankFlux_Wb(other.width, up ? -other.output : other.output);
    departure_s = gridStart_s + (<f32>other.at + <f32>bankLength(other.width) * <f32>0.5) / gridRate_Hz;
    if (main.output > SEEN && arrival_s < -LIFTED_s) e.signLogOdds *= EITHER;
  }
  if (isAtBeginning(main.at)) {
    e.signLogOdds = 0;
    e.touchLogOdds = min<f32>(0, e.touchLogOdds);
    return;
  }
  if (touched > into.logOdds) {
    into.logOdds = touched;
    into.arrival_s = arrival_s;
    into.departure_s = departure_s;
  }
}

const SLOW: SlowArrival = changetype<SlowArrival>(memory.data(offsetof<SlowArrival>()));
const SHARE: SlowShare = changetype<SlowShare>(memory.data(offsetof<SlowShare>()));

/**
 * A touch slower than the sum over shapes and the events know. Parameters as of findSlow.
 * @param tellsLeast - ln odds of its sign, at least
 * @returns whether it is one
 */
function weighSlow(at: u32, left: f32, inOne: f32, tellsLeast: f32): bool {
  let usable: u32 = 0;
  for (let c: u32 = 0; c < gridChannels; c++) if ((channelAt(at, c).flags & (TouchFlag.overrange | TouchFlag.burst)) == 0) usable |= 1 << c;
  if (!findSlow(usable, left, inOne, SLOW) || abs(SLOW.tells) < tellsLeast) return false;
  const tells = abs(SLOW.tells);
  // Steel that lay there may be taken off slowly.
  const before = SLOW_LIFT * restsClearly();
  const sure = logarithm((exponential(tells) * (1 - before) + before) / ((1 - before) + exponential(tells) * before));
  for (let c: u32 = 0; c < gridChannels; c++) {
    if ((usable >> c & 1) == 0) continue;
    measureSlow(c, SLOW.flux_Wb, SHARE);
    const e = channelAt(at, c);
    const z = SHARE.stands;
    const odds = c == SLOW.leader ? sure : min(z * z / 2, sure);
    e.flux_Wb = SHARE.flux_Wb;
    e.u_flux_Wb = SHARE.u_Wb;
    e.signLogOdds = SHARE.flux_Wb >= 0 ? odds : -odds;
    e.touchLogOdds = limited(z * z / 2 - logarithm(1 + z) - 1);
    e.matched_d = z;
  }
  const touch = changetype<TouchEvidence>(<usize>at);
  touch.arrival_s = SLOW.arrival_s;
  touch.contacts = 1;
  touch.flags = <u16>(TouchFlag.noDeparture | TouchFlag.stays);
  return true;
}
/** Ln odds from which a channel near the noise is heard. */
const HEARD: f32 = 3;
/** A slow movement leaves no more than this share of what moves: where events were found, and where nothing else was heard. */
const CLEARLY_SLOW: f32 = 0.08;
const LIKELY_SLOW: f32 = 0.45;
/**
 * Where events were found, it is spread: no mean over 20 ms has more than this share of it; and it tells its sign, ln odds, or
 * else the events do.
 */
const IN_ONE: f32 = 0.3;
const TELLS_LEAST: f32 = 2.5;
/** Of the lifts of steel that lay there so many are as slow. */
const SLOW_LIFT: f32 = 0.05;

/** Head of a touch of which every channel is near the noise. */
function summariseFaint(at: u32, faintest: Faintest): void {
  const touch = changetype<TouchEvidence>(<usize>at);
  touch.arrival_s = faintest.arrival_s;
  touch.departure_s = faintest.departure_s;
  touch.contacts = <u16>(faintest.logOdds > HEARD ? 1 : 0);
  let flags: u32 = TouchFlag.weak;
  if (faintest.logOdds <= HEARD) flags |= TouchFlag.none;
  if (faintest.departure_s == 0) flags |= TouchFlag.noDeparture | TouchFlag.stays;
  touch.flags = <u16>flags;
}

/** Whether a capture began well before its trigger, and hardly any steel lay there: what moves at its beginning is no hand. */
function beginsStill(): bool { return gridStart_s < SETTLES_BEFORE_s && restsClearly() <= RESTS_RARELY; }
/** Whether something begins with such a capture. */
function isAtBeginning(from: u32): bool { return from < SETTLES_SAMPLES && beginsStill(); }
/**
 * Whether an event is most at the beginning of a capture: an amplifier that settles, not an arrival, whose emf rises first, nor a lift where
 * hardly any steel lay.
 */
function settles(c: u32, e: Event): bool {
  if (!isAtBeginning(e.from)) return false;
  let sum: i32 = 0;
  for (let i: u32 = 0; i < SETTLES_SAMPLES; i++) sum += load<i32>(gridChannel(c) + i * 4);
  return <f32>sum * GRID_V / <f32>SETTLES_SAMPLES / e.peak_V > SETTLES_SHARE;
}
const SETTLES_BEFORE_s: f32 = -0.03;
const RESTS_RARELY: f32 = 0.1;
const SETTLES_SAMPLES: u32 = 8;
const SETTLES_SHARE: f32 = 0.75;

/** Marks the events that count for the channel measured last. @returns its largest net flux as a size, over range for less */
function countEvents(c: u32, deviation: f32): f32 {
  let largest: f32 = 0;
  for (let i: u32 = 0; i < eventCount; i++) if (!isLift(i)) largest = max(largest, abs(eventAt(i).flux_Wb));
  for (let i: u32 = 0; i < eventCount; i++) {
    const e = eventAt(i);
    const size = abs(e.flux_Wb);
    // Of what lies in a burst nobody knows the flux.
    const heard = missing(c, e.from, e.to) == 0;
    const clear = size > COUNT_u * whiteNoise_Wb(deviation, e.to - e.from) && size > COUNT_hum * cleanedAt(c).humLeft_Wb;
    const moved = heard && clear && !settles(c, e) && size > COUNT_SHARE * largest && size > NO_FLUX_SHARE * abs(e.excursion_Wb);
    e.counts = moved || (e.over != 0 && heard) ? 1 : 0;
    e.bounced = moved && e.bounce_Wb > max(BOUNCE_SHARE * size, COUNT_u * fluxNoise_Wb(c, deviation, e.to - e.from)) ? 1 : 0;
    if (!moved) e.vague = e.over;
  }
  let leads: f32 = 0;
  for (let i: u32 = 0; i < eventCount; i++) {
    const e = eventAt(i);
    if (e.counts != 0 && !isLift(i)) leads = max(leads, abs(e.flux_Wb) * (e.over != 0 ? OVER_SHARE : 1));
  }
  return leads;
}
/** Over range a flux is a lower bound and its sign may be open: of two channels one that heard all of an event leads. */
const OVER_SHARE: f32 = 0.2;

/** What a channel has in each event, without the lift that runs into an arrival: findLift goes before. */
function measureTouch(c: u32): void {
  measureEvents(c);
  takeLiftOut(c);
}

/** The channel with the largest flux tells what happened when, and is measured last. @returns it, or NO_LEADER where nothing counts */
function findLeader(at: u32): i32 {
  let leader = NO_LEADER;
  let largest: f32 = 0;
  for (let c: u32 = 0; c < gridChannels; c++) {
    measureTouch(c);
    const size = countEvents(c, channelAt(at, c).noise_V / GRID_V);
    // What was missed in a burst may be the arrival: another channel leads where there is one.
    const weight = size * (gapCount(c) > 0 ? GAP_SHARE : 1);
    if (weight > largest) {
      largest = weight;
      leader = <i32>c;
    }
  }
  if (leader >= 0) {
    measureTouch(leader);
    countEvents(leader, channelAt(at, leader).noise_V / GRID_V);
  }
  return leader;
}
const GAP_SHARE: f32 = 0.03;
/** What findLeader and weighStrong say where nothing counts, and where the sum over shapes knows better than events. */
const NO_LEADER: i32 = -1;
const FAINT: i32 = -2;

/** A touch of which at least one channel stands out of the noise. @returns the channel that told what happened when, NO_LEADER or FAINT */
function weighStrong(at: u32): i32 {
  const touch = changetype<TouchEvidence>(<usize>at);
  eventsBegin();
  const rests = readRest(at, gridChannels);
  for (let c: u32 = 0; c < gridChannels; c++) {
    if (load<u8>(MARKED + c) == 0) continue;
    markActivity(c);
  }
  collectEvents();
  for (let c: u32 = 0; c < gridChannels; c++) {
    if (load<u8>(MARKED + c) == 0) continue;
    measureEvents(c);
    splitEvents(c);
  }
  let lost: u32 = 0;
  let deviation: f32 = 0;
  for (let c: u32 = 0; c < gridChannels; c++) {
    lost |= channelAt(at, c).flags & (TouchFlag.overrange | TouchFlag.burst);
    deviation = max(deviation, channelAt(at, c).noise_V / GRID_V);
  }
  if (lost == 0) splitByShares(gridChannels, deviation);
  for (let c: u32 = 0; c < gridChannels; c++) {
    measureEvents(c);
    countEvents(c, channelAt(at, c).noise_V / GRID_V);
    keepFluxes(c, channelAt(at, c).noise_V / GRID_V);
  }
  if (rests) findLift(gridChannels);
  else if (lost == 0) findOtherLift(gridChannels);
  let leader = findLeader(at);
  if (leader < 0) {
    doubtLift();
    leader = findLeader(at);
  }
  if (!anyStrong() && (leader < 0 || counted() < EVENTS_LEAST)) return FAINT;
  if (leader < 0) {
    touch.flags = <u16>(TouchFlag.none | TouchFlag.noFlux | TouchFlag.noDeparture);
    for (let c: u32 = 0; c < gridChannels; c++) withoutFlux(at, c);
    return NO_LEADER;
  }
  weighEvents(at, leader);
  // Where the leader heard nothing but steel go, what comes after it may be on another channel alone.
  if (STORY.contacts == 0 && STORY.madeBefore && !beganAfter()) {
    let first: u32 = 0;
    while (first < eventCount && eventAt(first).counts == 0) first++;
    takeForLift(first);
    const next = findLeader(at);
    if (next >= 0) {
      leader = next;
      weighEvents(at, leader);
    }
  }
  touch.arrival_s = STORY.arrival >= 0 ? eventTime_s(eventAt(<u32>STORY.arrival)) : gridStart_s;
  touch.departure_s = STORY.departure >= 0 ? eventTime_s(eventAt(<u32>STORY.departure)) : 0;
  touch.contacts = <u16>STORY.contacts;
  let flags: u32 = 0;
  if (STORY.madeBefore) flags |= TouchFlag.lateLift;
  if (STORY.departure < 0) flags |= TouchFlag.noDeparture;
  if (STORY.stays) flags |= TouchFlag.stays;
  if (channelAt(at, leader).flags & TouchFlag.bounced) flags |= TouchFlag.bounced;
  const arrival: u32 = STORY.arrival >= 0 ? <u32>STORY.arrival : <u32>max(0, STORY.departure);
  for (let c: u32 = 0; c < gridChannels; c++) {
    if (c == leader) continue;
    if (<i32>arrival == mixedAt) {
      followMixed(at, c, leader, arrival);
      continue;
    }
    follow(at, c, leader, arrival);
    if ((channelAt(at, c).flags & <u16>TouchFlag.overrange) != 0) followEvents(at, c, channelAt(at, leader), arrival);
  }
  touch.flags = <u16>flags;
  return leader;
}
function anyStrong(): bool {
  for (let c: u32 = 0; c < gridChannels; c++) if (load<u8>(MARKED + c) == 2) return true;
  return false;
}
/** Events that count for the channel measured last. */
function counted(): u32 {
  let count: u32 = 0;
  for (let k: u32 = 0; k < eventCount; k++) count += u32(eventAt(k).counts != 0);
  return count;
}

/** Peaks without flux on a channel: nothing that names a sign. measureEvents of it need not go before. */
function withoutFlux(at: u32, c: u32): void {
  const e = channelAt(at, c);
  measureEvents(c);
  for (let i: u32 = 0; i < eventCount; i++) {
    const event = eventAt(i);
    if (abs(event.peak_V) > abs(e.peak_V)) {
      e.peak_V = event.peak_V;
      e.flux_Wb = event.flux_Wb;
      e.u_flux_Wb = fluxNoise_Wb(c, e.noise_V / GRID_V, event.to - event.from);
    }
  }
  e.signLogOdds = 0;
  e.touchLogOdds = -3;
  e.flags = e.flags | <u16>TouchFlag.noFlux;
}

/** What the leader's events mean. */
const STORY: Story = changetype<Story>(memory.data(offsetof<Story>()));

/** A channel judged by its own events: measureEvents and countEvents of it go before. */
function weighEvents(at: u32, c: u32): void {
  const e = channelAt(at, c);
  const odds = weighStories(c, e.noise_V / GRID_V, (e.flags & <u16>TouchFlag.overrange) != 0, STORY);
  e.signLogOdds = limited(odds);
  e.touchLogOdds = CAP;
  const sign: f32 = odds >= 0 ? 1 : -1;
  const main: Event = eventAt(<u32>max(0, STORY.arrival >= 0 ? STORY.arrival : STORY.departure));
  const noise = fluxNoise_Wb(c, e.noise_V / GRID_V, main.to - main.from);
  let flux = STORY.flux_Wb;
  if (STORY.departure >= 0) {
    const left = abs(eventAt(<u32>STORY.departure).flux_Wb);
    e.departure_Wb = -sign * left;
    // A slow start is lost below the noise and a peak over range is a lower bound: the larger one is nearer to the truth.
    flux = max(flux, left);
  }
  e.flux_Wb = sign * flux;
  e.u_flux_Wb = sqrt<f32>(BASELINE * noise * noise + MODEL_SHARE * MODEL_SHARE * flux * flux);
  e.peak_V = main.peak_V;
  if (main.bounce_Wb > BOUNCE_SHARE * flux) e.flags = e.flags | <u16>TouchFlag.bounced;
}

/** A channel over range: its share of the arrival, or else of the departure, is that event's; follow goes before. */
function followEvents(at: u32, c: u32, lead: ChannelEvidence, arrival: u32): void {
  const e = channelAt(at, c);
  measureTouch(c);
  countEvents(c, e.noise_V / GRID_V);
  const first = eventAt(arrival);
  const last = eventAt(<u32>max(0, STORY.departure));
  const told = first.counts != 0 && first.vague == 0;
  if (!told && (STORY.departure < 0 || last.counts == 0 || last.vague != 0)) {
    e.signLogOdds = 0;
    return;
  }
  const flux = told ? first.flux_Wb : -last.flux_Wb;
  e.flux_Wb = flux;
  e.u_flux_Wb = <f32>0.1 * abs(flux);
  e.signLogOdds = limited(flux >= 0 ? abs(lead.signLogOdds) : -abs(lead.signLogOdds));
  e.touchLogOdds = CAP;
}

/** Share of the lift on a channel that may be left where it was taken out of an arrival. */
const MIXED_SHARE: f32 = 0.15;
/** A channel beside the leader, of an arrival into which the lift of the last touch ran: its waveform holds both. */
function followMixed(at: u32, c: u32, leader: u32, arrival: u32): void {
  const e = channelAt(at, c);
  const lead = channelAt(at, leader);
  measureTouch(c);
  const event = eventAt(arrival);
  const noise = fluxNoise_Wb(c, e.noise_V / GRID_V, event.to - event.from);
  const model = MIXED_SHARE * abs(liftShare_Wb(c)) + <f32>0.02 * abs(event.flux_Wb) + <f32>0.003 * abs(lead.flux_Wb);
  e.flux_Wb = event.flux_Wb;
  e.u_flux_Wb = sqrt<f32>(noise * noise + model * model);
  e.peak_V = event.peak_V;
  const z = abs(e.flux_Wb) / e.u_flux_Wb;
  const odds = min(z * z / 2, abs(lead.signLogOdds));
  e.signLogOdds = limited(e.flux_Wb >= 0 ? odds : -odds);
  e.touchLogOdds = limited(z * z / 2 - logarithm(1 + z) - 1);
  e.matched_d = z;
}

/** A channel that moves little or not: its share of the leader's waveform over the leader's events. */
function follow(at: u32, c: u32, leader: u32, arrival: u32): void {
  const e = channelAt(at, c);
  const lead = channelAt(at, leader);
  const base = gridChannel(c);
  const leadBase = gridChannel(leader);
  let high: i32 = 1;
  let own: i32 = 1;
  for (let k: u32 = 0; k < eventCount; k++) {
    const event = eventAt(k);
    if (isLift(k) || <i32>k == mixedAt || missing(c, event.from, event.to) + missing(leader, event.from, event.to) > 0) continue;
    for (let i = event.from; i < event.to; i++) {
      high = max(high, abs(load<i32>(leadBase + i * 4)));
      own = max(own, abs(load<i32>(base + i * 4)));
    }
  }
  let leadShift: i32 = 0;
  let ownShift: i32 = 0;
  while ((high >> leadShift) > 16383) leadShift++;
  while ((own >> ownShift) > 16383) ownShift++;
  let cross: i64 = 0;
  let energy: i64 = 0;
  for (let k: u32 = 0; k < eventCount; k++) {
    const event = eventAt(k);
    if (isLift(k) || <i32>k == mixedAt || missing(c, event.from, event.to) + missing(leader, event.from, event.to) > 0) continue;
    for (let i = event.from; i < event.to; i++) {
      const x = load<i32>(leadBase + i * 4) >> leadShift;
      cross += x * (load<i32>(base + i * 4) >> ownShift);
      energy += x * x;
    }
  }
  const scale = <f32>(1 << ownShift) / <f32>(1 << leadShift);
  const share = <f32>cross / max<f32>(1, <f32>energy) * scale;
  const u = e.noise_V / GRID_V / (sqrt<f32>(max<f32>(1, <f32>energy)) * <f32>(1 << leadShift));
  const sign: f32 = lead.signLogOdds >= 0 ? 1 : -1;
  const z = share / u;
  e.flux_Wb = share * lead.flux_Wb;
  const model = <f32>0.02 * abs(e.flux_Wb) + <f32>0.003 * abs(lead.flux_Wb);
  e.u_flux_Wb = sqrt<f32>(u * u * lead.flux_Wb * lead.flux_Wb + model * model);
  // Model errors (crosstalk through capacitance, hum) are not Gaussian: the share of the leader limits z too.
  // A leader without flux of its own tells nothing of what follows it.
  const honest = e.u_flux_Wb > 0 ? abs(e.flux_Wb) / e.u_flux_Wb : 0;
  const own_z = min(abs(z), honest);
  const odds = min(own_z * own_z / 2, abs(lead.signLogOdds));
  e.signLogOdds = limited(share * sign >= 0 ? odds : -odds);
  e.touchLogOdds = limited(own_z * own_z / 2 - logarithm(1 + own_z) - 1);
  e.matched_d = abs(z);
  e.departure_Wb = share * lead.departure_Wb;
  measureEvents(c);
  const event = eventAt(arrival);
  e.peak_V = event.peak_V;
  if (abs(event.flux_Wb) < NO_FLUX_SHARE * abs(event.excursion_Wb)
    && abs(event.peak_V) > 20 * e.noise_V && own_z < 6) e.flags = e.flags | <u16>TouchFlag.noFlux;
}
