/** Touches well above the noise: the stretches in which something happens, and the flux that each one leaves behind. */
import { MAX_CHANNELS } from '../layout';
import { GRID_V, WORK, gridChannel, gridCount, gridRate_Hz, gridStart_s, NO_STRETCH, firstStretch } from './grid';
import { isKnown } from './high-pass';
import { roomFor } from './sizes';

/** Two stretches closer than this are one event: a bounce comes within 30 ms, a hold lasts 100 ms. */
const QUIET_s: f32 = 0.025;
/** Boxcar over which activity is judged. */
const SMOOTH_s: f32 = 0.004;
/** Share of the largest boxcar that is still activity; below it lie slow tails and what hum left over. */
const ACTIVE_SHARE: f32 = 0.025;
/** The limited mean size of the boxcar is exceeded this many times only by events (6 standard deviations). */
const ACTIVE_SIZES: i32 = 8;
const EVENTS_MAX: u32 = 12;

/** One event: its samples, and what the channel measured last has in it. */
@unmanaged export class Event {
  from: u32;
  to: u32;
  /** Net flux, largest running flux within (signed), most that went of it and came back, webers. */
  flux_Wb: f32;
  excursion_Wb: f32;
  bounce_Wb: f32;
  /** Largest sample, signed, volts. */
  peak_V: f32;
  /** 1: this channel counts it. */
  counts: u8;
  /** 1: it bounced. */
  bounced: u8;
  /** 1: over range in a way that leaves its sign open. */
  vague: u8;
  /** 1: over range; 2: perhaps a lift and an arrival in one, which stays so for all channels. */
  over: u8;
  /** Sample at which the running flux is largest, and the middle of what moves, grid samples. */
  turn: u32;
  middle: f32;
}
/** Bits of activity, one per grid sample, then the events. */
const BITS: u32 = WORK;
const EVENTS: u32 = WORK + 1280 + 16;
export let eventCount: u32 = 0;
@inline export function eventAt(i: u32): Event { return changetype<Event>(<usize>(EVENTS + i * offsetof<Event>())); }

/** Forgets all activity. */
export function eventsBegin(): void {
  memory.fill(BITS, 0, 1280);
  eventCount = 0;
}

/** The boxcars of a channel: their usual size, the size of the largest, and where it ends. */
@unmanaged class Activity {
  usual: i32;
  peak: i32;
  peakAt: u32;
}
/** Limited mean size of the boxcar sums. @param into - their peak */
function boxcarSize(base: u32, n: u32, w: u32, limit: i32, into: Activity): i32 {
  const shift = roomFor(limit, n);
  let sum: i32 = 0;
  let total: i32 = 0;
  let peak: i32 = 0;
  into.peakAt = 0;
  for (let i: u32 = 0; i < n; i++) {
    sum += load<i32>(base + i * 4);
    if (i >= w) sum -= load<i32>(base + (i - w) * 4);
    const size = abs(sum);
    if (size > peak) {
      peak = size;
      into.peakAt = i;
    }
    total += min(size, limit) >> shift;
  }
  into.peak = peak;
  return (total / <i32>n << shift) + 1;
}

const ACTIVITY: usize = memory.data(MAX_CHANNELS * offsetof<Activity>());
@inline function activityAt(channel: u32): Activity { return changetype<Activity>(ACTIVITY + <usize>(channel * offsetof<Activity>())); }
@inline function boxcarLength(): u32 { return max<u32>(1, <u32>nearest(SMOOTH_s * gridRate_Hz)); }
/** Middle of the largest boxcar of a channel: activityOf of it goes before. */
export function middleOfActivity(channel: u32): u32 {
  const end = activityAt(channel).peakAt;
  const half = boxcarLength() / 2;
  return end >= half ? end - half : 0;
}
/**
 * How far the largest boxcar of a channel stands out, in standard deviations of its boxcars.
 * @param size - usual size of a sample
 * @param from - where nothing moves, until `to`; `to` 0: in most of the capture
 */
export function activityOf(channel: u32, size: f32, from: u32, to: u32): f32 {
  const base = gridChannel(channel);
  const n = gridCount;
  const w = boxcarLength();
  const activity = activityAt(channel);
  let usual = <i32>(size * sqrt<f32>(<f32>w));
  const quiet = to > from + 2 * w;
  for (let round = 0; round < 3; round++) {
    usual = quiet ? boxcarSize(base + from * 4, to - from, w, 3 * usual, activity) : boxcarSize(base, n, w, 3 * usual, activity);
  }
  if (quiet) boxcarSize(base, n, w, 3 * usual, activity);
  activity.usual = usual;
  return <f32>activity.peak / <f32>usual * <f32>0.79;
}

/** Marks where a channel is active; activityOf of it goes before. */
export function markActivity(channel: u32): void {
  const base = gridChannel(channel);
  const n = gridCount;
  const w = boxcarLength();
  const activity = activityAt(channel);
  const threshold = max(ACTIVE_SIZES * activity.usual, <i32>(<f32>activity.peak * ACTIVE_SHARE));
  let sum: i32 = 0;
  for (let i: u32 = 0; i < n; i++) {
    sum += load<i32>(base + i * 4);
    if (i >= w) sum -= load<i32>(base + (i - w) * 4);
    if (abs(sum) <= threshold) continue;
    const first = i + 1 > w ? i + 1 - w : 0;
    for (let k = first; k <= i; k++) {
      const at = BITS + (k >> 3);
      const bit: u32 = 1 << (k & 7);
      store<u8>(at, <u8>(<u32>load<u8>(at) | bit));
    }
  }
}

