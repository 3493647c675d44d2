/** Steel that the capture before left where it was: which event of this one is its lift. */
import { channelOf } from '../blocks';
import { ChannelEvidence, MAX_CHANNELS, TouchEvidence, TouchFlag } from '../layout';
import { begins_s, eventAt, eventCount } from './events';
import { GRID_V, HALF_STEP_u, gridRate_Hz, lastingRounding } from './grid';
import { LATE_LIFT, LATE_s, UNPAIRED, beganAfter, pairDensity, restsBefore, touchBefore } from './hand';
import { exponential, logarithm } from '../waves';

/** Net fluxes of all events on all channels, webers. */
const EVENTS_MOST: u32 = 12;
const FLUXES: usize = memory.data(288);
@inline function fluxOf(event: u32, channel: u32): f32 { return load<f32>(FLUXES + <usize>((event * MAX_CHANNELS + channel) * 4)); }
/** Channels of each event that lost samples in it, whose flux is a lower bound: a bit each. */
const OVERS: usize = memory.data(12);
/** Channels that count each event, a bit each. */
const COUNTED: usize = memory.data(12);
@inline function countsIn(event: u32, channel: u32): bool { return (load<u8>(COUNTED + <usize>event) >> <u8>channel & 1) != 0; }
@inline function isOverIn(event: u32, channel: u32): bool { return (load<u8>(OVERS + <usize>event) >> <u8>channel & 1) != 0; }
/** Noise of a sample of each channel, grid units. */
const NOISES: usize = memory.data(24);
/** Flux that noise and the converter's steps may pretend in an event of a channel, webers. */
function pretended_Wb(event: u32, channel: u32): f32 {
  const e = eventAt(event);
  const deviation = load<f32>(NOISES + <usize>(channel * 4));
  const count = <f32>(e.to - e.from);
  return (PRETENDED_u * deviation * sqrt<f32>(count) + HALF_STEP_u * lastingRounding(channel, deviation) * count) * GRID_V / gridRate_Hz;
}
const PRETENDED_u: f32 = 4;
/**
 * Keeps the fluxes of the channel measured last, whose events are counted; channel 0 goes first.
 * @param deviation - of a sample, grid units
 */
export function keepFluxes(channel: u32, deviation: f32): void {
  store<f32>(NOISES + <usize>(channel * 4), deviation);
  for (let k: u32 = 0; k < min(eventCount, EVENTS_MOST); k++) {
    store<f32>(FLUXES + <usize>((k * MAX_CHANNELS + channel) * 4), eventAt(k).flux_Wb);
    const others: u32 = channel == 0 ? 0 : load<u8>(OVERS + <usize>k);
    store<u8>(OVERS + <usize>k, <u8>(others | u32(eventAt(k).over != 0) << channel));
    const counted: u32 = channel == 0 ? 0 : load<u8>(COUNTED + <usize>k);
    store<u8>(COUNTED + <usize>k, <u8>(counted | u32(eventAt(k).counts != 0) << channel));
  }
}

/** The event that is most likely the lift, or -1; logarithm of its likelihood as one against as anything else. */
export let liftAt: i32 = -1;
export let liftTells: f32 = 0;

/**
 * The event in which that lift and the arrival after it are one, or -1: it comes out of the event's flux on every channel.
 * The lift is that of what was left, times mixedTimes.
 */
export let mixedAt: i32 = -1;
let mixedTimes: f32 = 0;
/** ln of the likelihood of that event as a lift and nothing else. */
let plainTells: f32 = 0;
/** Of the people who lift and go on to the next place, so many are there before the lift has settled. */
const MIXED: f32 = 0.15;
/** Another channel must keep at least this share of the lift, or nothing tells such an event from a lift of its own. */
const MIXED_LEAST: f32 = 0.25;

/** Another channel's share of a lift is that of the arrival within this share of the largest flux. */
const SHARE: f32 = 0.1;
/** What one more channel tells against a lift at most, in deviations; and for it, as any share is else as likely. */
const APART: f32 = 4;
const ALIKE: f32 = 1;
/** What was left is lifted before anything else arrives: an earlier event above this share of it has no such reason, ln each. */
const EARLIER_SHARE: f32 = 0.25;
const EARLIER: f32 = -5.8;
/** Least ln of the probability that a lift goes the way that the arrival was thought to go. */
const SAME_WAY: f32 = -7;

/** The channel of a touch at two clips, whichever is its plus; 0: none. */
function channelAcross(touch: u32, a: u32, b: u32): u32 {
  for (let c: u32 = 0; c < changetype<TouchEvidence>(<usize>touch).channelCount; c++) {
    const e = channelOf(changetype<TouchEvidence>(<usize>touch), c);
    if ((e.plus == a && e.minus == b) || (e.plus == b && e.minus == a)) return <u32>changetype<usize>(e);
  }
  return 0;
}

