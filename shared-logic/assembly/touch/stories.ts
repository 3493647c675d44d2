/**
 * What a row of events means: arrival, departure, late lift of the last touch, several contacts.
 *
 * The sign comes from net fluxes, never from the largest lobe: bounces and fast departures have larger ones.
 */
import { Event, TWO_s, begins_s, eventAt, eventCount, eventTime_s } from './events';
import { GRID_V, gridChannel, gridCount, gridRate_Hz, gridStart_s, lastingRounding } from './grid';
import {
  AFTER_LIFT_DENSITY, AGAIN, AT_TRIGGER_DENSITY, LATE_LIFT, LIFT_DENSITY, NO_TOUCH_AFTER_LIFT, ON_AND_ON, STEPS_s, TRIGGER_s, UNEXPLAINED,
  UNPAIRED, UNSEEN, arrivalDensity, beganAfter, bounceProbability, holdDensity, liftDensityAt, outlasts, overBefore_s, pairDensity,
  stepPrior,
} from './hand';
import { isLift, isMoreThanLeft, liftAt, liftTells, restsClearly } from './rest';
import { addLogs, logarithm } from '../waves';

let clipped: bool = false;

/** What a row of events means. */
@unmanaged export class Story {
  /** Events of the first contact's arrival and departure, -1 for none. */
  arrival: i32;
  departure: i32;
  /** How many there were, but for one that was made before the capture. */
  contacts: u32;
  /** Whether there was such a one. */
  madeBefore: bool;
  /** Whether steel lies there at the end, of whichever contact. */
  stays: bool;
  /** Flux of the first contact's arrival, all steps together, as a size. */
  flux_Wb: f32;
}

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

/**
 * How a story begins: without contact, with one that was made before the capture, with such a one and, after its lift, an
 * arrival that is not seen, with an arrival that is not seen.
 */
enum Start { free, held, lifted, unseen }

/**
 * A movement that was under way as a capture began which missed its trigger, and goes on so long, is mostly the tail of a coupling,
 * which goes the other way than the arrival did. So often it does not.
 */
function isTail(e: Event): bool { return e.from == 0 && beganAfter() && <f32>e.to > TWO_s * gridRate_Hz; }
const NO_TAIL: f32 = 0.1;

/** Whether the story takes the event that the capture before points at for the lift of its steel. */
let lifting: bool = false;

/** Logarithm of the probability of the counted events for one sign and one `Start`; tells the story. */
function tell(sign: f32, start: u32, story: Story): f32 {
  const before = restsClearly();
  let on = start != Start.free;
  let log = logarithm(start == Start.free ? 1 - before : start == Start.unseen ? UNSEEN : before) + (start == Start.unseen ? slowTells : 0);
  // Beside other stories, which must explain the event where the channel counts it.
  if (lifting) {
    const lift = eventAt(<u32>liftAt);
    log += logarithm(before / (1 - before) * liftDensityAt(begins_s(lift), eventTime_s(lift))) + liftTells
      + (lift.counts != 0 ? logarithm(UNPAIRED * bounceProbability(false, lift.bounced != 0)) : 0);
  }
  let known: f32 = 0;
  let knownOver = false;
  let lastArrival_s: f32 = 0;
  let likely: f32 = start == Start.unseen ? AT_TRIGGER_DENSITY : 1;
  let arrival: i32 = -1;
  let departure: i32 = -1;
  let contacts: u32 = start == Start.unseen ? 1 : 0;
  let flux_Wb: f32 = 0;
  story.madeBefore = lifting || (on && start != Start.unseen);
  for (let i: u32 = 0; i < eventCount; i++) {
    const e = eventAt(i);
    if (e.counts == 0 || (lifting && <i32>i == liftAt)) continue;
    if (isTail(e)) {
      if (e.flux_Wb * sign > 0) log += logarithm(NO_TAIL);
      continue;
    }
    const size = abs(e.flux_Wb);
    const time_s = eventTime_s(e);
    const towards = e.vague != 0 ? !on || goesOn(i, sign, time_s - lastArrival_s) : e.flux_Wb * sign > 0;
    log += logarithm(bounceProbability(towards, e.bounced != 0));
    if (towards) {
      const density = lifting ? max<f32>(AFTER_LIFT_DENSITY, arrivalDensity(begins_s(e), time_s)) : arrivalDensity(begins_s(e), time_s);
      if (on && contacts > 0) {
        log += logarithm(stepPrior(time_s - lastArrival_s) * UNPAIRED);
        // The trigger may have let a slow approach pass and fired on what came after it.
        if (contacts == 1 && density > likely) {
          log += logarithm(density / likely);
          likely = density;
        }
        known += size;
        knownOver = knownOver || e.over != 0;
        if (contacts == 1 && departure < 0) flux_Wb = known;
      } else if (on) {
        // Pressed further on a contact that was made before the capture.
        log += logarithm(stepPrior(0) * UNPAIRED);
      } else {
        likely = contacts == 0 ? density : contacts == 1 ? AGAIN : ON_AND_ON;
        log += logarithm(UNPAIRED * likely);
        on = true;
        known = size;
        knownOver = e.over != 0;
        contacts++;
        if (arrival < 0) {
          arrival = <i32>i;
          flux_Wb = size;
        }
      }
      lastArrival_s = time_s;
    } else if (on) {
      if (known > 0) {
        const pair = e.vague != 0 ? UNPAIRED : pairDensity(known, size);
        // What went over range may have been larger, never smaller.
        const bound = clipped && (size < known ? e.over != 0 : knownOver);
        log += logarithm(holdDensity(time_s - lastArrival_s) * (bound ? max<f32>(UNPAIRED, pair) : pair));
      } else if (contacts > 0) {
        log += logarithm(UNPAIRED * holdDensity(time_s - lastArrival_s));
      } else {
        // Steel that was lifted late sets the trigger off itself, but for what came at a trigger that the capture missed.
        if (beganAfter()) log += logarithm(UNPAIRED * holdDensity(max<f32>(0, time_s)));
        else log += logarithm(UNPAIRED * LIFT_DENSITY * (start == Start.lifted ? UNSEEN : begins_s(e) < TRIGGER_s ? <f32>1 : LATE_LIFT));
        if (start == Start.lifted) {
          log += slowTells;
          likely = AT_TRIGGER_DENSITY;
          lastArrival_s = max<f32>(0, time_s);
          contacts = 1;
          continue;
        }
      }
      on = false;
      if (contacts == 1 && departure < 0) departure = <i32>i;
      known = 0;
    } else {
      log += logarithm(UNEXPLAINED * UNPAIRED);
    }
  }
  const end_s = gridStart_s + <f32>gridCount / gridRate_Hz;
  if (on && contacts > 0) log += logarithm(outlasts(end_s - lastArrival_s));
  story.arrival = arrival;
  story.departure = departure;
  story.contacts = contacts;
  story.stays = on;
  story.flux_Wb = flux_Wb;
  if (contacts == 0 && !beganAfter()) log += logarithm(NO_TOUCH_AFTER_LIFT);
  return log;
}

