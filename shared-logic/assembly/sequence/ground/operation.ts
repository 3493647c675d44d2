/**
 * One operation of the board at a time, always in the safe order: current off, 5 ms, look for a live voltage in the same
 * clips, switches, drive, settle, convert or capture. Each wait has a timeout; a converter or capture that fails is
 * asked again twice. Each event of the board gives the `Outcome`; `Answer` then holds what was read.
 */
import { boardBurst, boardConvert, boardDrive, boardSwitches, boardWake } from '../../board';
import { liveVoltage, lookAtBurst, looksLive } from './guard';
import { board } from '../../blocks';
import { Answer, BURST_A, BURST_LOOK, BURST_X1, BurstLook, Input, Rate, Status } from '../../layout';
import { DRV_ZERO, MATRIX_OFF, RET_BLEED, drivePort, sensePort } from './matrix';
import { Outcome } from './turn';

enum Phase {
  none, release, lookSettle, look, looked, fullSettle, full, before, settle, convert, burst, stepped, decay, cut, cutRest, pause, rest,
  stop,
}

let phase: u32 = Phase.none;
let driving: bool = false;
let retries: u32 = 0;
let full: bool = false;
let fullPending: u32 = 0;
let fullDc_V: f32 = 0;
/** Full looks that found a voltage, one after another. */
let liveLooks: u32 = 0;

/** Clips that the last look was taken in. */
let lookPlus: u32 = 0;
let lookMinus: u32 = 0;
let wordBefore: u32 = 0;
let word: u32 = 0;
let current_nA: u32 = 0;
let settleTime_us: u32 = 0;
let input: u32 = 0;
let rate: u32 = 0;
let burstCount: u32 = 0;
let burstLead: u32 = 0;
let burstWord: u32 = 0;
let burstRead: bool = false;
/** Cuts that are still to be made, 0 for an operation that makes none; time from one to the next. */
let cutsLeft: u32 = 0;
let cutPeriod_us: u32 = 0;
let cutsLost: u32 = 0;

const RELEASE_us: u32 = 5000;
/** Clip and lead of 400 pF at most through the bleed's 100 kilohm: twelve time constants. */
const LOOK_SETTLE_us: u32 = 500;
/** The full look stands for itself, after whatever the person did. */
const FULL_SETTLE_us: u32 = 1000;
/** The leak path's 10 nF through 2.4 kilohm: twenty time constants. */
const EMPTY_us: u32 = 500;
const INPUT_SETTLE_us: u32 = 1000;
/** Half a millisecond. */
const LOOK_SAMPLES: u32 = 60;
/**
 * A step's slot is 25 ms: four are 100 ms, five periods of 50 Hz and six of 60 Hz. It is cut by the clock alone, so that what
 * the board computes in between does not shift it: settle, look, settle, and the rest of it from the burst on.
 */
export const SLOT_us: u32 = 25000;
const STEP_LOOK_us: u32 = 1000;
const STEP_SETTLE_us: u32 = 1000;
const STEP_us: u32 = SLOT_us - LOOK_SETTLE_us - STEP_LOOK_us - STEP_SETTLE_us;
/** 20 ms: a whole period of 50 Hz. */
const FULL_SAMPLES: u32 = 2400;
/** Half a period of 50 Hz. */
const HUM_SAMPLES: u32 = 1200;
/** Full looks that must all find a voltage, and the time between them. */
const LIVE_LOOKS: u32 = 3;
const LIVE_PAUSE_us: u32 = 100000;
const RETRIES: u32 = 2;
/** Cuts that may be lost before the operation has failed. */
const CUTS_LOST_most: u32 = 4;
/** Far beyond the longest conversion that still counts as answered (3 x 56.5 ms). */
const CONVERT_timeout_us: u32 = 250000;
const BURST_timeout_us: u32 = 150000;

@inline function look(): BurstLook { return changetype<BurstLook>(<usize>BURST_LOOK); }

/** Whether an operation is under way. */
export function isOperating(): bool { return phase != Phase.none; }

/** Forgets what was under way and the hum that was seen, without a word to the board. */
export function operationReset(answer: Answer): void {
  phase = Phase.none;
  answer.hum_V = 0;
}

