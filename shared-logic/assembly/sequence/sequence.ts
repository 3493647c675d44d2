/**
 * The whole test of one pickup as a state machine over the board's events: which part is at work, the button, the end.
 * Nothing here waits; each part asks the board for one thing and goes on when it is answered.
 */
import { boardDrive, boardListen, boardSwitches, boardWake } from '../board';
import { beginElectrical, electricalEnded, verifyAtEnd, watchAfterTouch } from './electrical';
import {
  BOARD, Board, Button, EntryFlag, EntryKind, Evidence, EVIDENCE, Input, Light, NONE, Note, RESULT, Rate, Result, Status, Step,
  Verdict,
} from '../layout';
import { light, showLight, verdictLight } from './ground/status';
import { acknowledged, commitEntry, draftEntry, logBegin, logCount, noteEntry, resetLog } from './ground/log';
import { beginMagnets, magnetsButton, magnetsEnded } from './parts/magnets';
import { MATRIX_OFF } from './ground/matrix';
import {
  Outcome, inputOperation, operationAbort, operationBurst, operationConversion, operationReset, operationTime, over, volt_V,
} from './ground/operation';
import { forgetHost, hostKnown, markState, pump, resetReports, rewindSamples } from './ground/reports';
import { beginLooks, selfTestEnded, selfTestPassed } from './parts/selftest';
import {
  bareMask, clipMask, cover, givenTemperature_C, kind, placeCount, resetSetup, setupDone, skipMagnets, temperatureGiven,
} from './ground/setup';
import { forgetFixture } from '../ring/fixture';
import { solve } from '../solver/solve';
import {
  beginTouches, touchWatched, touchingAcknowledged, touchingButton, touchingReset, touchingSamples, touchingTime,
} from './parts/touching';
export { onReport, onReportSent, onLink } from './ground/reports';

/** Which part of the test is at work. */
enum Part { idle, temperature, electrical, touches, magnets, verify, selfTest }

/** `Step` that the state report tells. */
export let step: u32 = Step.idle;
/** Clips in work, 0 = none. */
export let workA: u32 = 0;
export let workB: u32 = 0;
export let progress_permille: u32 = 0;

let part: u32 = Part.idle;
/** The evidence of a finished test may be lost by the next press: said once by the waiting light. */
let warned: bool = false;
let cancelled: bool = false;

