/**
 * The whole test of one pickup as a state machine over the board's events: which part is at work, the button, the end.
 * Nothing here waits; each part asks the board for one thing and goes on when it is answered.
 */
import { boardDrive, boardSwitches } from '../board';
import { board, boardState, calibration, result } from '../blocks';
import { beginElectrical, electricalEnded, verifyAtEnd, watchAfterTouch } from './electrical';
import {
  ANSWER, Answer, Button, CALIBRATION_holds_days, CALIBRATION_worst_u, Calibrated, EntryFlag, EntryKind, Input, Light, LogEntry, NONE, Note,
  Rate, Step,
} from '../layout';
import { acknowledged, commitEntry, draftEntry, failureEntry, logBegin, logCount, noteEntry, resetLog } from './ground/log';
import { beginMagnets, magnetsButton, magnetsEnded } from './parts/magnets';
import { MATRIX_OFF } from './ground/matrix';
import {
  inputOperation, isOperating, operationAbort, operationBurst, operationConversion, operationReset, operationTime,
} from './ground/operation';
import { Request, forgetHost, hostKnown, pump, resetReports, rewindSamples, takeReport } from './ground/reports';
import { beginLooks, selfTestEnded } from './parts/selftest';
import { beginSurvey, surveyCaptured, surveyDone } from './parts/survey';
import {
  bareMask, clipMask, cover, givenTemperature_C, kind, placeCount, resetSetup, setupDone, skipMagnets, temperatureGiven, today,
} from './ground/setup';
import { forgetFixture } from '../ring/fixture';
import { solve } from '../solver/solve';
import { isIdle, setStep, setWork, showLight, step, verdictLight } from './ground/status';
import {
  beginTouches, touchWatched, touchingAcknowledged, touchingButton, touchingReset, touchingSamples, touchingTime,
} from './parts/touching';
import { boardTemperature_C } from './ground/temperature';
import { Outcome, Turn } from './ground/turn';

/** What a thin-film resistor of 0.05 % may have moved once its calibration is old: from memory of data sheets. */
const OLD_u: f32 = 2e-4;

/** Which part of the test is at work; `watch` looks at the leads after a touch, `verify` at the end. */
enum Part { temperature, electrical, touches, watch, magnets, verify, selfTest, survey }

let part: u32 = Part.temperature;
/** The evidence of a finished test may be lost by the next press: said once by the waiting light. */
let warned: bool = false;
let cancelled: bool = false;

@inline function answer(): Answer { return changetype<Answer>(<usize>ANSWER); }

/** The board has started: everything off, ready to be pressed. */
export function start(): void {
  boardDrive(0);
  boardSwitches(MATRIX_OFF);
  resetSetup();
  resetLog();
  forgetFixture();
  resetReports();
  operationReset(answer());
  touchingReset();
  warned = false;
  setWork(0, 0);
  setStep(Step.idle);
  const reason = <u32>board().resetReason;
  // After a watchdog, trap or fault the light tells so until the person presses.
  showLight(reason >= 1 && reason <= 4 ? Light.trap : Light.ready);
}

// ---------------------------------------------------------------- the order

/** An operation has ended; its part goes on. @param outcome - `Outcome` */
function operationEnded(outcome: u32): void {
  if (outcome == Outcome.none) return;
  switch (part) {
    case Part.temperature: {
      temperatureDone(outcome);
      follow(Turn.done);
      break;
    }
    case Part.magnets: follow(magnetsEnded(outcome, answer())); break;
    case Part.selfTest: follow(selfTestEnded(outcome, answer())); break;
    case Part.survey: {
      if (outcome == Outcome.captured) {
        surveyCaptured();
      } else {
        if (outcome == Outcome.done) surveyDone(answer());
        else failureEntry(outcome);
        endTest();
        showLight(Light.ready);
      }
      break;
    }
    default: follow(electricalEnded(outcome, answer()));
  }
}

/** What comes after a part that has nothing left to do; the order is here and nowhere else. @param turn - `Turn` of the part at work */
function follow(turn: u32): void {
  while (turn != Turn.waits) {
    if (turn == Turn.stop) {
      endTest();
      return;
    }
    switch (part) {
      case Part.temperature: {
        part = Part.electrical;
        turn = beginElectrical();
        break;
      }
      case Part.electrical: {
        part = Part.touches;
        turn = beginTouches();
        break;
      }
      case Part.touches: {
        if (turn == Turn.look) {
          // A touch is over: the leads are looked at before it counts.
          part = Part.watch;
          turn = watchAfterTouch();
        } else if (skipMagnets) {
          turn = verify();
        } else {
          part = Part.magnets;
          turn = beginMagnets();
        }
        break;
      }
      case Part.watch: {
        part = Part.touches;
        turn = touchWatched(turn == Turn.amiss);
        break;
      }
      case Part.magnets: turn = verify(); break;
      case Part.selfTest: {
        endTest();
        showLight(turn == Turn.done ? Light.good : Light.fault);
        return;
      }
      default: {
        endTest();
        return;
      }
    }
  }
}

