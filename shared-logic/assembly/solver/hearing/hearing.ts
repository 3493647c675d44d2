/**
 * What was heard of one touch: the channels of a capture, or what a person saw on a meter at one place. From it, how
 * likely the touch was on each winding, and what it says of that winding's sign.
 */
import { ChannelEvidence, EntryFlag, MAX_OBSERVED, NONE, ObservedEvidence, Swing, TouchFlag } from '../../layout';
import { evidence, observedEvidence, touchEvidence } from '../../blocks';
import { addChannel, addCovariance, CHANNELS_most, channelsUsed, clearChannels, factor, Forms } from './likelihood';
import { isCloseBy } from './coupling';
import { mostCoils } from '../ground/expected';
import { channelAt, response, unreadRange, vertexOf } from '../ground/witness';
import { addLogs, exponential, logarithm } from '../../waves';
import {
  CLIPS, NOTHING, ohmOf, PAIR_VALUE, partOf, stateOf, Winding, WINDING_ARM, WINDING_GUESSED, WINDING_LOOP, windingAt, windingCount,
} from '../ground/workspace';
import {
  ALIVE_d, ALIVE_LOG_ODDS, ALONE, APART_SHARE, BOUND_OUTDONE, BOUND_OUTDONE_LOG, BOUND_SPREAD, CLOSE_SPREAD, COUPLED_u,
  HAND_LOG, HAND_ohm, HAND_PER_OHM, HAND_SPREAD, HEARD, METER_COUNT_Wb, METER_SPREAD, METER_s, NOISE_d, NOISE_u, OUTDONE_LOG,
  OVERRANGE_LOG, OWN_SPREAD, SETTLED_d, SETTLED_u, SHARE, SHARE_BESIDE, SHARE_LOG_SPREAD, SHARE_SPREAD, SHARE_UNSEEN, SWING_LOG_ODDS,
  TOUCH_LOG_ODDS, UNUSUAL_MOST,
} from '../ground/limits';

/** Per channel heard: plus vertex, minus vertex, flags; value, u, ln odds of sign and of touch. */
@unmanaged class Heard {
  plus: u8;
  minus: u8;
  /** 1 the size is not known, 2 nothing moved, 4 read on a meter, 8 over range. */
  flags: u16;
  y: f32;
  u: f32;
  sign: f32;
  touch: f32;
}
const HEARD_bytes: u32 = 20;
const heard: usize = memory.data(160);
export let heardCount: u32 = 0;
export let heardPlace: u32 = NONE;
/** Largest size heard; 0 when nothing has a size. */
export let heardMost: f32 = 0;
/** Whether the channels' odds of a sign are the same event's, seen from each, and no news of each other. */
let heardAsOne: bool = false;
/** Whether all channels are near the noise, and each was heard by itself. */
let heardFaint: bool = false;
/** ln odds against a channel over range that sees a share. */
let overLog: f32 = 0;
/** Whether most was seen between clips that nothing is known to connect: across a broken coil, or one that was not read. */
let heardApart: bool = false;

@inline function heardAt(c: u32): Heard { return changetype<Heard>(heard + c * HEARD_bytes); }

function noiseOf(d: f32): f32 {
  const settled = max<f32>(0, min<f32>(1, (d - NOISE_d) / (SETTLED_d - NOISE_d)));
  return NOISE_u + (SETTLED_u - NOISE_u) * settled;
}

/**
 * Loads touch t.
 * @param only - part of which the channels are loaded; NOTHING for all
 * @returns whether anything was heard; of one part, only when no other showed more
 */
