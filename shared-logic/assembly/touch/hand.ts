/**
 * What hands do: one set of prior probabilities for all touches, faint or strong (physics of a touch in hardware-notes).
 * Densities are per second of time, or per unit of the logarithm of a flux.
 */
import { evidence, touchEvidence } from '../blocks';
import { TouchEvidence, TouchFlag } from '../layout';
import { gridStart_s } from './grid';
import { exponential, logarithm } from '../waves';

/** What was at its middle so long before the trigger hardly set it off, and less by a factor e for each FADES_s more. */
const OVER_s: f32 = 0.01;
const FADES_s: f32 = 0.004;
/** Density of an arrival that the trigger let pass to fire on what came after it, 1/s. */
const LET_PASS: f32 = 0.002;
/** What begins so soon after the trigger set it off: nine touches in ten, over a tenth of a second. */
export const TRIGGER_s: f32 = 0.05;
export const AT_TRIGGER_DENSITY: f32 = 9;
/** One in ten comes up to LATE_s later, because a hand or a tool set the trigger off first; hardly any after that. */
export const LATE_s: f32 = 0.3;
const LATE_DENSITY: f32 = 0.4;
const SOME_TIME_DENSITY: f32 = 0.05;

/**
 * Density of the lift of steel that lay there, 1/s: it may set off the trigger itself, as an arrival does, or come before the arrival
 * that does; the first is taken for twice as likely at any one time (judgement, no published source).
 */
export const LIFT_DENSITY: f32 = 2;
const LIFT_AT_TRIGGER_DENSITY: f32 = 4;
/**
 * After a lift the hand comes back within half a second. A lift that began later than TRIGGER_s has this weight; one of steel that
 * was heard to come only when it began later than LATE_s.
 */
export const AFTER_LIFT_DENSITY: f32 = 2;
export const LATE_LIFT: f32 = 0.05;

/** By how much something whose middle is at `time_s` was over too early to have set the trigger off; below 0: it may have. */
export function overBefore_s(time_s: f32): f32 { return -OVER_s - time_s; }

/** Density of the first arrival, 1/s. @param begins_s - of the event @param time_s - its middle */
export function arrivalDensity(begins_s: f32, time_s: f32): f32 {
  const over_s = overBefore_s(time_s);
  if (over_s > 0) return LET_PASS + AT_TRIGGER_DENSITY * exponential(-over_s / FADES_s);
  if (begins_s < TRIGGER_s) return AT_TRIGGER_DENSITY;
  return begins_s < LATE_s ? LATE_DENSITY : SOME_TIME_DENSITY;
}

/** Density of the lift of steel that lay there, 1/s. @param begins_s - of the event @param time_s - its middle */
export function liftDensityAt(begins_s: f32, time_s: f32): f32 {
  return begins_s < TRIGGER_s && overBefore_s(time_s) <= 0 ? LIFT_AT_TRIGGER_DENSITY : LIFT_DENSITY;
}

/** Steel bounces as it arrives, about three times in ten, and hardly seems to as it leaves. */
const BOUNCES: f32 = 0.3;
const SEEMS_TO_BOUNCE: f32 = 0.02;
/** Probability of an event to have bounced or not. @param arrives - or leaves */
export function bounceProbability(arrives: bool, bounced: bool): f32 {
  const bounces = arrives ? BOUNCES : SEEMS_TO_BOUNCE;
  return bounced ? bounces : 1 - bounces;
}

/** Prior of an arrival so slow that it makes no event, 0.1 to 0.8 s: what the running flux says of it comes on top. */
export const UNSEEN: f32 = 0.05;

/** Density of a hold, 1/s: log-uniform from 0.1 to 3 s, hardly ever shorter. */
export function holdDensity(hold_s: f32): f32 {
  if (hold_s >= <f32>0.1) return <f32>0.29 / hold_s;
  return <f32>0.02 + <f32>2.9 * exponential((hold_s - <f32>0.1) * 60);
}

/** Probability that a hold outlasts the rest of the capture. */
export function outlasts(rest_s: f32): f32 {
  return max<f32>(<f32>0.02, min<f32>(1, logarithm(3 / max<f32>(rest_s, <f32>0.1)) / <f32>3.4));
}