/**
 * Weighs both signs of the counted events.
 * @param deviation - noise of a sample of the channel, grid units
 * @param overrange - samples are missing, so that an arrival and its departure need not be equal
 * @param best - the likeliest story of the likelier sign
 * @returns ln of P(positive arrival) / P(negative arrival)
 */
export function weighStories(channel: u32, deviation: f32, overrange: bool, best: Story): f32 {
  clipped = overrange;
  let first: u32 = 0;
  while (first < eventCount && (eventAt(first).counts == 0 || isLift(first) || isTail(eventAt(first)))) first++;
  more = Start.held;
  moreThanLeft = first < eventCount && isMoreThanLeft(channel, eventAt(first).flux_Wb);
  slowTells = 0;
  if (first < eventCount) {
    const e = eventAt(first);
    let next = first;
    const lead_s = min<f32>(-LEAD_s, max<f32>(-SLOW_LEAD_s, gridStart_s + QUIET_LEAST_s));
    let from = <u32>max<f32>(0, (lead_s - gridStart_s) * gridRate_Hz);
    if (begins_s(e) > TRIGGER_s) {
      more = Start.unseen;
      // What the last capture left was lifted first: the slow movement may begin after it.
      if (first > 0 && isLift(first - 1)) from = max(from, eventAt(first - 1).to);
    } else if (overBefore_s(eventTime_s(e)) > 0) {
      more = Start.lifted;
      from = e.to;
      do next++; while (next < eventCount && eventAt(next).counts == 0);
    }
    if (more != Start.held && next < eventCount) measureSlow(channel, from, next, deviation);
  }
  const up = likeliest(1, best);
  const upStart = likeliestStart;
  const upLifting = likeliestLifting;
  const down = likeliest(-1, best);
  lifting = up >= down ? upLifting : likeliestLifting;
  tell(up >= down ? 1 : -1, up >= down ? upStart : likeliestStart, best);
  return up - down;
}

/** What the first event, too late or too early to have set the trigger off, lets a story begin with besides free and held. */
let more: u32 = Start.held;

/** A slow movement may have begun so long before the trigger. */
const SLOW_LEAD_s: f32 = 0.08;
/** Time before the trigger that is quiet for sure, after an event that is again, and the shortest to judge by, seconds. */
const LEAD_s: f32 = 0.012;
const QUIET_LEAST_s: f32 = 0.03;
/** Drift that may stand under a slow movement beside one quiet stretch, V/s. */
const DRIFT_Vs: f32 = 0.001;
/**
 * Flux of a slow movement as a share of what then moves the other way: of an arrival, of nothing, of the slow start of an
 * arrival (a quarter of all have one); how far each may be off; one in thirty is anything. Most that it tells, ln.
 */
const SLOW_SEEN: f32 = 0.85;
const SLOW_SHARE: f32 = 0.25;
const STILL_SHARE: f32 = 0.06;
const APPROACH: f32 = -0.3;
const LN_APPROACH: f32 = -1.4;
const LN_ODD: f32 = -3.4;
/** ln of a normal density, but for a constant, of a deviation that has two independent parts. */
function bell(x: f32, own: f32, noise: f32): f32 {
  const variance = own * own + noise * noise;
  return -(x * x / variance + logarithm(variance)) / 2;
}
const SLOW_TELLS: f32 = 7;