export function hearTouch(t: u32, only: u32 = NOTHING): bool {
  let outside: f32 = 0;
  let apart: f32 = 0;
  let along: f32 = 0;
  let scale: f32 = f32.MAX_VALUE;
  const touch = touchEvidence(t);
  heardCount = 0;
  heardMost = 0;
  heardPlace = touch.place;
  heardFaint = (touch.flags & <u16>TouchFlag.weak) != 0;
  heardAsOne = !heardFaint;
  // Where the last touch was lifted in the capture, it may have been its coil that went over range.
  overLog = (touch.flags & <u16>TouchFlag.lateLift) != 0 ? 0 : OVERRANGE_LOG;
  for (let c: u32 = 0; c < <u32>touch.channelCount; c++) {
    const channel = channelAt(t, c);
    const plus = vertexOf(channel.plus);
    const minus = vertexOf(channel.minus);
    // Between parts there is no wire: what shows there came through the air.
    if (plus == minus) continue;
    if (partOf(plus) != partOf(minus)) {
      // Across a leak a coil shows by way of it.
      if (showsTouch(channel) && stateOf(plus, minus) != PAIR_VALUE) apart = max<f32>(apart, abs<f32>(channel.peak_V));
      continue;
    }
    along = max<f32>(along, abs<f32>(channel.peak_V));
    if (only != NOTHING && partOf(plus) != only) {
      outside = max<f32>(outside, abs<f32>(channel.flux_Wb));
      continue;
    }
    // A lead without contact all the while tells nothing, not even that nothing moved.
    if ((channel.flags & <u16>TouchFlag.burst) != 0 && abs<f32>(channel.flux_Wb) < channel.u_flux_Wb) continue;
    const h = heardAt(heardCount++);
    h.plus = <u8>plus;
    h.minus = <u8>minus;
    h.flags = 0;
    h.y = channel.flux_Wb;
    h.u = channel.u_flux_Wb * noiseOf(channel.matched_d) + <f32>1e-9;
    h.sign = channel.signLogOdds;
    h.touch = channel.touchLogOdds;
    // A broken coil's peaks without flux.
    if ((channel.flags & <u16>TouchFlag.noFlux) != 0) {
      h.flags = 2;
      h.sign = 0;
      h.touch = min<f32>(h.touch, 0);
    }
    if ((channel.flags & <u16>TouchFlag.overrange) != 0) h.flags |= 8;
    else if (channel.matched_d > ALIVE_d && h.flags == 0) {
      const share = h.u / abs<f32>(h.y);
      const noise = noiseOf(channel.matched_d) / channel.matched_d;
      scale = min<f32>(scale, share * share - noise * noise);
    }
    heardMost = max<f32>(heardMost, abs<f32>(h.y));
  }
  if (heardCount > 1 && scale > 0 && scale < 1) takeScaleOff(scale);
  heardApart = only == NOTHING && mostCoils() > windingCount && apart > APART_SHARE * along;
  return heardCount > 0 && heardMost >= outside;
}

/**
 * What the sizes of one touch are uncertain by in common, such as how slowly it moved, leaves their ratios as they are: these
 * tell the touched coil from its neighbours, to no more than each channel's own noise.
 * @param variance - relative, above the noise, of the clear channel that has least
 */
function takeScaleOff(variance: f32): void {
  for (let c: u32 = 0; c < heardCount; c++) {
    const h = heardAt(c);
    if ((h.flags & 10) == 0) h.u = sqrt<f32>(max<f32>(0, h.u * h.u - variance * h.y * h.y)) + <f32>1e-9;
  }
}

/** Whether a channel shows a touch, be it without flux. */
@inline function showsTouch(channel: ChannelEvidence): bool {
  return channel.touchLogOdds > ALIVE_LOG_ODDS || ((channel.flags & <u16>TouchFlag.noFlux) != 0 && channel.matched_d > ALIVE_d);
}

/**
 * Loads what was observed at one place, the n-th repeat of each pair; an observation without a place stands alone.
 * @param first - number of the observation that the group begins with
 * @param only - part of which the observations are loaded; NOTHING for all
 * @returns false when this observation belongs to an earlier group
 */
export function hearObserved(first: u32, only: u32 = NOTHING): bool {
  const begin = observedEvidence(first);
  heardCount = 0;
  heardMost = 0;
  heardPlace = begin.place;
  heardAsOne = false;
  heardFaint = false;
  heardApart = false;
  const repeat = repeatOf(first);
  for (let n: u32 = 0; n < <u32>evidence().observedCount && n < MAX_OBSERVED; n++) {
    const other = observedEvidence(n);
    const same = n == first || (begin.place != <u8>NONE && other.place == begin.place && repeatOf(n) == repeat);
    if (!same) continue;
    if (n < first) return false;
    if (only == NOTHING || partOf(vertexOf(other.plus)) == only) addObserved(other);
  }
  return true;
}

