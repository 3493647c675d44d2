/**
 * Touches well above the noise: the stretches in which something happens, the flux that each one leaves behind, and what
 * the row of them means (arrival, departure, late lift of the last touch, several contacts).
 *
 * The sign comes from net fluxes, never from the largest lobe: bounces and fast departures have larger ones.
 */
import { roomFor } from './hum';
import { GRID_V, WORK, gridChannel, gridCount, gridRate_Hz, gridStart_s, NO_STRETCH, firstStretch } from './grid';
import { addLogs, exponential, logarithm } from '../waves';

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
  /** Net flux, largest running flux within (signed), largest fall back from it, webers. */
  flux_Wb: f32;
  excursion_Wb: f32;
  fallback_Wb: f32;
  /** Largest sample, signed, volts. */
  peak_V: f32;
  /** 1: this channel counts it. */
  counts: u16;
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

let boxcarPeak: i32 = 0;
let boxcarPeakAt: u32 = 0;
/** Limited mean size of the boxcar sums; leaves boxcarPeak. */
function boxcarSize(base: u32, n: u32, w: u32, limit: i32): i32 {
  const shift = roomFor(limit, n);
  let sum: i32 = 0;
  let total: i32 = 0;
  boxcarPeak = 0;
  for (let i: u32 = 0; i < n; i++) {
    sum += load<i32>(base + i * 4);
    if (i >= w) sum -= load<i32>(base + (i - w) * 4);
    const size = abs(sum);
    if (size > boxcarPeak) {
      boxcarPeak = size;
      boxcarPeakAt = i;
    }
    total += min(size, limit) >> shift;
  }
  return (total / <i32>n << shift) + 1;
}

/** Middle of the largest boxcar of the channel measured last. */
export let activityAt: u32 = 0;
/** Size and peak of each channel's boxcars, a word each. */
const ACTIVITY: usize = memory.data(48);
@inline function activityAtChannel(channel: u32): usize { return ACTIVITY + <usize>(channel << 3); }
/** How far the largest boxcar of a channel stands out, in standard deviations of its boxcars. @param size - usual size of a sample */
export function activityOf(channel: u32, size: f32): f32 {
  const base = gridChannel(channel);
  const n = gridCount;
  const w = max<u32>(1, <u32>nearest(SMOOTH_s * gridRate_Hz));
  let usual = <i32>(size * sqrt<f32>(<f32>w));
  for (let round = 0; round < 3; round++) usual = boxcarSize(base, n, w, 3 * usual);
  store<i32>(activityAtChannel(channel), usual);
  store<i32>(activityAtChannel(channel), boxcarPeak, 4);
  activityAt = boxcarPeakAt >= w / 2 ? boxcarPeakAt - w / 2 : 0;
  return <f32>boxcarPeak / <f32>usual * <f32>0.79;
}

