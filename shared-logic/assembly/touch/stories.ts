/**
 * What a row of events means: arrival, departure, late lift of the last touch, several contacts.
 *
 * The sign comes from net fluxes, never from the largest lobe: bounces and fast departures have larger ones.
 */
import { Event, begins_s, eventAt, eventCount, eventTime_s } from './events';
import { GRID_V, gridChannel, gridCount, gridRate_Hz, gridStart_s } from './grid';
import { addLogs, exponential, logarithm } from '../waves';

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