/** Turns the marks into events, with a margin of one boxcar on both sides. */
export function collectEvents(): void {
  const n = gridCount;
  const quiet = max<u32>(2, <u32>(QUIET_s * gridRate_Hz));
  const margin = boxcarLength();
  eventCount = 0;
  let i: u32 = 0;
  while (i < n) {
    if ((load<u8>(BITS + (i >> 3)) >> (i & 7)) & 1) {
      const from = i;
      let last = i;
      while (i < n && i - last < quiet) {
        if ((load<u8>(BITS + (i >> 3)) >> (i & 7)) & 1) last = i;
        i++;
      }
      if (eventCount == EVENTS_MAX) return;
      const e = eventAt(eventCount++);
      e.over = 0;
      e.from = from > margin ? from - margin : 0;
      e.to = min(n, last + 1 + margin);
    } else {
      i++;
    }
  }
}

/** Share of an event's flux that, when it came before the first sample over range, tells the sign. */
const LED_SHARE: f32 = 0.15;

/** Fills in what one channel has in each event. */
export function measureEvents(channel: u32): void {
  const base = gridChannel(channel);
  for (let k: u32 = 0; k < eventCount; k++) {
    const e = eventAt(k);
    let sum: i64 = 0;
    let up: i64 = 0;
    let down: i64 = 0;
    let leftUp: i64 = 0;
    let leftDown: i64 = 0;
    let bounceUp: i64 = 0;
    let bounceDown: i64 = 0;
    let peak: i32 = 0;
    let moved: i64 = 0;
    let moment: i64 = 0;
    let highest = e.from;
    const stretch = isKnown(channel) ? NO_STRETCH : firstStretch(channel, e.from, e.to);
    const overAt = stretch == NO_STRETCH ? e.to : stretch & 0x3fffff;
    let before: i64 = 0;
    let lowest = e.from;
    for (let i = e.from; i < e.to; i++) {
      const x = load<i32>(base + i * 4);
      if (abs(x) > abs(peak)) peak = x;
      if (i == overAt) before = sum;
      sum += x;
      moved += abs(x);
      moment += moved;
      // What leaves more than had come is no bounce.
      if (sum < leftUp) leftUp = sum;
      else if (leftUp > 0) bounceUp = max(bounceUp, min(sum, up) - leftUp);
      if (sum > leftDown) leftDown = sum;
      else if (leftDown < 0) bounceDown = max(bounceDown, leftDown - max(sum, down));
      if (sum > up) {
        up = sum;
        leftUp = sum;
        highest = i;
      }
      if (sum < down) {
        down = sum;
        leftDown = sum;
        lowest = i;
      }
    }
    const unit = GRID_V / gridRate_Hz;
    e.flux_Wb = <f32>sum * unit;
    e.excursion_Wb = <f32>(up > -down ? up : down) * unit;
    e.bounce_Wb = <f32>(sum >= 0 ? bounceUp : bounceDown) * unit;
    e.peak_V = <f32>peak * GRID_V;
    e.counts = 0;
    e.bounced = 0;
    e.vague = 0;
    e.over = stretch == NO_STRETCH ? 0 : e.over == 2 ? 2 : 1;
    if (stretch != NO_STRETCH) {
      // Steel that arrives, or leaves, first moves the flux the way in which it ends: what came before the samples that
      // were lost tells the sign, or how the first of them rose. What was filled in tells nothing against it.
      const led = <f32>before * unit;
      let sign: f32 = stretch >> 22 == 1 ? 1 : stretch >> 22 == 2 ? -1 : 0;
      // In a long event the lift of the last touch may have led, and an arrival come after it.
      const long = <f32>(e.to - e.from) > TWO_s * gridRate_Hz;
      if (abs(led) > LED_SHARE * abs(e.excursion_Wb)) sign = long && sign * led < 0 ? 0 : led;
      if (long && e.flux_Wb * sign <= 0) sign = 0;
      if (sign == 0 || e.over == 2) e.vague = 1;
      else if (e.flux_Wb * sign <= 0) e.flux_Wb = sign > 0 ? <f32>up * unit : <f32>down * unit;
    }
    e.turn = up > -down ? highest : lowest;
    // Sum of the running sum = sum of |x| (to - i): the centroid without a multiplication per sample.
    e.middle = <f32>e.to - <f32>moment / max<f32>(1, <f32>moved) + <f32>0.5;
  }
}

/** An event that leaves less than this share of its largest running flux has no flux: an open coil's capacitive peak. */
export const NO_FLUX_SHARE: f32 = 0.2;

/** An event this long whose flux comes back may be two: a late lift that runs into an arrival. */
export const TWO_s: f32 = 0.06;

/** Splits event k after a sample. @returns whether there was room */
export function splitEvent(k: u32, after: u32): bool {
  if (eventCount == EVENTS_MAX) return false;
  memory.copy(EVENTS + (k + 2) * offsetof<Event>(), EVENTS + (k + 1) * offsetof<Event>(), (eventCount - k - 1) * offsetof<Event>());
  eventCount++;
  const first = eventAt(k);
  const second = eventAt(k + 1);
  second.from = after + 1;
  second.to = first.to;
  second.over = 0;
  first.to = after + 1;
  return true;
}

/** Middle of an event, seconds from the trigger. */
export function eventTime_s(e: Event): f32 { return gridStart_s + e.middle / gridRate_Hz; }
export function begins_s(e: Event): f32 { return gridStart_s + <f32>e.from / gridRate_Hz; }