const LEAST_UNIT_Wb: f32 = 1e-12;

/** How many earlier observations at the same place were of the same pair. */
function repeatOf(n: u32): u32 {
  const it = observedEvidence(n);
  let count: u32 = 0;
  for (let m: u32 = 0; m < n; m++) {
    const other = observedEvidence(m);
    if (other.place != it.place) continue;
    const same = other.plus == it.plus && other.minus == it.minus;
    if (same || (other.plus == it.minus && other.minus == it.plus)) count++;
  }
  return count;
}

function addObserved(it: ObservedEvidence): void {
  const plus = vertexOf(it.plus);
  const minus = vertexOf(it.minus);
  if (plus == minus || partOf(plus) != partOf(minus) || heardCount == CHANNELS_most) return;
  const h = heardAt(heardCount++);
  h.plus = <u8>plus;
  h.minus = <u8>minus;
  h.flags = 4;
  h.y = 0;
  h.u = METER_COUNT_Wb;
  h.sign = 0;
  h.touch = -3;
  if (it.swing == <u8>Swing.none) {
    h.flags |= 2;
    return;
  }
  const positive = it.swing == <u8>Swing.positive;
  h.sign = positive ? SWING_LOG_ODDS : -SWING_LOG_ODDS;
  h.touch = 3;
  if ((it.flags & EntryFlag.peakKnown) == 0) h.flags |= 1;
  else h.y = (positive ? it.peak_V : -it.peak_V) * METER_s;
  // In units of next to nothing what a meter does not show would have no square in f32.
  if (h.y != 0) heardMost = max<f32>(heardMost, max<f32>(LEAST_UNIT_Wb, abs<f32>(h.y)));
}

/** What was loaded last says of "the touch was on this winding". */
@unmanaged export class Weighed {
  /** ln likelihood, against "nothing was touched". */
  log: f32;
  /** ln odds of "its end i went positive". */
  sign: f32;
  /** ln of the flux that the touch would have had; 0 when the size is not known. */
  size: f32;
  /** Whether the winding shows on any channel. */
  isHeard: bool;
  /** Whether the emf that fits the sizes best lifts end i. */
  isUp: bool;
}

function ohmAlong(w: Winding): f32 {
  return (w.flags & <u8>WINDING_LOOP) != 0 || <u32>w.i >= CLIPS || <u32>w.j >= CLIPS ? w.ohm : ohmOf(w.i, w.j);
}

/** Share of one winding's emf, i positive, that shows on a channel. */
function shown(w: Winding, h: Heard): f32 {
  const plus: u32 = h.plus;
  const minus: u32 = h.minus;
  if (partOf(plus) != <u32>w.part) return 0;
  if ((w.flags & <u8>WINDING_ARM) != 0 && (<u32>w.i >= CLIPS || <u32>w.j >= CLIPS)) {
    const clip: u32 = <u32>w.i < CLIPS ? w.i : w.j;
    const sign: f32 = <u32>w.i < CLIPS ? 1 : -1;
    return sign * <f32>(i32(plus == clip) - i32(minus == clip));
  }
  const ohm = ohmAlong(w);
  // Pairs that nobody read may lie in one line or beside each other: what only one of the two says is not heard.
  if (unreadRange(plus, minus, w.i, w.j) > HEARD * 2 * ohm) {
    w.flags |= <u8>WINDING_GUESSED;
    return 0;
  }
  return response(plus, minus, w.i, w.j) / (2 * ohm);
}

/** `shown` of every winding on every channel of what was loaded last. */
const SHOWN: usize = memory.data(480);
@inline function shownAt(w: u32, c: u32): f32 { return load<f32>(SHOWN + ((w << 3) + c << 2)); }
/** Makes what was loaded last ready for `weigh`. */
export function fillShown(): void {
  for (let w: u32 = 0; w < windingCount; w++) {
    for (let c: u32 = 0; c < heardCount; c++) store<f32>(SHOWN + ((w << 3) + c << 2), shown(windingAt(w), heardAt(c)));
  }
}

