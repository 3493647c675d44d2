/**
 * What the tester shows and tells of itself: the step of the test, the clips in work, the light; and whether the host is to be
 * told that something of it has changed.
 */
import { boardLight } from '../../board';
import { Light, NONE, Step, Verdict } from '../../layout';

/** `Step` of the test. */
export let step: u32 = Step.idle;
/** Clips in work, 0 = none. */
export let workA: u32 = 0;
export let workB: u32 = 0;
export let progress_permille: u32 = 0;
/** `Light` now shown. */
export let light: u32 = Light.off;
/** Place that the light asks for, and how often it was asked for before. */
export let lightPlace: u32 = NONE;
export let lightAsk: u32 = 0;
/** Something of the state has changed since the host was told. */
export let stateDue: bool = false;

/** Something that the state report tells has changed. */
export function markState(): void { stateDue = true; }

/** The host has been told the state, or nobody listens. */
export function stateTold(): void { stateDue = false; }

/** Whether no test is running. */
export function isIdle(): bool {
  return step == <u32>Step.idle || step == <u32>Step.done || step == <u32>Step.cancelled || step == <u32>Step.failed;
}

/** The step is now another one. @param to - `Step` */
export function setStep(to: u32): void {
  step = to;
  // Waiting for the host or for a person is no step of the test: what was reached stays.
  if (to != <u32>Step.waitHost && to != <u32>Step.asleep && to != <u32>Step.storing) progress_permille = progressOf(to);
  markState();
}

function progressOf(at: u32): u32 {
  if (at == Step.idle) return 0;
  if (at >= <u32>Step.solve && at <= <u32>Step.failed) return 1000;
  // Rings came to the list last and lie between the couplings and the first touch.
  return (at == <u32>Step.ring ? <u32>Step.coupling : at) * 1000 / Step.solve;
}

/** The clips now in work are these. */
export function setWork(a: u32, b: u32): void {
  workA = a;
  workB = b;
  markState();
}

/** Shows a pattern that names no place. @param pattern - `Light` */
export function showLight(pattern: u32): void { showPlace(pattern, NONE, 0); }

/** Asks for a place. @param pattern - `Light.touch` or `Light.magnet` @param place - index @param ask - from 0 */
export function showPlace(pattern: u32, place: u32, ask: u32): void {
  light = pattern;
  lightPlace = place;
  lightAsk = ask;
  boardLight(place == NONE ? pattern : pattern | (place << 8) | (ask << 16));
  markState();
}

/** The light of a verdict. @param verdict - `Verdict` @returns `Light` */
export function verdictLight(verdict: u32): u32 {
  if (verdict == Verdict.good) return Light.good;
  return verdict == Verdict.fault ? Light.fault : Light.unsure;
}