/** Density of ln(departure / arrival): most are equal, some arrivals lose a slow start or a bounce. */
export function pairDensity(arrival_Wb: f32, departure_Wb: f32): f32 {
  const x = logarithm(departure_Wb / arrival_Wb);
  return <f32>4.8 * exponential(-x * x * 200) + <f32>0.24 * exponential(-2 * x * x) + <f32>0.01;
}
/** Density of the logarithm of a flux of which nothing else is known. */
export const UNPAIRED: f32 = 0.35;

/** Prior of another contact after the first departure; who touches twice is likely to go on. */
export const AGAIN: f32 = 0.05;
export const ON_AND_ON: f32 = 0.4;
/** Prior of arrival in two steps, soon (contact, then the rest within 0.3 s) or slowly after each other. */
const IN_STEPS: f32 = 0.1;
const SLOW_STEPS: f32 = 0.01;
export const STEPS_s: f32 = 0.1;
const SLOWLY_s: f32 = 0.3;
export function stepPrior(gap_s: f32): f32 { return gap_s < STEPS_s ? IN_STEPS : gap_s < SLOWLY_s ? IN_STEPS / 2 : SLOW_STEPS; }
/** Prior of a departure with no contact. */
export const UNEXPLAINED: f32 = 0.003;
/** After a lift the person touches; that the capture ends before has this probability. */
export const NO_TOUCH_AFTER_LIFT: f32 = 0.2;

/** The touch before this one in the record; 0: none. */
export function touchBefore(): u32 {
  const count: u32 = evidence().touchCount;
  return count == 0 ? 0 : <u32>changetype<usize>(touchEvidence(count - 1));
}

/** Whether the capture began after the trigger. */
export function beganAfter(): bool { return gridStart_s > BEGAN_AFTER_s; }
const BEGAN_AFTER_s: f32 = 0.004;

/**
 * Prior probability that steel already lay there when the capture began. The last capture tells: in about half of those
 * that ended with the steel still there it is lifted in the next one; after one that saw it leave, or where nothing came
 * before, somebody must have touched between the captures. A capture that begins after the trigger has missed the arrival
 * that set it off: nine in ten; one that began so and heard nothing left it there.
 */
export function restsBefore(): f32 {
  if (beganAfter()) return MISSED;
  const at = touchBefore();
  const flags: u32 = at == 0 ? 0 : changetype<TouchEvidence>(<usize>at).flags;
  if ((flags & (TouchFlag.stays | TouchFlag.none)) == TouchFlag.stays) return KEPT;
  if (gridStart_s > <f32>-0.02) return <f32>0.1;
  if (at == 0) return FRESH;
  if ((flags & TouchFlag.none) == 0) return LEFT;
  return (flags & TouchFlag.missed) != 0 ? KEPT : UNHEARD;
}
const KEPT: f32 = 0.5;
const MISSED: f32 = 0.9;
const LEFT: f32 = 0.01;
const FRESH: f32 = 0.02;
const UNHEARD: f32 = 0.5;

/**
 * Near the noise a touch cannot have made its own trigger: odds that lean on the trigger are wrong wherever it came from
 * something else. Shares of arrivals just before the trigger, and near it; the rest lies anywhere.
 */
export const CLOSE: f32 = 0.01;
export const CLOSE_FROM_ms: i32 = -7;
export const CLOSE_TO_ms: i32 = 3;
export const NEAR: f32 = 0.03;
export const NEAR_ms: i32 = 40;
/**
 * The trigger is used to tell an arrival from a departure: what stands alone long after it may be the end of an arrival that
 * was lost in the noise. Weight of a lone arrival there, 256ths, and of the trigger's neighbourhood for arrivals that left again.
 */
export const LATER_256: u32 = 105;
export const LATER_ms: i32 = 50;
/** An arrival so slow that nothing of it is seen (UNSEEN), and the shortest hold after it, end no sooner after the trigger. */
export const UNSEEN_ms: i32 = 150;
export const LEFT_TOLD: u32 = 4;
/** Holds near the noise: even from 50 ms to a second; at least 3 % of the contacts outlast any capture, in 65536ths. */
export const FAINT_HOLD_MIN_s: f32 = 0.05;
export const FAINT_HOLD_SPAN_s: f32 = 1;
export const STAYS_SPAN: i32 = 63570;
