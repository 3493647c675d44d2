/**
 * The touches: 0.2 s of history first, then the light asks; the capture ends 0.8 s after the arrival or when the steel
 * has left; what holds no touch is not an ask. Steel that still lies there is asked to be lifted: only a lift that is
 * heard tells that what came before was the arrival, and not a lift whose arrival was lost with a lead's contact.
 * The capture stays until the host has it.
 */
import { boardListen, boardSwitches, boardWake } from '../../board';
import { captureBegin } from '../../touch/capture';
import { hasLeft, hasLifted, hear, hearingBegin, isHeld, isQuiet, liftBegin } from '../../touch/arrival';
import {
  CAPTURE, CAPTURE_HEAD, CAPTURE_WORDS, CaptureHead, EntryKind, LISTEN, LISTEN_BLOCK, LISTEN_RATE_Hz, Light, NONE, Note, SCRATCH,
  Status, Step, TouchEvidence, TouchFlag, WORK_TOUCH,
} from '../../layout';
import { showLight, showPlace } from '../ground/status';
import { captureHeld, commitEntry, draftEntry, logFull, noteEntry, releaseCapture } from '../ground/log';
import { MATRIX_OFF, RET_ZERO, drivePort, ground1, ground2, sensePort } from '../ground/matrix';
import { groupOf, isolatedBareClip } from '../ground/pairs';
import { asks, asksExhausted, countAsk, minusA, minusB, place, planTouch, plusA, plusB } from './plan';
import { forgetHost, hostKnown, pump, rewindSamples, traceBlock } from '../ground/reports';
import { setStep, setWork, touchesDone, watchLeads } from '../sequence';
import { solve } from '../../solver/solve';
import { analyseTouch } from '../../touch/touch';

enum Phase { none, hostWait, history, asked, recording, lift, late }

/** Blocks kept before the arrival: 0.21 s, so that whole periods of 50 and 60 Hz lie before any sample of its block. */
const HISTORY: u32 = 21;
/** Blocks after the arrival's: 0.8 s. */
const AFTER: u32 = 80;
/** Quiet blocks after the steel has left that end a capture. */
const QUIET: u32 = 6;
/** Silence after which an ask counts as answered with nothing: 10 s. */
const SILENCE: u32 = 1000;
/** Blocks that the lift is waited for: 2.5 s. */
const LIFT: u32 = 250;
/** Blocks that a lift is waited for after a capture that seemed to hold it and does not: 1.5 s. */
const LATE: u32 = 150;
/** Arrivals that turn out to be none, in one ask. */
const FALSE_ARRIVALS: u32 = 4;
/** Captures that were overrun, in one ask. */
const OVERRUNS: u32 = 3;
/** Listening gives a block each 10 ms; this long without one is a fault. */
const BLOCK_timeout_us: u32 = 500000;
/** A host that has confirmed nothing for this long is told by the light. */
const HOST_timeout_us: u32 = 5000000;

let phase: u32 = Phase.none;
let channels: u32 = 0;
let stride: u32 = 0;
/** Channels that tell an arrival: a lead that hangs loose drifts, and tells none. */
let heard: u32 = 0;
/** Blocks heard in this phase, and blocks lying in CAPTURE. */
let heardBlocks: u32 = 0;
let written: u32 = 0;
let arrivalBlock: u32 = 0;
let falseArrivals: u32 = 0;
let overruns: u32 = 0;
let blockIndex: u32 = 0;
/** What lies in CAPTURE is to be logged when the leads turn out to have contact. */
let worthLogging: bool = false;
/** The capture ended with the steel there and no lift was heard after it. */
let unlifted: bool = false;

/** Starts with what is known from the electrical part. */
export function beginTouches(): void { nextAsk(); }

/** Stops at once. */
export function touchingReset(): void {
  if (phase >= <u32>Phase.history) boardListen(0);
  phase = Phase.none;
}

function nextAsk(): void {
  solve();
  if (logFull || !planTouch()) {
    if (asksExhausted()) noteEntry(Note.asksExhausted, NONE);
    phase = Phase.none;
    touchesDone();
    return;
  }
  waitForHost();
}