/** For each winding those that are coupled to it more closely than coils side by side, a bit each. */
const CLOSE: usize = memory.data(60);
export function fillClose(): void {
  for (let w: u32 = 0; w < windingCount; w++) {
    let mask: u32 = 0;
    for (let v: u32 = 0; v < windingCount; v++) if (v != w && isCloseBy(w, v)) mask |= 1 << v;
    store<u32>(CLOSE + (w << 2), mask);
  }
}
/** Whether two windings are coupled so closely that one's touch drives the other too. */
export function isClose(w: u32, v: u32): bool { return ((load<u32>(CLOSE + (w << 2)) >> v) & 1) != 0; }

/** ln odds of a winding's sign by the channels of what was loaded last that show it and no other, where their flux is clear. */
export function signAlone(w: u32): f32 {
  fillShown();
  let sum: f32 = 0;
  for (let c: u32 = 0; c < heardCount; c++) {
    const h = heardAt(c);
    const own = shownAt(w, c);
    let others: f32 = 0;
    for (let v: u32 = 0; v < windingCount; v++) if (v != w) others = max<f32>(others, abs<f32>(shownAt(v, c)));
    if (abs<f32>(own) < ALONE || others > HEARD || (h.flags & 7) != 0 || abs<f32>(h.y) < COUPLED_u * h.u) continue;
    sum += own > 0 ? h.sign : -h.sign;
  }
  return sum;
}

/** ln of the usual flux of these windings. */
let handLog: f32 = HAND_LOG;
/**
 * Finds the usual flux of the windings that are listed: it goes with their turns, and these with their ohms where the wire is the
 * same, with the root of them where thicker wire fills the same room.
 */
export function fillHand(): void {
  let sum: f32 = 0;
  for (let w: u32 = 0; w < windingCount; w++) sum += ohmAlong(windingAt(w));
  const usual = sum / (<f32>windingCount * HAND_ohm);
  handLog = sum > 0 && usual < 1 ? HAND_LOG + HAND_PER_OHM * logarithm(usual) : HAND_LOG;
}

/** How far ln flux is from the usual; far off it says no more, so that a faint touch is heard as well as a strong one. */
export function unusual(size: f32): f32 { return max<f32>(-UNUSUAL_MOST, min<f32>(UNUSUAL_MOST, size - handLog)); }

/** ln of the density of a touch's size. @param size - ln of flux */
function sizePrior(size: f32, spread: f32): f32 {
  const z = unusual(size) / spread;
  return -z * z / 2 - logarithm(spread);
}

/** Student's tail: what fits badly counts against a winding, but never without bound. @param q - sum of squares of n */
@inline function tail(q: f32, n: u32): f32 { return -(3 + <f32>n) / 2 * logarithm(1 + q / 3); }

/** What the weighing below reads of `explain`. */
const FORMS: Forms = changetype<Forms>(memory.data(offsetof<Forms>()));

/**
 * The channels of known size under "the touch of this size was on this winding": its own emf, shares of it on all others.
 * @param w - winding, or windingCount for none of them @param flux - size in units of heardMost
 */
function explain(w: u32, flux: f32, into: Forms): void {
  clearChannels();
  for (let c: u32 = 0; c < heardCount; c++) {
    const h = heardAt(c);
    if ((h.flags & 1) != 0) continue;
    const a: f32 = w < windingCount ? shownAt(w, c) : 0;
    // Over range a size is a lower bound: it may well have been more, hardly less.
    const size = flux * abs<f32>(a);
    const bound = (h.flags & 8) != 0 && size >= abs<f32>(h.y) / heardMost;
    const noise = h.u / heardMost + (bound ? BOUND_SPREAD * size : 0);
    const own = ((h.flags & 4) != 0 ? METER_SPREAD : OWN_SPREAD) * flux * a;
    addChannel(h.y / heardMost, a, noise * noise + own * own + <f32>1e-6);
  }
  for (let v: u32 = 0; v < windingCount; v++) {
    if (v == w) continue;
    const spread = (w < windingCount && isClose(w, v) ? CLOSE_SPREAD : SHARE_SPREAD) * flux;
    let i: u32 = 0;
    for (let c: u32 = 0; c < heardCount; c++) {
      if ((heardAt(c).flags & 1) != 0) continue;
      let j: u32 = 0;
      for (let d: u32 = 0; d <= c; d++) {
        if ((heardAt(d).flags & 1) != 0) continue;
        addCovariance(i, j++, spread * spread * shownAt(v, c) * shownAt(v, d));
      }
      i++;
    }
  }
  factor(into);
}

