/** Events that are two: a lift, late or of what the last capture left, that runs into an arrival. */
import { NO_FLUX_SHARE, TWO_s, eventAt, eventCount, splitEvent } from './events';
import { NO_STRETCH, firstStretch, gridChannel, gridRate_Hz } from './grid';
import { restsBefore } from './hand';
import { liftedWithin } from './rest';

/** Either part lasts at least this long. */
const EDGE_s: f32 = 0.005;
/** A long event of which less than this share of its largest running flux is left may be two. */
const COMES_BACK: f32 = 0.5;

/** What goes over range so long after the first time is another movement than that and its bounces. */
const NEXT_s: f32 = 0.04;
/** The sample at which it does, 0: never. */
function nextMovement(channel: u32, from: u32, to: u32): u32 {
  const first = firstStretch(channel, from, to);
  if (first == NO_STRETCH) return 0;
  const next = firstStretch(channel, (first & 0x3fffff) + <u32>(NEXT_s * gridRate_Hz), to);
  return next == NO_STRETCH ? 0 : next & 0x3fffff;
}

/** Where steel lay as likely as this, what goes and comes back may be its lift and the next arrival, of the same coil. */
const RESTS: f32 = 0.3;
/** A later event takes away what the second part brought, within this share of it. */
const TAKEN: f32 = 0.3;
/** Whether less than half of its largest running flux stays after an event, and a later one takes away what came after that turn. */
function comesBack(k: u32): bool {
  const e = eventAt(k);
  const second = e.flux_Wb - e.excursion_Wb;
  if (e.over != 0 || abs(e.flux_Wb) > COMES_BACK * abs(e.excursion_Wb)) return false;
  for (let j = k + 1; j < eventCount; j++) {
    const later = eventAt(j).flux_Wb;
    if (abs(later + second) < TAKEN * abs(second) && abs(later + second) < abs(later + e.flux_Wb)) return true;
  }
  return false;
}

/** Splits such events of the channel measured last where their running flux turns. */
export function splitEvents(channel: u32): void {
  const long = <u32>(TWO_s * gridRate_Hz);
  const edge = <u32>(EDGE_s * gridRate_Hz);
  const rests = restsBefore() >= RESTS;
  for (let k: u32 = 0; k < eventCount; k++) {
    const e = eventAt(k);
    const second = e.over != 0 ? nextMovement(channel, e.from, e.to) : 0;
    if (second != 0) {
      if (!splitEvent(k, second - edge)) return;
      continue;
    }
    const before = liftedWithin(channel, e.excursion_Wb);
    const after = e.over == 0 && liftedWithin(channel, e.flux_Wb - e.excursion_Wb);
    const lifted = ((before || after) && !liftedWithin(channel, e.flux_Wb)) || (rests && comesBack(k));
    if (!lifted && (e.to - e.from < long || abs(e.flux_Wb) > COMES_BACK * abs(e.excursion_Wb))) continue;
    if (e.from + edge > e.turn || e.turn + edge > e.to) continue;
    // Where samples are missing nobody can tell a lift and an arrival from a bounce.
    if (e.over != 0) e.over = 2;
    else if (splitEvent(k, e.turn)) k++;
    else return;
  }
}

/** Sums of each channel over an event, grid units, then over its first part. */
const SUMS: usize = memory.data(48);
@inline function sumOf(c: u32): f32 { return load<f32>(SUMS + <usize>(c * 8)); }

/** Sine of the angle between two movements, in the plane of two channels, from which they are two touches. */
const APART: f32 = 0.4;
/** What the smaller one has across the larger one is at least this share of that, and this many uncertainties. */
const SMALLER: f32 = 0.1;
const CLEAR_u: f32 = 12;

/**
 * Splits events that hold two touches of different coils: the fluxes of one touch keep their ratio however it moves, so that a
 * channel's running flux over another's is a straight line, and of two touches a corner.
 * @param deviation - largest noise of a sample of all channels, grid units
 */
export function splitByShares(channels: u32, deviation: f32): void {
  const edge = <u32>(EDGE_s * gridRate_Hz);
  for (let k: u32 = 0; k < eventCount; k++) {
    const e = eventAt(k);
    let lead: u32 = 0;
    for (let c: u32 = 0; c < channels; c++) {
      let sum: i64 = 0;
      for (let i = e.from; i < e.to; i++) sum += load<i32>(gridChannel(c) + i * 4);
      store<f32>(SUMS + <usize>(c * 8), <f32>sum);
      if (abs(sumOf(c)) > abs(sumOf(lead))) lead = c;
    }
    let corner: f32 = APART;
    let at: u32 = 0;
    for (let c: u32 = 0; c < channels; c++) {
      if (c == lead) continue;
      let most: f32 = 0;
      let cornerAt: u32 = 0;
      let a: i64 = 0;
      let b: i64 = 0;
      let first: f32 = 0;
      let second: f32 = 0;
      for (let i = e.from; i < e.to; i++) {
        a += load<i32>(gridChannel(lead) + i * 4);
        b += load<i32>(gridChannel(c) + i * 4);
        const off = abs(<f32>a * sumOf(c) - <f32>b * sumOf(lead));
        if (off <= most) continue;
        most = off;
        cornerAt = i;
        first = <f32>a;
        second = <f32>b;
      }
      const before = sqrt<f32>(first * first + second * second);
      const restLead = sumOf(lead) - first;
      const rest = sumOf(c) - second;
      const after = sqrt<f32>(restLead * restLead + rest * rest);
      // A peak without flux, of a coil that is open, is no corner.
      if (abs(sumOf(c)) < NO_FLUX_SHARE * abs(second) || abs(sumOf(lead)) < NO_FLUX_SHARE * abs(first)) continue;
      const beside = most / max<f32>(1, max(before, after));
      if (beside < SMALLER * max(before, after) || beside < CLEAR_u * deviation * sqrt<f32>(<f32>(e.to - e.from))) continue;
      if (most < corner * before * after) continue;
      corner = most / (before * after);
      at = cornerAt;
    }
    if (e.from + edge > at || at + edge > e.to) continue;
    if (!splitEvent(k, at)) return;
    k++;
  }
}