/** The leads are looked at once more. */
function verify(): u32 {
  part = Part.verify;
  showLight(Light.busy);
  setStep(Step.resistance);
  return verifyAtEnd();
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

/** Runs the board's self-test; its notes are a test of their own. */
function beginSelfTest(): void {
  newTest(Part.selfTest);
  beginEntry(false, 0);
  beginLooks();
}

/** Takes raw bursts for a calibration; its entries are a test of their own. */
function startSurvey(): void {
  newTest(Part.survey);
  beginEntry(false, 0);
  showLight(Light.busy);
  beginSurvey();
}

function newTest(as: u32): void {
  warned = false;
  cancelled = false;
  part = as;
  operationReset(answer());
  touchingReset();
  logBegin();
  rewindSamples();
  setWork(0, 0);
}

/** The first entry: what lies there, and how warm it is. */
function beginEntry(known: bool, temperature_C: f32): void {
  const entry = draftEntry(EntryKind.begin);
  entry.a = <u8>clipMask;
  entry.b = <u8>bareMask;
  entry.c = <u8>kind;
  entry.d = <u8>cover;
  entry.place = <u8>placeCount;
  calibrationEntry(entry);
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

/** What the scale of ohms rests on, and what it is worth today. */
function calibrationEntry(entry: LogEntry): void {
  let state = <u32>boardState().calibrated;
  // A page that is whole may still hold what is no uncertainty: then the scale is worth the most that an entry takes.
  let u = board().reference_u;
  if (!(u >= 0 && u <= CALIBRATION_worst_u)) u = CALIBRATION_worst_u;
  const day = <u32>calibration().ohmDay;
  if (state == Calibrated.good && day == 0) state = Calibrated.missing;
  if (state == Calibrated.good && today > day + CALIBRATION_holds_days) {
    state = Calibrated.old;
    u = sqrt<f32>(u * u + OLD_u * OLD_u);
  }
  entry.v1 = <f32>state;
  entry.v2 = u;
}

function temperatureDone(outcome: u32): void {
  const temperature_C = boardTemperature_C(answer().volt_V);
  const known = outcome == Outcome.done && answer().over == 0 && temperature_C > -20 && temperature_C < 70;
  beginEntry(known, known ? temperature_C : 0);
}

function cancel(): void {
  cancelled = true;
  if (logCount == 0) beginEntry(false, 0);
  noteEntry(Note.cancelled, NONE);
  endTest();
}

/** Ends the test with what is there: everything off, last entry, solve, light. */
function endTest(): void {
  operationAbort();
  touchingReset();
  setWork(0, 0);
  draftEntry(EntryKind.end);
  commitEntry();
  setStep(Step.solve);
  solve();
  setStep(cancelled ? Step.cancelled : Step.done);
  showLight(verdictLight(result().verdict));
}

// ---------------------------------------------------------------- the board's events

/** The button. @param press - `Button` */
export function onButton(press: u32): void {
  if (step == <u32>Step.storing) {
    // A calibration is about to be written: nothing may begin.
  } else if (press == Button.long) {
    if (!isIdle()) cancel();
  } else if (isIdle()) {
    pressIdle();
  } else if (part == Part.touches) {
    follow(touchingButton());
  } else if (part == Part.magnets) {
    magnetsButton();
  }
  pump();
}

/** A conversion has ended. @param code - two's complement @param status - `Status` */
export function onConversion(code: i32, status: u32): void {
  operationEnded(operationConversion(code, status, answer()));
  pump();
}

/** A burst has ended. @param status - `Status` */
export function onBurst(status: u32): void {
  operationEnded(operationBurst(status, answer()));
  pump();
}

/** A block of listening lies in LISTEN. @param status - `Status` */
export function onSamples(status: u32): void {
  if (part == Part.touches) follow(touchingSamples(status));
  pump();
}

/** The time asked for has passed. */
export function onTime(): void {
  if (isOperating()) operationEnded(operationTime(answer()));
  else if (part == Part.touches) follow(touchingTime());
  pump();
}

/** A report came from the host. @param length - bytes received at REPORT_IN */
export function onReport(length: u32): void {
  switch (takeReport(length)) {
    case Request.press: onButton(Button.press); break;
    case Request.longPress: onButton(Button.long); break;
    case Request.acknowledged: acknowledgedMore(); break;
    case Request.selfTest: beginSelfTest(); break;
    case Request.survey: startSurvey(); break;
    default: break;
  }
  pump();
}

/** The host has confirmed more of the log. */
function acknowledgedMore(): void {
  if (part == Part.touches) touchingAcknowledged();
  if (isIdle() && acknowledged == logCount) warned = false;
}