/** Whether the capture before listened on every channel of this one, all along, and heard nothing at all. */
let heardNothing: bool = false;
/** Of these a touch has the first alone where nothing moved. */
const QUIET: u32 = TouchFlag.none | TouchFlag.missed | TouchFlag.noFlux | TouchFlag.burst | TouchFlag.overrange;
/** Compares the capture with the one before. @param at - TouchEvidence with clips */
export function readBefore(at: u32, channels: u32): void {
  const before = touchBefore();
  heardNothing = before != 0 && !beganAfter() && (changetype<TouchEvidence>(<usize>before).flags & <u16>QUIET) == <u16>TouchFlag.none;
  for (let c: u32 = 0; heardNothing && c < channels; c++) {
    const e = channelOf(changetype<TouchEvidence>(<usize>at), c);
    heardNothing = channelAcross(before, e.plus, e.minus) != 0;
  }
}
/**
 * Prior probability that steel lay there whose lift stands far out of the noise; readBefore goes before. Steel that did not
 * show as it came does not show as it goes, but it may have come between the captures, or after the first had ended.
 */
export function restsClearly(): f32 { return heardNothing ? CAME_BETWEEN : restsBefore(); }
const CAME_BETWEEN: f32 = 0.05;

const LEFT: usize = memory.data(24);
@inline function left(c: u32): f32 { return load<f32>(LEFT + <usize>(c * 4)); }

/** Whether what was left is known. */
let isRestKnown: bool = false;
/** Whether what was left is known by its direction, hardly by its size: over range on some channel, or of a later contact. */
let bound: bool = false;
/** Channels whose own part of it is a lower bound, a bit each. */
let bounds: u32 = 0;
/**
 * Reads what the capture before left on the channels of this one.
 * @param at - TouchEvidence with clips
 * @returns whether it left anything there
 */
export function readRest(at: u32, channels: u32): bool {
  liftAt = -1;
  liftTells = 0;
  mixedAt = -1;
  let any = false;
  let before = touchBefore();
  bound = false;
  if (before != 0) {
    const touch = changetype<TouchEvidence>(<usize>before);
    bound = (touch.flags & <u16>TouchFlag.overrange) != 0 || touch.contacts > 1;
    // What was not heard to come, then or now, may lie there all the same, and nothing tells what it leaves on which channel.
    if ((touch.flags & <u16>(TouchFlag.none | TouchFlag.stays)) != <u16>TouchFlag.stays || beganAfter()) before = 0;
  }
  bounds = 0;
  for (let c: u32 = 0; c < channels; c++) {
    const e = channelOf(changetype<TouchEvidence>(<usize>at), c);
    // What the capture before left on this channel; 0: it did not hear it.
    const then = before == 0 ? 0 : channelAcross(before, e.plus, e.minus);
    let here: f32 = 0;
    if (then != 0) {
      const known = changetype<ChannelEvidence>(<usize>then);
      here = known.plus == e.plus ? known.flux_Wb : -known.flux_Wb;
      if ((known.flags & <u16>TouchFlag.overrange) != 0) bounds |= 1 << c;
    }
    store<f32>(LEFT + <usize>(c * 4), here);
    any = any || here != 0;
  }
  isRestKnown = any;
  return any;
}
/** Whether a flux is more than steel that was heard to come could take away from a channel again. */
export function isMoreThanLeft(channel: u32, flux_Wb: f32): bool {
  return isRestKnown && !bound && abs(flux_Wb) > MORE_TIMES * abs(left(channel));
}
/** It may lie closer than it was heard to come, pressed on afterwards, but hardly ten times as close. */
const MORE_TIMES: f32 = 10;

/** Density of ln(lift / arrival). */
function liftDensity(arrival_Wb: f32, lift_Wb: f32): f32 {
  const density = pairDensity(arrival_Wb, lift_Wb);
  return bound ? max(density, UNPAIRED) : density;
}

/** Whether the running flux of an event of a channel went as far as the lift of what was left there takes it. */
export function liftedWithin(channel: u32, excursion_Wb: f32): bool {
  return left(channel) * excursion_Wb < 0 && abs(left(channel) + excursion_Wb) < TURN_SHARE * abs(left(channel));
}
const TURN_SHARE: f32 = 0.15;

/** What a later event in other shares of the channels tells for a lift: one touch has the same shares in all its events. */
const FOLLOWED: f32 = 3.5;
/** Such an event differs by this part of its largest flux at least, and is this large beside the lift. */
const OTHER_SHARES: f32 = 0.5;
const FOLLOWS_SHARE: f32 = 0.05;
function isFollowed(k: u32, most: u32, channels: u32): bool {
  for (let j = k + 1; j < min(eventCount, EVENTS_MOST); j++) {
    let largest: f32 = 0;
    let off: f32 = 0;
    const share = fluxOf(j, most) / fluxOf(k, most);
    for (let c: u32 = 0; c < channels; c++) {
      if (!countsIn(k, c) && !countsIn(j, c)) continue;
      largest = max(largest, abs(fluxOf(j, c)));
      off = max(off, abs(fluxOf(j, c) - share * fluxOf(k, c)) - pretended_Wb(j, c));
    }
    if (off > OTHER_SHARES * largest && largest > FOLLOWS_SHARE * abs(fluxOf(k, most))) return true;
  }
  return false;
}