/** A quiet stretch: mean of its samples, its middle and how many there are. */
@unmanaged class Quiet {
  mean: f32;
  middle: f32;
  count: f32;
}
const FIRST: Quiet = changetype<Quiet>(memory.data(offsetof<Quiet>()));
const LAST: Quiet = changetype<Quiet>(memory.data(offsetof<Quiet>()));

/** The samples from `from` to `to` as a quiet stretch. @param into - written where there are enough @returns whether there are */
function isQuietFrom(base: u32, from: u32, to: u32, into: Quiet): bool {
  if (<f32>to < <f32>from + QUIET_LEAST_s * gridRate_Hz) return false;
  let sum: i64 = 0;
  for (let i = from; i < to; i++) sum += load<i32>(base + i * 4);
  into.count = <f32>(to - from);
  into.mean = <f32>sum / into.count;
  into.middle = <f32>from + into.count / 2;
  return true;
}

/** ln odds that what moved slowly where nothing stands out is the arrival that the event after it ends, not nothing. */
let slowTells: f32 = 0;

/**
 * Measures that on a channel.
 * @param from - first sample of the slow movement, which lasts until event `next`
 * @param deviation - of a sample, grid units
 */
function measureSlow(channel: u32, from: u32, next: u32, deviation: f32): void {
  const base = gridChannel(channel);
  const to = eventAt(next).from;
  const length = <f32>(to - from);
  const centre = <f32>(from + to) / 2;
  const quiet = min(from, eventAt(0).from);
  const after = eventAt(eventCount - 1).to + <u32>(LEAD_s * gridRate_Hz);
  // The line that is no movement goes through two quiet stretches: before and after, or the halves of a long one.
  const before = isQuietFrom(base, 0, quiet, FIRST);
  const split = before ? after : after + (gridCount - min(after, gridCount)) / 2;
  const two = before || (gridCount >= after + 2 * (to - from) && isQuietFrom(base, after, split, FIRST));
  let still: f32 = 0;
  let shortest: f32 = 0;
  let drifts: f32 = 0;
  if (two && isQuietFrom(base, max(after, split), gridCount, LAST)) {
    still = FIRST.mean + (LAST.mean - FIRST.mean) / (LAST.middle - FIRST.middle) * (centre - FIRST.middle);
    shortest = min(FIRST.count, LAST.count);
  } else if (before || isQuietFrom(base, after, gridCount, FIRST)) {
    // One stretch alone does not tell the drift.
    still = FIRST.mean;
    shortest = FIRST.count;
    drifts = DRIFT_Vs / GRID_V / gridRate_Hz * abs(centre - FIRST.middle) * length;
  } else {
    return;
  }
  let sum: i64 = 0;
  for (let i = from; i < to; i++) sum += load<i32>(base + i * 4);
  const moved = <f32>sum - still * length;
  const left = eventAt(next).flux_Wb * gridRate_Hz / GRID_V;
  const u = (deviation * (sqrt<f32>(length) + length / sqrt<f32>(shortest)) + lastingRounding(channel, deviation) * length + drifts) / left;
  const share = -moved / left;
  // An arrival so slow is seen but for what the cleaning took; else nothing moved, or it was the slow start of what comes next.
  const arrived = bell(share - SLOW_SEEN, SLOW_SHARE, u);
  const started = bell(share - APPROACH, SLOW_SHARE, u) + LN_APPROACH;
  const nothing = addLogs(bell(share, STILL_SHARE, u), addLogs(started, bell(share, 1, u) + LN_ODD));
  slowTells = max<f32>(-SLOW_TELLS, min<f32>(SLOW_TELLS, arrived - nothing));
}

/** Whether the first event is more than what lay there could take away. */
let moreThanLeft: bool = false;
let likeliestStart: u32 = 0;
let likeliestLifting: bool = false;

/** Logarithm of the probability of a sign; leaves its likeliest start. @param story - where they are told */
function likeliest(sign: f32, story: Story): f32 {
  // The lift of steel at another coil hardly shows on this channel, and yet tells what comes next.
  const known = liftAt >= 0 && (eventAt(<u32>liftAt).counts != 0 || isLift(<u32>liftAt));
  let most: f32 = -1e30;
  let sum: f32 = -1e30;
  for (let lifted = 0; lifted <= i32(known); lifted++) {
    lifting = lifted != 0;
    for (let start: u32 = Start.free; start <= more; start++) {
      // Which steel lay there is known, or nothing is.
      if (start > <u32>Start.held && start != more) continue;
      if ((known || moreThanLeft) && (start == Start.held || start == Start.lifted)) continue;
      const log = tell(sign, start, story);
      sum = addLogs(sum, log);
      if (log <= most) continue;
      most = log;
      likeliestStart = start;
      likeliestLifting = lifting;
    }
  }
  return sum;
}