/** The last touch's capture may only be overwritten when the host has it, or never was. */
function waitForHost(): void {
  if (captureHeld() && hostKnown()) {
    phase = Phase.hostWait;
    setStep(Step.waitHost);
    boardWake(HOST_timeout_us);
    pump();
    return;
  }
  ask();
}

function ask(): void {
  releaseCapture();
  rewindSamples();
  setStep(Step.askTouch);
  showLight(Light.busy);
  setWork(plusA, minusA);
  channels = plusB == 0 ? 1 : 2;
  stride = CAPTURE_WORDS / channels;
  heard = channels == 2 && groupOf(plusB) == groupOf(minusB) ? 2 : 1;
  falseArrivals = 0;
  overruns = 0;
  worthLogging = false;
  let word = drivePort(plusA, minusA) | RET_ZERO | ground2(isolatedBareClip());
  if (channels > 1) {
    word |= sensePort(plusB, minusB);
    if (groupOf(minusB) != groupOf(minusA)) word |= ground1(minusB);
  }
  boardSwitches(word);
  boardListen(1);
  listenAfresh();
}

function listenAfresh(): void {
  phase = Phase.history;
  unlifted = false;
  heardBlocks = 0;
  written = 0;
  blockIndex = 0;
  hearingBegin();
  boardWake(BLOCK_timeout_us);
}

/** A block of listening lies in LISTEN. @param status - `Status` */
export function touchingSamples(status: u32): void {
  if (phase < <u32>Phase.history) return;
  boardWake(BLOCK_timeout_us);
  if (status != Status.ok) {
    overrun();
    return;
  }
  heardBlocks++;
  traceBlock(blockIndex++ & 0xffff, channels);
  if (phase == Phase.lift) {
    hear(heard);
    unlifted = !hasLifted(QUIET);
    if (!unlifted || heardBlocks >= LIFT) captured();
    return;
  }
  if (phase == Phase.late) {
    hear(heard);
    if (isQuiet(QUIET) || heardBlocks >= LATE) askDone();
    return;
  }
  keepBlock();
  const arrived = hear(heard);
  if (phase == Phase.recording) {
    if (hasLeft(QUIET)) captured();
    else if (heardBlocks >= arrivalBlock + AFTER) captureFull();
    return;
  }
  if (arrived) {
    straighten();
    arrivalBlock = heardBlocks;
    phase = Phase.recording;
  } else if (phase == Phase.history && heardBlocks >= HISTORY) {
    phase = Phase.asked;
    setStep(Step.listening);
    showPlace(Light.touch, place, asks(place));
    heardBlocks = 0;
  } else if (phase == Phase.asked && heardBlocks >= SILENCE) {
    silence();
  }
}

/** Before the arrival CAPTURE is a ring of HISTORY blocks, after it a line. */
function keepBlock(): void {
  const slot = phase == Phase.recording ? written : written % HISTORY;
  for (let c: u32 = 0; c < channels; c++) {
    memory.copy(CAPTURE + (c * stride + slot * LISTEN_BLOCK) * 4, LISTEN + c * LISTEN_BLOCK * 4, LISTEN_BLOCK * 4);
  }
  written++;
}

/** Turns the ring into a line whose last block is the newest. */
function straighten(): void {
  if (written <= HISTORY) return;
  const oldest = written % HISTORY;
  const block: u32 = LISTEN_BLOCK * 4;
  for (let c: u32 = 0; c < channels; c++) {
    const at = CAPTURE + c * stride * 4;
    memory.copy(SCRATCH, at, HISTORY * block);
    memory.copy(at, SCRATCH + oldest * block, (HISTORY - oldest) * block);
    memory.copy(at + (HISTORY - oldest) * block, SCRATCH, oldest * block);
  }
  written = HISTORY;
}

/** Describes what lies in CAPTURE. @param before - blocks before the one of the arrival */
function describeCapture(before: u32): void {
  captureBegin(channels, written * LISTEN_BLOCK, <f32>LISTEN_RATE_Hz, -<f32>(before * LISTEN_BLOCK) / <f32>LISTEN_RATE_Hz);
  const head = changetype<CaptureHead>(<usize>CAPTURE_HEAD);
  head.plus0 = <u8>plusA;
  head.minus0 = <u8>minusA;
  head.plus1 = <u8>plusB;
  head.minus1 = <u8>minusB;
}

