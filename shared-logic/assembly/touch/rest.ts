/** Steel that the capture before left where it was: which event of this one is its lift. */
import { ChannelEvidence, MAX_CHANNELS, TouchEvidence } from '../layout';
import { eventAt, eventCount } from './events';
import { UNPAIRED, pairDensity, restsBefore, touchBefore } from './hand';
import { addLogs, logarithm } from '../waves';

/** Net fluxes of all events on all channels, webers. */
const EVENTS_MOST: u32 = 12;
const FLUXES: usize = memory.data(288);
@inline function fluxOf(event: u32, channel: u32): f32 { return load<f32>(FLUXES + <usize>((event * MAX_CHANNELS + channel) * 4)); }
/** Keeps the fluxes of the channel measured last. */
export function keepFluxes(channel: u32): void {
  for (let k: u32 = 0; k < min(eventCount, EVENTS_MOST); k++) {
    store<f32>(FLUXES + <usize>((k * MAX_CHANNELS + channel) * 4), eventAt(k).flux_Wb);
  }
}

/** The event that is most likely the lift, or -1; logarithm of its likelihood as one against as anything else. */
export let liftAt: i32 = -1;
export let liftTells: f32 = 0;

/** A sign of the capture before is used from these odds on. */
const SIGNED: f32 = 2.9;
/** Another channel's share of a lift is that of the arrival within this share of the largest flux. */
const SHARE: f32 = 0.1;
/** What one more channel tells against a lift at most, in deviations; and for it, as any share is else as likely. */
const APART: f32 = 4;
const ALIKE: f32 = 1;
/** ln of the likelihood that a lift goes the way of the arrival. */
const SAME_WAY: f32 = -7;

/** Flux that the capture before left on a channel of this touch, webers; 0: it did not hear it. */
function leftOn(before: u32, plus: u32, minus: u32): f32 {
  const touch = changetype<TouchEvidence>(<usize>before);
  for (let c: u32 = 0; c < touch.channelCount; c++) {
    const e = changetype<ChannelEvidence>(<usize>(before + offsetof<TouchEvidence>() + c * offsetof<ChannelEvidence>()));
    if (e.plus == plus && e.minus == minus) return e.flux_Wb;
    if (e.plus == minus && e.minus == plus) return -e.flux_Wb;
  }
  return 0;
}

const LEFT: usize = memory.data(24);
@inline function left(c: u32): f32 { return load<f32>(LEFT + <usize>(c * 4)); }

/** Finds the lift among the events; keepFluxes of all channels goes before. @param at - TouchEvidence with clips */
export function findLift(at: u32, channels: u32): void {
  liftAt = -1;
  liftTells = 0;
  const before = touchBefore();
  if (before == 0 || restsBefore() < <f32>0.1) return;
  let most: u32 = 0;
  let signed = false;
  for (let c: u32 = 0; c < channels; c++) {
    const e = changetype<ChannelEvidence>(<usize>(at + offsetof<TouchEvidence>() + c * offsetof<ChannelEvidence>()));
    store<f32>(LEFT + <usize>(c * 4), leftOn(before, e.plus, e.minus));
    if (abs(left(c)) > abs(left(most))) most = c;
  }
  if (left(most) == 0) return;
  const touch = changetype<TouchEvidence>(<usize>before);
  for (let c: u32 = 0; c < touch.channelCount; c++) {
    const e = changetype<ChannelEvidence>(<usize>(before + offsetof<TouchEvidence>() + c * offsetof<ChannelEvidence>()));
    if (abs(e.flux_Wb) == abs(left(most)) && abs(e.signLogOdds) > SIGNED) signed = true;
  }
  for (let k: u32 = 0; k < min(eventCount, EVENTS_MOST); k++) {
    const flux = fluxOf(k, most);
    if (flux == 0) continue;
    let tells = logarithm(pairDensity(abs(left(most)), abs(flux)) / UNPAIRED);
    if (signed && flux * left(most) > 0) tells += SAME_WAY;
    const share = flux / left(most);
    for (let c: u32 = 0; c < channels; c++) {
      if (c == most || left(c) == 0) continue;
      const off = (fluxOf(k, c) - share * left(c)) / (SHARE * abs(flux));
      tells += ALIKE - min<f32>(APART * APART, off * off) / 2;
    }
    if (liftAt < 0 || tells > liftTells) {
      liftAt = <i32>k;
      liftTells = tells;
    }
  }
}

/** Whether the lift is more likely one than not: the leader is then sought among the other events. */
export function isLift(event: u32): bool { return <i32>event == liftAt && liftTells + logarithm(restsBefore()) > -logarithm(2); }