/** Stops: current off at once, the switches 5 ms later. Nothing of the operation is answered any more. */
export function operationAbort(): void {
  const stepping = phase == Phase.burst || phase == Phase.stepped || phase == Phase.decay || phase == Phase.cut;
  const releasing = phase == Phase.release || phase == Phase.rest || phase == Phase.stop;
  boardDrive(0);
  if (stepping) boardSwitches(word);
  if (driving || stepping || releasing) {
    phase = Phase.stop;
    boardWake(RELEASE_us);
  } else {
    phase = Phase.none;
    boardWake(0);
    boardSwitches(MATRIX_OFF);
  }
  driving = false;
}

/** Switches the current off, 5 ms later the matrix. */
export function restOperation(): void {
  phase = Phase.rest;
  boardDrive(0);
  boardWake(driving ? RELEASE_us : 1);
  driving = false;
}

/** Sets everything that an operation may use; the callers below change what differs. */
function arrange(matrix: u32, current: u32, settle: u32, speed: u32): void {
  full = false;
  wordBefore = 0;
  burstCount = 0;
  cutsLeft = 0;
  cutsLost = 0;
  input = Input.port;
  word = matrix;
  current_nA = current;
  settleTime_us = settle;
  rate = speed;
}

/**
 * Looks (in clips plus and minus; 0 = no look), drives, settles and converts at the port.
 * @param current - nA of the current source, 0 = none @param settle - microseconds from the drive to the conversion
 */
export function convertOperation(
  plus: u32, minus: u32, matrix: u32, current: u32, settle: u32, speed: u32,
): void {
  arrange(matrix, current, settle, speed);
  begin(plus, minus);
}

/** As `convertOperation` with another matrix word for a moment before: empties the leak path's capacitor. */
export function emptiedOperation(plus: u32, minus: u32, first: u32, matrix: u32, settle: u32, speed: u32): void {
  arrange(matrix, 0, settle, speed);
  wordBefore = first;
  begin(plus, minus);
}

/** Converts another input with the matrix off. @param which - `Input` */
export function inputOperation(which: u32, speed: u32): void {
  arrange(MATRIX_OFF, 0, INPUT_SETTLE_us, speed);
  input = which;
  begin(0, 0);
}

/**
 * Looks, captures a step of the voltage drive and lets it die away: SLOT_us in all. `Outcome.captured` comes before the end.
 * @param count - samples, 20 ms at most @param read - whether the converter reads the port at the end of the step
 */
export function stepOperation(plus: u32, minus: u32, base: u32, stepped: u32, count: u32, lead: u32, read: bool): void {
  arrange(base, 0, STEP_SETTLE_us, Rate.quick);
  burstCount = count;
  burstLead = lead;
  burstWord = stepped;
  burstRead = read;
  begin(plus, minus);
}

/**
 * Looks, drives, settles, and then switches to another word again and again, each time with a burst of the x1 inputs round it:
 * `Outcome.captured` comes for each. A source that runs stays on: its current is what is cut, the one exception to the order.
 * @param base - matrix word between the cuts @param cut - and after them @param current - nA of the current source
 * @param count - samples of a burst @param lead - samples before the cut
 * @param period_us - from cut to cut, cut by the clock alone @param cuts - how many
 */
export function cutsOperation(
  plus: u32, minus: u32, base: u32, cut: u32, current: u32, count: u32, lead: u32, period_us: u32, cuts: u32,
): void {
  arrange(base, current, period_us, Rate.quick);
  burstCount = count;
  burstLead = lead | BURST_X1;
  burstWord = cut;
  cutPeriod_us = period_us;
  cutsLeft = cuts;
  begin(plus, minus);
}

/** The full look for a live voltage, nothing driven. */
export function lookOperation(plus: u32, minus: u32): void {
  arrange(MATRIX_OFF, 0, 0, Rate.precise);
  full = true;
  begin(plus, minus);
}

/** Only waits. @param time_us - microseconds, 1 or more */
export function pauseOperation(time_us: u32): void {
  phase = Phase.pause;
  boardWake(time_us);
}