/** What was left on a channel, as far as its size is known: a lower bound is worth less than what was heard whole. */
function known_Wb(c: u32): f32 { return (bounds >> c & 1) != 0 ? BOUND_SHARE * abs(left(c)) : abs(left(c)); }
const BOUND_SHARE: f32 = 0.2;

/** Finds the lift among the events; readRest, and keepFluxes of all channels, go before. */
export function findLift(channels: u32): void {
  let most: u32 = 0;
  sure = true;
  let sureness: f32 = 0;
  for (let c: u32 = 0; c < channels; c++) if (known_Wb(c) > known_Wb(most)) most = c;
  if (left(most) == 0) return;
  const before = touchBefore();
  const touch = changetype<TouchEvidence>(<usize>before);
  for (let c: u32 = 0; c < touch.channelCount; c++) {
    const e = channelOf(changetype<TouchEvidence>(<usize>before), c);
    if (abs(e.flux_Wb) == abs(left(most))) sureness = e.flux_Wb > 0 ? e.signLogOdds : -e.signLogOdds;
  }
  let earlier: f32 = 0;
  for (let k: u32 = 0; k < min(eventCount, EVENTS_MOST); k++) {
    const flux = fluxOf(k, most);
    if (flux == 0) continue;
    let tells = earlier + logarithm(liftDensity(abs(left(most)), abs(flux)) / UNPAIRED);
    if (begins_s(eventAt(k)) > LATE_s) tells += logarithm(LATE_LIFT);
    if (abs(flux) > EARLIER_SHARE * abs(left(most))) earlier += EARLIER;
    const odds = flux * left(most) < 0 ? sureness : -sureness;
    tells += max<f32>(SAME_WAY, -logarithm(1 + exponential(-odds)));
    const share = flux / left(most);
    const mixed = tells + logarithm(MIXED);
    let beside: f32 = 0;
    for (let c: u32 = 0; c < channels; c++) {
      if (c == most || left(c) == 0) continue;
      const off = fluxOf(k, c) - share * left(c);
      beside = max(beside, abs(off));
      const times = off / (SHARE * abs(flux));
      // A lower bound tells its direction alone.
      if ((bounds >> most & 1) == 0 && ((bounds >> c & 1) != 0 || isOverIn(k, c)) && fluxOf(k, c) * share * left(c) >= 0) continue;
      tells += ALIKE - min<f32>(APART * APART, times * times) / 2;
    }
    if (isFollowed(k, most, channels)) tells += FOLLOWED;
    const isMixed = share < 0 && mixed > tells && beside > MIXED_LEAST * abs(flux);
    const plain = tells;
    if (isMixed) tells = mixed;
    if (liftAt < 0 || tells > liftTells) {
      liftAt = <i32>k;
      liftTells = tells;
      plainTells = plain;
      mixedAt = isMixed ? <i32>k : -1;
      mixedTimes = -share;
    }
  }
  if (mixedAt < 0) return;
  // It stays an event that counts, of which only the arrival is left; in doubt it stays whole, and is hardly the lift alone.
  if (likely()) {
    liftAt = -1;
    return;
  }
  mixedAt = -1;
  liftTells = plainTells;
}

/**
 * Where nothing is known of what was left: the first event that is followed by another touch may be its lift. No channel lost
 * samples; keepFluxes of all goes before.
 */
export function findOtherLift(channels: u32): void {
  sure = true;
  let first: u32 = 0;
  while (first < min(eventCount, EVENTS_MOST) && load<u8>(COUNTED + <usize>first) == 0) first++;
  if (first + 1 >= min(eventCount, EVENTS_MOST)) return;
  let most: u32 = 0;
  for (let c: u32 = 1; c < channels; c++) if (abs(fluxOf(first, c)) > abs(fluxOf(first, most))) most = c;
  if (!countsIn(first, most) || !isFollowed(first, most, channels)) return;
  liftAt = <i32>first;
  liftTells = FOLLOWED;
}

/** Flux that the lift took off a channel in the event that it shares with the arrival, webers. */
export function liftShare_Wb(channel: u32): f32 { return -mixedTimes * left(channel); }

/** Takes the lift out of the event that it shares with the arrival; measureEvents of the channel goes before. */
export function takeLiftOut(channel: u32): void {
  if (mixedAt < 0) return;
  const e = eventAt(<u32>mixedAt);
  e.flux_Wb -= liftShare_Wb(channel);
  e.excursion_Wb = e.flux_Wb;
  e.bounce_Wb = 0;
}

/** Whether the lift is more likely one than not. */
function likely(): bool { return liftTells + logarithm(restsBefore() / (1 - restsBefore())) > 0; }

/** Takes an event for the lift of steel of which nothing else is known. */
export function takeForLift(event: u32): void {
  sure = true;
  liftAt = <i32>event;
  liftTells = SURELY;
}
/** Ln odds beyond all doubt. */
const SURELY: f32 = 20;

let sure: bool = true;
/** Where nothing but the lift would count, it may as well be the touch: the stories weigh that. */
export function doubtLift(): void { sure = false; }

/** Whether the lift is more likely one than not: the leader is then sought among the other events. */
export function isLift(event: u32): bool {
  return sure && <i32>event == liftAt && likely();
}