/** The step is now another one. @param to - `Step` */
export function setStep(to: u32): void {
  step = to;
  // Waiting for the host is no step of the test: what was reached stays.
  if (to != <u32>Step.waitHost) progress_permille = progressOf(to);
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

/** Whether no test is running. */
export function isIdle(): bool { return part == Part.idle; }

/** The board has started: everything off, ready to be pressed. */
export function start(): void {
  boardDrive(0);
  boardSwitches(MATRIX_OFF);
  resetSetup();
  resetLog();
  forgetFixture();
  resetReports();
  operationReset();
  touchingReset();
  part = Part.idle;
  warned = false;
  setWork(0, 0);
  setStep(Step.idle);
  const reason = <u32>changetype<Board>(<usize>BOARD).resetReason;
  // After a watchdog, trap or fault the light tells so until the person presses.
  showLight(reason >= 1 && reason <= 4 ? Light.trap : Light.ready);
}

/** The button. @param press - `Button` */
export function onButton(press: u32): void {
  if (press == Button.long) {
    if (part != Part.idle) cancel();
  } else if (part == Part.idle) {
    pressIdle();
  } else if (part == Part.touches) {
    touchingButton();
  } else if (part == Part.magnets) {
    magnetsButton();
  }
  pump();
}

/** Starts a test; what a known host has not got yet is lost only after a warning. */
function pressIdle(): void {
  if (acknowledged < logCount && hostKnown() && !warned) {
    warned = true;
    showLight(Light.waiting);
    return;
  }
  if (warned) forgetHost();
  newTest(Part.temperature);
  showLight(Light.busy);
  setStep(Step.guard);
  inputOperation(Input.boardTemperature, Rate.quick);
}

function newTest(as: u32): void {
  warned = false;
  cancelled = false;
  part = as;
  operationReset();
  touchingReset();
  logBegin();
  rewindSamples();
  setWork(0, 0);
}

/** Runs the board's self-test; its notes are a test of their own. */
export function beginSelfTest(): void {
  newTest(Part.selfTest);
  beginEntry(false, 0);
  beginLooks();
}

/** The first entry: what lies there, and how warm it is. */
function beginEntry(known: bool, temperature_C: f32): void {
  const entry = draftEntry(EntryKind.begin);
  entry.a = <u8>clipMask;
  entry.b = <u8>bareMask;
  entry.c = <u8>kind;
  entry.d = <u8>cover;
  entry.place = <u8>placeCount;
  entry.v2 = changetype<Board>(<usize>BOARD).reference_u;
  if (!setupDone) entry.flags = <u8>EntryFlag.clipsAssumed;
  if (temperatureGiven) {
    entry.flags |= <u8>EntryFlag.temperatureKnown;
    entry.v0 = givenTemperature_C;
  } else if (known) {
    entry.flags |= <u8>EntryFlag.temperatureKnown;
    entry.v0 = temperature_C;
  }
  commitEntry();
}

/** An operation has ended; its part goes on. @param outcome - `Outcome` */
export function operationEnded(outcome: u32): void {
  switch (part) {
    case Part.temperature: temperatureDone(outcome); break;
    case Part.electrical:
    case Part.verify: electricalEnded(outcome); break;
    case Part.magnets: magnetsEnded(outcome); break;
    case Part.selfTest: selfTestEnded(outcome); break;
    default: break;
  }
}

function temperatureDone(outcome: u32): void {
  const board = changetype<Board>(<usize>BOARD);
  const temperature_C: f32 = 25 + (volt_V - board.temperature_V25) / board.temperature_V_per_K;
  const known = outcome == Outcome.done && !over && temperature_C > -20 && temperature_C < 70;
  beginEntry(known, known ? temperature_C : 0);
  part = Part.electrical;
  beginElectrical();
}

/** Guard, ohms, leaks and steps are done. */
export function electricalDone(): void {
  part = Part.touches;
  beginTouches();
}

/** A touch is over: the leads are looked at before it counts. */
export function watchLeads(): void {
  part = Part.electrical;
  watchAfterTouch();
}

/** The leads were looked at. @param lost - one had no contact */
export function leadsWatched(lost: bool): void {
  part = Part.touches;
  touchWatched(lost);
}

/** Every ask is answered. */
export function touchesDone(): void {
  if (skipMagnets) {
    magnetsDone();
    return;
  }
  part = Part.magnets;
  beginMagnets();
}

/** The wand has been everywhere, or nowhere. */
export function magnetsDone(): void {
  part = Part.verify;
  showLight(Light.busy);
  setStep(Step.resistance);
  verifyAtEnd();
}

/** The leads were looked at once more. */
export function verified(): void { endTest(); }

/** The board has looked at itself. */
export function selfTestDone(): void {
  endTest();
  showLight(selfTestPassed() ? Light.good : Light.fault);
}

function cancel(): void {
  cancelled = true;
  if (logCount == 0) beginEntry(false, 0);
  noteEntry(Note.cancelled, NONE);
  endTest();
}

/** Ends the test with what is there: everything off, last entry, solve, light. */
export function endTest(): void {
  operationAbort();
  touchingReset();
  part = Part.idle;
  setWork(0, 0);
  draftEntry(EntryKind.end);
  commitEntry();
  setStep(Step.solve);
  solve();
  setStep(cancelled ? Step.cancelled : Step.done);
  showLight(verdictLight(changetype<Result>(<usize>RESULT).verdict));
}

/** A conversion has ended. @param code - two's complement @param status - `Status` */
export function onConversion(code: i32, status: u32): void {
  operationConversion(code, status);
  pump();
}

/** A burst has ended. @param status - `Status` */
export function onBurst(status: u32): void {
  operationBurst(status);
  pump();
}

/** A block of listening lies in LISTEN. @param status - `Status` */
export function onSamples(status: u32): void {
  if (part == Part.touches) touchingSamples(status);
  pump();
}

/** The time asked for has passed. */
export function onTime(): void {
  if (!operationTime() && part == Part.touches) touchingTime();
  pump();
}

/** The host has confirmed more of the log. */
export function acknowledgedEntries(): void {
  if (part == Part.touches) touchingAcknowledged();
  if (part == Part.idle && acknowledged == logCount) warned = false;
}