function begin(plus: u32, minus: u32): void {
  lookPlus = plus;
  lookMinus = minus;
  retries = 0;
  liveLooks = 0;
  if (driving) {
    boardDrive(0);
    driving = false;
    phase = Phase.release;
    boardWake(RELEASE_us);
  } else {
    startLook();
  }
}

function lookWord(): u32 {
  return drivePort(lookPlus, lookMinus) | sensePort(lookPlus, lookMinus) | DRV_ZERO | RET_BLEED;
}

function startLook(): void {
  if (full) {
    startFull();
    return;
  }
  if (lookPlus == 0) {
    engage();
    return;
  }
  phase = Phase.lookSettle;
  boardSwitches(lookWord());
  boardWake(LOOK_SETTLE_us);
}

function startFull(): void {
  phase = Phase.fullSettle;
  boardSwitches(lookWord());
  boardWake(FULL_SETTLE_us);
}

/** Converter and both listening channels look at the same time. */
function lookFully(): void {
  phase = Phase.full;
  fullPending = 3;
  boardConvert(Input.port, Rate.precise);
  boardBurst(FULL_SAMPLES, 0, lookWord());
  boardWake(CONVERT_timeout_us);
}

function fullDone(answer: Answer): u32 {
  boardWake(0);
  const live_V = liveVoltage(fullDc_V, look().peak_V);
  if (live_V != 0) {
    // Steel that moves at the coil looks live for a moment; a source is still there a tenth of a second later.
    liveLooks++;
    if (liveLooks >= LIVE_LOOKS) {
      answer.live_V = live_V;
      answer.plus = <u8>lookPlus;
      answer.minus = <u8>lookMinus;
      return finish(Outcome.live);
    }
    phase = Phase.fullSettle;
    boardWake(LIVE_PAUSE_us);
    return Outcome.none;
  }
  // The end of the burst: a coil that loses little still rings from the drive before when it begins.
  lookAtBurst(BURST_A + (FULL_SAMPLES - HUM_SAMPLES) * 4, HUM_SAMPLES, look());
  if (look().peak_V > answer.hum_V) answer.hum_V = look().peak_V;
  if (full) return finish(Outcome.done);
  engage();
  return Outcome.none;
}

function engage(): void {
  if (wordBefore != 0) {
    phase = Phase.before;
    boardSwitches(wordBefore);
    boardWake(EMPTY_us);
  } else {
    drive();
  }
}

function drive(): void {
  boardSwitches(word);
  if (current_nA != 0) {
    boardDrive(current_nA);
    driving = true;
  }
  phase = Phase.settle;
  boardWake(settleTime_us);
}

function measure(): void {
  if (cutsLeft != 0) {
    phase = Phase.cut;
    cutsLeft--;
    boardBurst(burstCount, burstLead, burstWord);
    boardWake(cutPeriod_us);
  } else if (burstCount != 0) {
    phase = Phase.burst;
    boardBurst(burstCount, burstLead, burstWord);
    boardWake(STEP_us);
  } else {
    phase = Phase.convert;
    boardConvert(input, rate);
    boardWake(CONVERT_timeout_us);
  }
}

function finish(outcome: u32): u32 {
  phase = Phase.none;
  return outcome;
}

/** The time asked for has passed. @param answer - filled at the end @returns `Outcome` */
export function operationTime(answer: Answer): u32 {
  switch (phase) {
    case Phase.release: startLook(); break;
    case Phase.lookSettle: {
      phase = Phase.look;
      boardBurst(LOOK_SAMPLES, 0, lookWord());
      boardWake(burstCount != 0 && cutsLeft == 0 ? STEP_LOOK_us : BURST_timeout_us);
      break;
    }
    case Phase.looked: engage(); break;
    case Phase.fullSettle: lookFully(); break;
    case Phase.before: drive(); break;
    case Phase.settle: measure(); break;
    case Phase.cut: {
      // No answer within the period: the burst is lost, and another one may be.
      return cutLost();
    }
    case Phase.cutRest: {
      if (cutsLeft == 0) return finish(Outcome.done);
      measure();
      break;
    }
    case Phase.decay:
    case Phase.pause: return finish(Outcome.done);
    case Phase.rest: {
      boardSwitches(MATRIX_OFF);
      return finish(Outcome.done);
    }
    case Phase.stop: {
      boardSwitches(MATRIX_OFF);
      phase = Phase.none;
      break;
    }
    case Phase.look:
    case Phase.burst: return operationBurst(Status.silent, answer);
    case Phase.full: {
      return (fullPending & 1) != 0 ? operationConversion(0, Status.silent, answer) : operationBurst(Status.silent, answer);
    }
    case Phase.convert:
    case Phase.stepped: return operationConversion(0, Status.silent, answer);
    default: break;
  }
  return Outcome.none;
}