/** Weighs "the touch was on this winding" for what was loaded last. */
export function weigh(w: u32, into: Weighed): void {
  into.sign = 0;
  into.size = 0;
  into.isHeard = false;
  let over: f32 = 0;
  let overOwn = false;
  let detected: f32 = -TOUCH_LOG_ODDS;
  let sized = false;
  let onMeter: u32 = 0;
  // Of swings without a size only their directions tell whether one emf makes them all.
  let swings: f32 = 0;
  let up: f32 = 0;
  let down: f32 = 0;
  // Of one event the surest channel of each direction counts, once.
  let surestUp: f32 = 0;
  let surestDown: f32 = 0;
  for (let c: u32 = 0; c < heardCount; c++) {
    const h = heardAt(c);
    const a = shownAt(w, c);
    if ((h.flags & 7) == 4) onMeter |= 1 << c;
    if (abs<f32>(a) < HEARD) {
      if ((h.flags & 8) != 0) over = overLog;
      continue;
    }
    into.isHeard = true;
    if ((h.flags & 9) == 8) overOwn = true;
    detected = together(detected, h.touch);
    const sign = a > 0 ? h.sign : -h.sign;
    into.sign += sign;
    surestUp = max<f32>(surestUp, sign);
    surestDown = max<f32>(surestDown, -sign);
    if ((h.flags & 1) != 0) {
      swings++;
      up += logarithm(probability(sign));
      down += logarithm(probability(-sign));
    } else {
      sized = true;
    }
  }
  if (!into.isHeard) {
    weighElsewhere(into);
    return;
  }
  if (heardAsOne) into.sign = surestUp - surestDown;
  // Beside a coil that is over range itself a share may be as well.
  if (overOwn) over = 0;
  if (heardApart) over += OUTDONE_LOG;
  // All channels hear the same touch: what they make of its sign together is worth no more than one touch.
  into.sign = max<f32>(-TOUCH_LOG_ODDS, min<f32>(TOUCH_LOG_ODDS, into.sign));
  const twos = swings * <f32>0.6931472;
  if (!sized || heardMost <= 0) {
    if (swings > 1) detected += addLogs(up, down) + twos - <f32>0.6931472;
    into.log = detected + weighBlind(w, into);
    return;
  }
  if (onMeter == 0) {
    into.log = detected - over + weighSized(w, into);
    return;
  }
  // A person reads a needle the wrong way now and then: all ways to have done so.
  const none: f32 = -1e30;
  let upward = none;
  let downward = none;
  let most = none;
  let size: f32 = 0;
  let read: u32 = 0;
  do {
    turnReadings(read);
    const log = weighSized(w, into) - <f32>popcnt<u32>(read) * SWING_LOG_ODDS + twos;
    turnReadings(read);
    if (log > most) {
      most = log;
      size = into.size;
    }
    if (into.isUp) upward = addLogs(upward, log + up);
    else downward = addLogs(downward, log + down);
    read = read - onMeter & onMeter;
  } while (read != 0);
  into.size = size;
  into.log = detected - over - unsizedShares(w) + addLogs(upward, downward);
  into.sign = max<f32>(-TOUCH_LOG_ODDS, min<f32>(TOUCH_LOG_ODDS, upward - downward));
}

/** Turns the sign of what the channels of a mask show. */
function turnReadings(mask: u32): void {
  for (let c: u32 = 0; c < heardCount; c++) if (((mask >> c) & 1) != 0) heardAt(c).y = -heardAt(c).y;
}