/** No more fits. Listening goes on without a gap while the steel lies there: a lift may come at any moment. */
function captureFull(): void {
  if (!isHeld()) {
    captured();
    return;
  }
  unlifted = true;
  askLift(Phase.lift);
  liftBegin();
}

function askLift(next: u32): void {
  phase = next;
  setStep(Step.lift);
  showLight(Light.lift);
  heardBlocks = 0;
}

/** The capture is whole: judged first, and listened on when nothing touched. */
function captured(): void {
  boardListen(0);
  describeCapture(HISTORY - 1);
  analyseTouch(WORK_TOUCH);
  changetype<CaptureHead>(<usize>CAPTURE_HEAD).analysedAt = WORK_TOUCH;
  const flags = <u32>changetype<TouchEvidence>(<usize>WORK_TOUCH).flags;
  if ((flags & TouchFlag.none) != 0 && ++falseArrivals <= FALSE_ARRIVALS) {
    boardListen(1);
    listenAfresh();
    return;
  }
  // A weak touch's lift is lost in the noise as often as not, and over range nothing adds up: those are asked again anyway.
  const unclear = flags & (TouchFlag.none | TouchFlag.weak | TouchFlag.overrange);
  worthLogging = !unlifted || unclear != 0 || (flags & TouchFlag.noDeparture) == 0;
  if (!worthLogging) noteEntry(Note.timedOut, place);
  if ((flags & TouchFlag.noDeparture) == 0 || phase == Phase.lift) {
    askDone();
    return;
  }
  // Over range a bounce looks like a lift: the steel may lie there yet, and its lift must not fall into the next ask.
  askLift(Phase.late);
  hearingBegin();
  boardListen(1);
  boardWake(BLOCK_timeout_us);
}

/** Nobody touched: what was heard last is the evidence of that. */
function silence(): void {
  straighten();
  describeCapture(written - 1);
  noteEntry(Note.timedOut, place);
  worthLogging = true;
  askDone();
}

function logTouch(): void {
  const head = changetype<CaptureHead>(<usize>CAPTURE_HEAD);
  const entry = draftEntry(EntryKind.touch);
  entry.a = head.plus0;
  entry.b = head.minus0;
  entry.c = head.plus1;
  entry.d = head.minus1;
  entry.place = <u8>place;
  entry.count = <u16>head.sampleCount;
  entry.v0 = head.start_s;
  entry.v1 = head.rate_Hz;
  commitEntry();
  pump();
}

/** The ask is over: before a touch counts, the leads are looked at. */
function askDone(): void {
  boardListen(0);
  boardWake(0);
  boardSwitches(MATRIX_OFF);
  phase = Phase.none;
  showLight(Light.busy);
  watchLeads();
}

/** The leads were looked at. @param lost - one had no contact, so that the capture tells nothing */
export function touchWatched(lost: bool): void {
  if (worthLogging && !lost) logTouch();
  countAsk(place, lost || unlifted && !worthLogging);
  nextAsk();
}

/** Waits no longer for a lift. @returns whether one was waited for */
function endLiftWait(): bool {
  if (phase == Phase.lift) captured();
  else if (phase == Phase.late) askDone();
  else return false;
  return true;
}

/** Samples were lost: the ask starts again, or is given up. */
function overrun(): void {
  if (endLiftWait()) return;
  if (++overruns <= OVERRUNS) {
    listenAfresh();
    return;
  }
  noteEntry(Note.captureOverrun, place);
  askDone();
}

/** The time asked for has passed: no block came, or the host is silent. */
export function touchingTime(): void {
  if (phase == Phase.hostWait) {
    showLight(Light.waiting);
  } else if (phase >= <u32>Phase.history) {
    boardListen(0);
    boardListen(1);
    overrun();
  }
}

/** The person goes on: past a silent host, or past this ask. */
export function touchingButton(): void {
  if (phase == Phase.hostWait) {
    forgetHost();
    ask();
  } else if (phase >= <u32>Phase.history && !endLiftWait()) {
    noteEntry(Note.timedOut, place);
    askDone();
  }
}

/** The host has confirmed more. */
export function touchingAcknowledged(): void {
  if (phase != Phase.hostWait) return;
  if (captureHeld()) boardWake(HOST_timeout_us);
  else ask();
}