/** Marks where a channel is active; activityOf of it goes before. */
export function markActivity(channel: u32): void {
  const base = gridChannel(channel);
  const n = gridCount;
  const w = max<u32>(1, <u32>nearest(SMOOTH_s * gridRate_Hz));
  const size = load<i32>(activityAtChannel(channel));
  const threshold = max(ACTIVE_SIZES * size, <i32>(<f32>load<i32>(activityAtChannel(channel), 4) * ACTIVE_SHARE));
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
  const margin = max<u32>(1, <u32>nearest(SMOOTH_s * gridRate_Hz));
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

/** Fills in what one channel has in each event. @param offset - mean of the channel where nothing happens, grid units */
export function measureEvents(channel: u32): void {
  const base = gridChannel(channel);
  for (let k: u32 = 0; k < eventCount; k++) {
    const e = eventAt(k);
    let sum: i64 = 0;
    let up: i64 = 0;
    let down: i64 = 0;
    let fallUp: i64 = 0;
    let fallDown: i64 = 0;
    let peak: i32 = 0;
    let moved: i64 = 0;
    let moment: i64 = 0;
    let highest = e.from;
    const stretch = firstStretch(channel, e.from, e.to);
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
      if (sum > up) {
        up = sum;
        highest = i;
      }
      if (sum < down) {
        down = sum;
        lowest = i;
      }
      fallUp = max(fallUp, up - sum);
      fallDown = max(fallDown, sum - down);
    }
    const unit = GRID_V / gridRate_Hz;
    e.flux_Wb = <f32>sum * unit;
    e.excursion_Wb = <f32>(up > -down ? up : down) * unit;
    e.fallback_Wb = <f32>(sum >= 0 ? fallUp : fallDown) * unit;
    e.peak_V = <f32>peak * GRID_V;
    e.counts = 0;
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

/** An event this long whose flux comes back may be two: a late lift that runs into an arrival. */
const TWO_s: f32 = 0.06;
const TWO_EDGE_s: f32 = 0.005;

/** Splits such events of the channel measured last where their running flux turns. */
export function splitEvents(): void {
  const long = <u32>(TWO_s * gridRate_Hz);
  const edge = <u32>(TWO_EDGE_s * gridRate_Hz);
  for (let k: u32 = 0; k < eventCount && eventCount < EVENTS_MAX; k++) {
    const e = eventAt(k);
    if (e.to - e.from < long || abs(e.flux_Wb) > <f32>0.5 * abs(e.excursion_Wb)) continue;
    if (e.from + edge > e.turn || e.turn + edge > e.to) continue;
    // Where samples are missing nobody can tell a lift and an arrival from a bounce.
    if (e.over != 0) {
      e.over = 2;
      continue;
    }
    memory.copy(EVENTS + (k + 2) * offsetof<Event>(), EVENTS + (k + 1) * offsetof<Event>(), (eventCount - k - 1) * offsetof<Event>());
    eventCount++;
    const next = eventAt(k + 1);
    next.from = e.turn + 1;
    next.to = e.to;
    next.over = 0;
    e.to = e.turn + 1;
    k++;
  }
}

/** Middle of an event, seconds from the trigger. */
export function eventTime_s(e: Event): f32 { return gridStart_s + e.middle / gridRate_Hz; }
function begins_s(e: Event): f32 { return gridStart_s + <f32>e.from / gridRate_Hz; }

// ---------------------------------------------------------------- what a row of events means

/** Prior probability that a contact was already made when the capture began. */
function madeBefore(): f32 {
  if (gridStart_s > <f32>0.02) return <f32>0.6;
  if (gridStart_s > <f32>-0.02) return <f32>0.1;
  return <f32>0.05;
}
/** What was over so long before the trigger did not set it off; what begins so soon after it did, or before SOON_s may have. */
const OVER_s: f32 = 0.03;
const TRIGGER_s: f32 = 0.05;
const SOON_s: f32 = 0.15;
/** Density of a first event later than that, 1/s: something unseen set the trigger off. */
const LATE_DENSITY: f32 = 0.1;
const AT_TRIGGER_DENSITY: f32 = 9;
/** Density of the first arrival, 1/s: near the trigger, which no arrival precedes, or later. */
function arrivalDensity(e: Event): f32 {
  const begun_s = begins_s(e);
  // An arrival that the trigger let pass and fired on what came after it: hardly ever.
  if (gridStart_s + <f32>e.to / gridRate_Hz < -OVER_s) return <f32>0.002;
  if (begun_s < TRIGGER_s) return AT_TRIGGER_DENSITY;
  return begun_s < SOON_s ? 1 : LATE_DENSITY;
}
/** Prior of an arrival so slow that it set the trigger off and is not seen (physics.md 4: a slow approach). */
const UNSEEN: f32 = 0.1;
/** Density of a hold, 1/s: log-uniform from 0.1 to 3 s, hardly ever shorter (physics.md 4). */
function holdDensity(hold_s: f32): f32 {
  if (hold_s >= <f32>0.1) return <f32>0.29 / hold_s;
  return <f32>0.02 + <f32>2.9 * exponential((hold_s - <f32>0.1) * 150);
}
/** Probability that a hold outlasts the rest of the capture: holds are log-uniform from 0.1 to 3 s. */
function outlasts(rest_s: f32): f32 {
  return max<f32>(<f32>0.02, min<f32>(1, logarithm(3 / max<f32>(rest_s, <f32>0.1)) / <f32>3.4));
}
/** Density of ln(departure / arrival): most are equal, some arrivals lose a slow start or a bounce. */
function pairDensity(arrival_Wb: f32, departure_Wb: f32): f32 {
  const x = logarithm(departure_Wb / arrival_Wb);
  return <f32>4.8 * exponential(-x * x * 200) + <f32>0.24 * exponential(-2 * x * x) + <f32>0.01;
}
/** Density of the logarithm of a flux of which nothing else is known. */
const UNPAIRED: f32 = 0.35;
/** Prior of another contact after the first departure. */
const AGAIN: f32 = 0.05;
/** Prior of arrival in two steps, soon or slowly after each other, and of a departure with no contact. */
const IN_STEPS: f32 = 0.1;
const STEPS_s: f32 = 0.1;
const SLOW_STEPS: f32 = 0.01;
const UNEXPLAINED: f32 = 0.003;
/** After a lift the person touches; that the capture ends before has this probability. */
const NO_TOUCH_AFTER_LIFT: f32 = 0.1;

let clipped: bool = false;

/** The best story of a sign: index of its first arrival event (or -1), of its departure (or -1), contacts, start. */
export let storyArrival: i32 = -1;
export let storyDeparture: i32 = -1;
export let storyContacts: u32 = 0;
export let storyMadeBefore: bool = false;
/** Flux of the first contact's arrival, all steps together, as a size. */
export let storyFlux_Wb: f32 = 0;

/**
 * Whether an event that leaves its own sign open goes on with the contact that is on: what comes after it must end that
 * contact. Else it is what the story needs next.
 */
function goesOn(i: u32, sign: f32, since_s: f32): bool {
  for (let k = i + 1; k < eventCount; k++) {
    const next = eventAt(k);
    if (next.counts != 0) return next.vague != 0 || next.flux_Wb * sign < 0;
  }
  return since_s < STEPS_s;
}

/** How a story begins: without contact, with one that was made before the capture, with one whose arrival is not seen. */
enum Start { free, held, unseen }

/** Logarithm of the probability of the counted events for one sign and one `Start`; tells the story. */
function story(sign: f32, start: u32): f32 {
  const before = madeBefore();
  let on = start != Start.free;
  let log = logarithm(start == Start.free ? 1 - before : start == Start.held ? before : UNSEEN) + (start == Start.unseen ? slowTells : 0);
  let known: f32 = 0;
  let lastArrival_s: f32 = 0;
  let likely: f32 = start == Start.unseen ? AT_TRIGGER_DENSITY : 1;
  storyArrival = -1;
  storyDeparture = -1;
  storyContacts = start == Start.unseen ? 1 : 0;
  storyMadeBefore = start == Start.held;
  storyFlux_Wb = 0;
  for (let i: u32 = 0; i < eventCount; i++) {
    const e = eventAt(i);
    if (e.counts == 0) continue;
    const size = abs(e.flux_Wb);
    const time_s = eventTime_s(e);
    const towards = e.vague != 0 ? !on || goesOn(i, sign, time_s - lastArrival_s) : e.flux_Wb * sign > 0;
    if (towards) {
      if (on && storyContacts > 0) {
        log += logarithm((time_s - lastArrival_s > STEPS_s ? SLOW_STEPS : IN_STEPS) * UNPAIRED);
        // The trigger may have let a slow approach pass and fired on what came after it.
        if (storyContacts == 1 && arrivalDensity(e) > likely) {
          log += logarithm(arrivalDensity(e) / likely);
          likely = arrivalDensity(e);
        }
        known += size;
        if (storyContacts == 1 && storyDeparture < 0) storyFlux_Wb = known;
      } else if (on) {
        // Pressed further on a contact that was made before the capture.
        log += logarithm(IN_STEPS * UNPAIRED);
      } else {
        likely = storyContacts == 0 ? arrivalDensity(e) : AGAIN;
        log += logarithm(UNPAIRED * likely);
        on = true;
        known = size;
        storyContacts++;
        if (storyArrival < 0) {
          storyArrival = <i32>i;
          storyFlux_Wb = size;
        }
      }
      lastArrival_s = time_s;
    } else if (on) {
      if (known > 0) {
        const pair = e.vague != 0 ? UNPAIRED : pairDensity(known, size);
        log += logarithm(holdDensity(time_s - lastArrival_s) * (clipped ? max<f32>(UNPAIRED, pair) : pair));
      } else if (start == Start.unseen) {
        log += logarithm(UNPAIRED * holdDensity(time_s));
      } else {
        // Steel that was lifted late sets the trigger off itself.
        log += logarithm(begins_s(e) < TRIGGER_s ? UNPAIRED : UNPAIRED * LATE_DENSITY);
      }
      on = false;
      if (storyContacts == 1 && storyDeparture < 0) storyDeparture = <i32>i;
      known = 0;
    } else {
      log += logarithm(UNEXPLAINED * UNPAIRED);
    }
  }
  const end_s = gridStart_s + <f32>gridCount / gridRate_Hz;
  if (on && storyContacts > 0) log += logarithm(outlasts(end_s - lastArrival_s));
  if (storyContacts == 0) log += logarithm(NO_TOUCH_AFTER_LIFT);
  return log;
}

/**
 * Weighs both signs of the counted events; leaves the story of the better one.
 * @param deviation - noise of a sample of the channel, grid units
 * @param overrange - samples are missing, so that an arrival and its departure need not be equal
 * @returns ln of P(positive arrival) / P(negative arrival)
 */
export function weighStories(channel: u32, deviation: f32, overrange: bool): f32 {
  clipped = overrange;
  let first: u32 = 0;
  while (first < eventCount && eventAt(first).counts == 0) first++;
  const late = first < eventCount && begins_s(eventAt(first)) > TRIGGER_s;
  if (late) measureSlow(channel, first, deviation);
  const up = likeliest(1, late);
  const upStart = likeliestStart;
  const down = likeliest(-1, late);
  story(up >= down ? 1 : -1, up >= down ? upStart : likeliestStart);
  return up - down;
}

/** Time before the trigger that is quiet for sure, after an event that is again, and the shortest to judge by, seconds. */
const LEAD_s: f32 = 0.02;
const QUIET_LEAST_s: f32 = 0.04;
/** How well the flux of a slow movement is known at best, as a share of what then leaves; most that it tells, ln. */
const SLOW_SHARE: f32 = 0.2;
const SLOW_TELLS: f32 = 4;

let quietMean: f32 = 0;
let quietMiddle: f32 = 0;
let quietCount: f32 = 0;
/** Mean and middle of the samples from `from` to `to`. @returns whether there are enough */
function isQuietFrom(base: u32, from: u32, to: u32): bool {
  if (<f32>to < <f32>from + QUIET_LEAST_s * gridRate_Hz) return false;
  let sum: i64 = 0;
  for (let i = from; i < to; i++) sum += load<i32>(base + i * 4);
  quietCount = <f32>(to - from);
  quietMean = <f32>sum / quietCount;
  quietMiddle = <f32>from + quietCount / 2;
  return true;
}

/** ln odds that what moved slowly between trigger and first event is the arrival that this event ends, not nothing. */
let slowTells: f32 = 0;
/** Measures that on a channel. @param first - its first event that counts @param deviation - of a sample, grid units */
function measureSlow(channel: u32, first: u32, deviation: f32): void {
  slowTells = 0;
  const base = gridChannel(channel);
  const from = <u32>max<f32>(0, (-LEAD_s - gridStart_s) * gridRate_Hz);
  const to = eventAt(first).from;
  const after = eventAt(eventCount - 1).to + <u32>(LEAD_s * gridRate_Hz);
  // The line that is no movement goes through two quiet stretches: before and after, or the halves of a long one.
  let split = from;
  if (!isQuietFrom(base, 0, from)) {
    split = after + (gridCount - min(after, gridCount)) / 2;
    if (gridCount < after + 2 * (to - from) || !isQuietFrom(base, after, split)) return;
  }
  const mean = quietMean;
  const middle = quietMiddle;
  const count = quietCount;
  if (!isQuietFrom(base, max(after, split), gridCount)) return;
  const slope = (quietMean - mean) / (quietMiddle - middle);
  let sum: i64 = 0;
  for (let i = from; i < to; i++) sum += load<i32>(base + i * 4);
  const length = <f32>(to - from);
  const moved = <f32>sum - (mean + slope * ((<f32>(from + to)) / 2 - middle)) * length;
  const left = eventAt(first).flux_Wb * gridRate_Hz / GRID_V;
  const u = deviation * (sqrt<f32>(length) + length / sqrt<f32>(count)) / left;
  const share = -moved / left;
  slowTells = max<f32>(-SLOW_TELLS, min<f32>(SLOW_TELLS, (share - <f32>0.5) / (SLOW_SHARE * SLOW_SHARE + u * u)));
}

let likeliestStart: u32 = 0;
/** Logarithm of the probability of a sign; leaves its likeliest start. @param late - nothing is seen at the trigger */
function likeliest(sign: f32, late: bool): f32 {
  let most = story(sign, Start.free);
  let sum = most;
  likeliestStart = Start.free;
  for (let start: u32 = Start.held; start <= <u32>(late ? Start.unseen : Start.held); start++) {
    const log = story(sign, start);
    sum = addLogs(sum, log);
    if (log <= most) continue;
    most = log;
    likeliestStart = start;
  }
  return sum;
}