/** A conversion has ended. @param code - two's complement @param status - `Status` @param answer - filled at the end @returns `Outcome` */
export function operationConversion(code: i32, status: u32, answer: Answer): u32 {
  const awaited = phase == Phase.convert || phase == Phase.stepped || (phase == Phase.full && (fullPending & 1) != 0);
  if (!awaited) return Outcome.none;
  if (status != Status.ok && status != Status.overrange) return again(Outcome.converterFailed);
  const volt_V = <f32>code * board().code_V;
  if (phase == Phase.full) {
    fullDc_V = status == Status.overrange && abs<f32>(volt_V) < 1 ? <f32>2.5 : volt_V;
    fullPending &= ~1;
    return fullPending == 0 ? fullDone(answer) : <u32>Outcome.none;
  }
  answer.volt_V = volt_V;
  answer.over = status == Status.overrange ? 1 : 0;
  if (phase == Phase.stepped) return captured();
  boardWake(0);
  return finish(Outcome.done);
}

/** The step goes back; its current dies away for the rest of the slot. */
function captured(): u32 {
  boardSwitches(word);
  phase = Phase.decay;
  return Outcome.captured;
}

/** Back to the word between the cuts, until the period is over. */
function recover(): void {
  phase = Phase.cutRest;
  boardDrive(0);
  boardSwitches(word);
  if (current_nA != 0) boardDrive(current_nA);
}

/** A cut was not captured: one more in its place. */
function cutLost(): u32 {
  cutsLost++;
  if (cutsLost > CUTS_LOST_most) {
    boardDrive(0);
    driving = false;
    boardSwitches(word);
    return finish(Outcome.captureFailed);
  }
  cutsLeft++;
  recover();
  boardWake(cutPeriod_us);
  return Outcome.none;
}

/** A burst has ended. @param status - `Status` @param answer - filled at the end @returns `Outcome` */
export function operationBurst(status: u32, answer: Answer): u32 {
  if (phase == Phase.look) {
    if (status != Status.ok) return again(Outcome.captureFailed);
    lookAtBurst(BURST_A, LOOK_SAMPLES, look());
    if (looksLive(look())) lookFully();
    else if (burstCount != 0 && cutsLeft == 0) phase = Phase.looked;
    else engage();
  } else if (phase == Phase.full && (fullPending & 2) != 0) {
    if (status != Status.ok) return again(Outcome.captureFailed);
    lookAtBurst(BURST_A, FULL_SAMPLES, look());
    fullPending &= ~2;
    if (fullPending == 0) return fullDone(answer);
  } else if (phase == Phase.cut) {
    if (status != Status.ok) return cutLost();
    recover();
    return Outcome.captured;
  } else if (phase == Phase.burst) {
    if (status != Status.ok) {
      boardSwitches(word);
      return again(Outcome.captureFailed);
    }
    if (!burstRead) return captured();
    phase = Phase.stepped;
    boardConvert(Input.port, Rate.quick);
  }
  return Outcome.none;
}

/** The same again from the look on, or the end of it. */
function again(outcome: u32): u32 {
  if (retries == RETRIES) return finish(outcome);
  retries++;
  if (driving) {
    boardDrive(0);
    driving = false;
    phase = Phase.release;
    boardWake(RELEASE_us);
  } else {
    startLook();
  }
  return Outcome.none;
}