/** ln likelihood of the channels of known size under "the touch was on this winding", of the emf that fits best. */
function weighSized(w: u32, into: Weighed): f32 {
  let ya: f32 = 0;
  let aa: f32 = 0;
  let bounds = true;
  let bound: f32 = 0;
  for (let c: u32 = 0; c < heardCount; c++) {
    const a = shownAt(w, c);
    if (abs<f32>(a) < HEARD || (heardAt(c).flags & 1) != 0) continue;
    ya += heardAt(c).y * a;
    aa += a * a;
    bound = max<f32>(bound, abs<f32>(heardAt(c).y / a));
    if ((heardAt(c).flags & 8) == 0) bounds = false;
  }
  let flux = max<f32>(abs<f32>(ya / aa) / heardMost, <f32>1e-3);
  into.isUp = ya >= 0;
  if (bounds) return weighBounds(w, bound, into);
  for (let pass = 0; pass < 3; pass++) {
    explain(w, flux, FORMS);
    if (pass < 2) flux = max<f32>(abs<f32>(FORMS.answerValue / FORMS.answerAnswer), <f32>1e-3);
  }
  into.size = logarithm(flux * heardMost);
  into.isUp = FORMS.answerValue >= 0;
  const outdone: f32 = isOutdone(w, flux * heardMost, false) ? OUTDONE_LOG : 0;
  const left = max<f32>(0, FORMS.valueValue - FORMS.answerValue * FORMS.answerValue / FORMS.answerAnswer);
  return sizePrior(into.size, HAND_SPREAD) - outdone - logarithm(max<f32>(flux, 1 / sqrt<f32>(FORMS.answerAnswer)))
    - (logarithm(FORMS.answerAnswer) + FORMS.logDeterminant) / 2 + tail(left, channelsUsed() - 1);
}

/**
 * The same where all that hears the winding is over range: every flux from the bound up, in steps, of which the likeliest is the
 * size. No share is above 1: the bound is at least what any other coil shows.
 */
function weighBounds(w: u32, bound: f32, into: Weighed): f32 {
  const outdone: f32 = isOutdone(w, BOUND_OUTDONE * bound, true) ? BOUND_OUTDONE_LOG : 0;
  return weighSizes(w, max<f32>(1, bound / heardMost), BOUND_STEPS, into) - outdone;
}

/** ln likelihood of the channels over fluxes in steps of three, the likeliest of which is the size. @param flux - the first, in units of heardMost */
function weighSizes(w: u32, flux: f32, steps: u32, into: Weighed): f32 {
  let all: f32 = -1e30;
  let most = all;
  for (let step: u32 = 0; step < steps; step++) {
    explain(w, flux, FORMS);
    const size = logarithm(flux * heardMost);
    const left = max<f32>(0, FORMS.valueValue - 2 * flux * abs<f32>(FORMS.answerValue) + flux * flux * FORMS.answerAnswer);
    // One channel tells the flux where any shows the winding itself.
    const told: u32 = FORMS.answerAnswer > 0 ? channelsUsed() - 1 : channelsUsed();
    const log = sizePrior(size, HAND_SPREAD) - FORMS.logDeterminant / 2 + tail(left, told);
    all = addLogs(all, log);
    if (log > most) {
      most = log;
      into.size = size;
    }
    flux *= BOUND_STEP;
  }
  // Steps of ln 3 stand for the integral over ln flux.
  return all + BOUND_STEP_LOG;
}
const BOUND_STEPS: u32 = 5;
const BOUND_STEP: f32 = 3;
const BOUND_STEP_LOG: f32 = 0.0940;

/**
 * Whether a channel of another winding alone shows more than its whole emf would be if the touch of this flux was on w.
 * @param flux - Wb @param isBound - it is a lower bound, which only what is over range as well outdoes
 */
function isOutdone(w: u32, flux: f32, isBound: bool): bool {
  for (let c: u32 = 0; c < heardCount; c++) {
    const h = heardAt(c);
    if (abs<f32>(shownAt(w, c)) >= HEARD || (h.flags & 1) != 0 || abs<f32>(h.y) < 3 * h.u || (isBound && (h.flags & 8) == 0)) continue;
    for (let v: u32 = 0; v < windingCount; v++) {
      const a = abs<f32>(shownAt(v, c));
      if (v != w && a > <f32>0.9 && abs<f32>(h.y) > a * flux) return true;
    }
  }
  return false;
}

/**
 * The same where the winding's own channels have no size: every flux that a hand may bring, in steps, of which the others see shares; the
 * likeliest is the size.
 */
function weighBlind(w: u32, into: Weighed): f32 {
  let log: f32 = -unsizedShares(w);
  let sizes: u32 = 0;
  for (let c: u32 = 0; c < heardCount; c++) {
    const h = heardAt(c);
    if (abs<f32>(shownAt(w, c)) >= HEARD) continue;
    if ((h.flags & 8) != 0) log -= overLog;
    if ((h.flags & 1) == 0) sizes++;
  }
  if (heardMost <= 0 || sizes == 0) return log;
  return log + weighSizes(w, exponential(handLog) / heardMost / BLIND_FROM, BLIND_STEPS, into);
}
/** Steps from this part of the usual flux to as many times it. */
const BLIND_FROM: f32 = 27;
const BLIND_STEPS: u32 = 7;

/** Swings without a size that a winding shows no part of: each is a share that was large enough to be noted, more so where others got a size. */
function unsizedShares(w: u32): f32 {
  let count: f32 = 0;
  for (let c: u32 = 0; c < heardCount; c++) if (abs<f32>(shownAt(w, c)) < HEARD && (heardAt(c).flags & 1) != 0) count++;
  return count * (heardMost > 0 ? SHARE_BESIDE : SHARE_UNSEEN);
}

@inline function wideSpread(): f32 { return sqrt<f32>(HAND_SPREAD * HAND_SPREAD + SHARE_LOG_SPREAD * SHARE_LOG_SPREAD); }

/** Weighs "the touch was on a coil that no channel hears": all that shows are shares. Its ln likelihood and size, nothing else. */
export function weighElsewhere(into: Weighed): void {
  into.size = 0;
  into.log = heardCount == 0 ? 0 : logElsewhere(into);
}
function logElsewhere(into: Weighed): f32 {
  // A share may also be too small to be seen.
  const seen: f32 = max<f32>(heardTouch(), -1);
  for (let c: u32 = 0; c < heardCount; c++) if ((heardAt(c).flags & 8) != 0 && overLog != 0) return seen - overLog;
  if (heardMost <= 0) return seen - SHARE_UNSEEN;
  into.size = logarithm(max<f32>(heardMost, <f32>1e-9) / SHARE);
  explain(windingCount, 1 / SHARE, FORMS);
  return seen + sizePrior(into.size, wideSpread()) - FORMS.logDeterminant / 2 + tail(FORMS.valueValue, channelsUsed());
}

/** Whether a needle moved of which no size was noted. */
export function movedUnsized(): bool {
  for (let c: u32 = 0; c < heardCount; c++) if ((heardAt(c).flags & 1) != 0) return true;
  return false;
}

/** Channels of which a size is known. */
export function sizesHeard(): u32 {
  let count: u32 = 0;
  for (let c: u32 = 0; c < heardCount; c++) if ((heardAt(c).flags & 1) == 0) count++;
  return count;
}

/** ln odds that something was touched at all, of the channel that shows most. */
export function heardTouch(): f32 {
  let most: f32 = -TOUCH_LOG_ODDS;
  for (let c: u32 = 0; c < heardCount; c++) most = together(most, heardAt(c).touch);
  return most;
}
/** ln odds of a touch by what channels say so far and by one more: near the noise each is news, else they show one event. */
function together(soFar: f32, more: f32): f32 {
  return !heardFaint || soFar <= 0 || more <= 0 ? max<f32>(soFar, more) : min<f32>(TOUCH_LOG_ODDS, soFar + more);
}

export function probability(logOdds: f32): f32 { return 1 / (1 + exponential(-logOdds)); }
