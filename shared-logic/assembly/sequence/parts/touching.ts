/**
 * The touches: 0.2 s of history first, then the light asks; the capture ends 0.8 s after the arrival or when the steel
 * has left; what holds no touch is not an ask. Steel that still lies there is asked to be lifted: only a lift that is
 * heard tells that what came before was the arrival, and not a lift whose arrival was lost with a lead's contact.
 * The capture stays until the host has it.
 */
import { boardListen, boardSwitches, boardWake } from '../../board';
import { captureHead, captureSample, listenSample } from '../../blocks';
import { captureBegin } from '../../touch/capture';
import { hasLeft, hasLifted, hear, hearingBegin, isHeld, isQuiet, liftBegin } from '../../touch/arrival';
import {
  ASK, Ask, CAPTURE_WORDS, EntryKind, LISTEN_BLOCK, LISTEN_RATE_Hz, Light, NONE, Note, SCRATCH, Status, Step, TouchEvidence,
  TouchFlag, WORK_TOUCH,
} from '../../layout';
import { captureHeld, commitEntry, draftEntry, logFull, noteEntry, releaseCapture } from '../ground/log';
import { MATRIX_OFF, RET_ZERO, drivePort, ground1, ground2, sensePort } from '../ground/matrix';
import { groupOf, isolatedBareClip } from '../ground/pairs';
import { asks, asksExhausted, countAsk, planTouch } from './plan';
import { forgetHost, hostKnown, pump, rewindSamples, traceBlock } from '../ground/reports';
import { setStep, setWork, showLight, showPlace } from '../ground/status';
import { Turn } from '../ground/turn';
import { solve } from '../../solver/solve';
import { analyseTouch } from '../../touch/touch';

enum Phase { none, hostWait, asleep, history, asked, recording, lift, late }

/** Bytes of a block of one channel. */
const BLOCK_bytes: u32 = LISTEN_BLOCK * <u32>sizeof<i32>();
/** Blocks kept before the arrival: 0.21 s, so that whole periods of 50 and 60 Hz lie before any sample of its block. */
const HISTORY: u32 = 21;
/** Blocks after the arrival's: 0.8 s. */
const AFTER: u32 = 80;
/** Quiet blocks after the steel has left that end a capture. */
const QUIET: u32 = 6;
/** Silence after which a press of the button says that a touch was not heard, and not that this ask is passed over: 10 s. */
const SILENCE: u32 = 1000;
/** Silence after which the tester sleeps until the button is pressed: 60 s. */
const SLEEP: u32 = 6000;
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

@inline function planned(): Ask { return changetype<Ask>(<usize>ASK); }

/** Starts with what is known from the electrical part. @returns `Turn` */
export function beginTouches(): u32 { return nextAsk(); }

/** Stops at once. */
export function touchingReset(): void {
  if (phase >= <u32>Phase.history) boardListen(0);
  phase = Phase.none;
}

function nextAsk(): u32 {
  solve();
  if (logFull || !planTouch(planned())) {
    if (asksExhausted()) noteEntry(Note.asksExhausted, NONE);
    phase = Phase.none;
    return Turn.done;
  }
  waitForHost();
  return Turn.waits;
}

/** The last touch's capture may only be overwritten when the host has it, or never was. */
function waitForHost(): void {
  if (captureHeld() && hostKnown()) {
    phase = Phase.hostWait;
    setStep(Step.waitHost);
    boardWake(HOST_timeout_us);
    return;
  }
  ask();
}

function ask(): void {
  releaseCapture();
  rewindSamples();
  setStep(Step.askTouch);
  showLight(Light.busy);
  const plusA = <u32>planned().plusA;
  const minusA = <u32>planned().minusA;
  const plusB = <u32>planned().plusB;
  const minusB = <u32>planned().minusB;
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

/** A block of listening lies in LISTEN. @param status - `Status` @returns `Turn` */
export function touchingSamples(status: u32): u32 {
  if (phase < <u32>Phase.history) return Turn.waits;
  boardWake(BLOCK_timeout_us);
  if (status != Status.ok) return overrun();
  heardBlocks++;
  traceBlock(blockIndex++ & 0xffff, channels);
  if (phase == Phase.lift) {
    hear(heard);
    unlifted = !hasLifted(QUIET);
    return !unlifted || heardBlocks >= LIFT ? captured() : <u32>Turn.waits;
  }
  if (phase == Phase.late) {
    hear(heard);
    return isQuiet(QUIET) || heardBlocks >= LATE ? askDone() : <u32>Turn.waits;
  }
  keepBlock();
  const arrived = hear(heard);
  if (phase == Phase.recording) {
    if (hasLeft(QUIET)) return captured();
    return heardBlocks >= arrivalBlock + AFTER ? captureFull() : <u32>Turn.waits;
  }
  if (arrived) {
    straighten();
    arrivalBlock = heardBlocks;
    phase = Phase.recording;
  } else if (phase == Phase.history && heardBlocks >= HISTORY) {
    phase = Phase.asked;
    setStep(Step.listening);
    showPlace(Light.touch, planned().place, asks(planned().place));
    heardBlocks = 0;
  } else if (phase == Phase.asked && heardBlocks >= SLEEP) {
    sleep();
  }
  return Turn.waits;
}

/** Before the arrival CAPTURE is a ring of HISTORY blocks, after it a line. */
function keepBlock(): void {
  const slot = phase == Phase.recording ? written : written % HISTORY;
  for (let c: u32 = 0; c < channels; c++) {
    memory.copy(captureSample(c, stride, slot * LISTEN_BLOCK), listenSample(c, 0), BLOCK_bytes);
  }
  written++;
}

/** Turns the ring into a line whose last block is the newest. */
function straighten(): void {
  if (written <= HISTORY) return;
  const oldest = written % HISTORY;
  for (let c: u32 = 0; c < channels; c++) {
    const at = captureSample(c, stride, 0);
    memory.copy(SCRATCH, at, HISTORY * BLOCK_bytes);
    memory.copy(at, SCRATCH + oldest * BLOCK_bytes, (HISTORY - oldest) * BLOCK_bytes);
    memory.copy(at + (HISTORY - oldest) * BLOCK_bytes, SCRATCH, oldest * BLOCK_bytes);
  }
  written = HISTORY;
}

/** Describes what lies in CAPTURE. @param before - blocks before the one of the arrival */
function describeCapture(before: u32): void {
  captureBegin(channels, written * LISTEN_BLOCK, <f32>LISTEN_RATE_Hz, -<f32>(before * LISTEN_BLOCK) / <f32>LISTEN_RATE_Hz);
  const head = captureHead();
  head.plus0 = planned().plusA;
  head.minus0 = planned().minusA;
  head.plus1 = planned().plusB;
  head.minus1 = planned().minusB;
}

/** No more fits. Listening goes on without a gap while the steel lies there: a lift may come at any moment. */
function captureFull(): u32 {
  if (!isHeld()) return captured();
  unlifted = true;
  askLift(Phase.lift);
  liftBegin();
  return Turn.waits;
}

function askLift(next: u32): void {
  phase = next;
  setStep(Step.lift);
  showLight(Light.lift);
  heardBlocks = 0;
}

/** The capture is whole: judged first, and listened on when nothing touched. */
function captured(): u32 {
  boardListen(0);
  describeCapture(HISTORY - 1);
  analyseTouch(WORK_TOUCH);
  captureHead().analysedAt = WORK_TOUCH;
  const flags = <u32>changetype<TouchEvidence>(<usize>WORK_TOUCH).flags;
  if ((flags & TouchFlag.none) != 0 && ++falseArrivals <= FALSE_ARRIVALS) {
    boardListen(1);
    listenAfresh();
    return Turn.waits;
  }
  // A weak touch's lift is lost in the noise as often as not, and over range nothing adds up: those are asked again anyway.
  const unclear = flags & (TouchFlag.none | TouchFlag.weak | TouchFlag.overrange);
  worthLogging = !unlifted || unclear != 0 || (flags & TouchFlag.noDeparture) == 0;
  if (!worthLogging) noteEntry(Note.timedOut, planned().place);
  if ((flags & TouchFlag.noDeparture) == 0 || phase == Phase.lift) return askDone();
  // Over range a bounce looks like a lift: the steel may lie there yet, and its lift must not fall into the next ask.
  askLift(Phase.late);
  hearingBegin();
  boardListen(1);
  boardWake(BLOCK_timeout_us);
  return Turn.waits;
}

/** Nobody came: everything off, while the lamp goes on asking. */
function sleep(): void {
  listenNoMore();
  phase = Phase.asleep;
  setStep(Step.asleep);
}

function listenNoMore(): void {
  boardListen(0);
  boardWake(0);
  boardSwitches(MATRIX_OFF);
}

/** No touch was heard: what was heard last is the evidence of that. */
function silence(): u32 {
  straighten();
  describeCapture(written - 1);
  noteEntry(Note.timedOut, planned().place);
  worthLogging = true;
  return askDone();
}

function logTouch(): void {
  const head = captureHead();
  const entry = draftEntry(EntryKind.touch);
  entry.a = head.plus0;
  entry.b = head.minus0;
  entry.c = head.plus1;
  entry.d = head.minus1;
  entry.place = planned().place;
  entry.count = <u16>head.sampleCount;
  entry.v0 = head.start_s;
  entry.v1 = head.rate_Hz;
  commitEntry();
  pump();
}

/** The ask is over: before a touch counts, the leads are looked at. */
function askDone(): u32 {
  listenNoMore();
  phase = Phase.none;
  showLight(Light.busy);
  return Turn.look;
}

/** The leads were looked at. @param lost - one had no contact, so that the capture tells nothing @returns `Turn` */
export function touchWatched(lost: bool): u32 {
  if (worthLogging && !lost) logTouch();
  countAsk(planned().place, lost || unlifted && !worthLogging);
  return nextAsk();
}

/** Whether a lift is waited for. */
function awaitsLift(): bool { return phase == Phase.lift || phase == Phase.late; }

/** Waits no longer for a lift. */
function endLiftWait(): u32 { return phase == Phase.lift ? captured() : askDone(); }

/** Samples were lost: the ask starts again, or is given up. */
function overrun(): u32 {
  if (awaitsLift()) return endLiftWait();
  if (++overruns <= OVERRUNS) {
    listenAfresh();
    return Turn.waits;
  }
  noteEntry(Note.captureOverrun, planned().place);
  return askDone();
}

/** The time asked for has passed: no block came, or the host is silent. @returns `Turn` */
export function touchingTime(): u32 {
  if (phase == Phase.hostWait) {
    showLight(Light.waiting);
  } else if (phase >= <u32>Phase.history) {
    boardListen(0);
    boardListen(1);
    return overrun();
  }
  return Turn.waits;
}

/** The person goes on: past a silent host, after a sleep, or past this ask. @returns `Turn` */
export function touchingButton(): u32 {
  if (phase == Phase.hostWait || phase == Phase.asleep) {
    if (phase == Phase.hostWait) forgetHost();
    ask();
  } else if (awaitsLift()) {
    return endLiftWait();
  } else if (phase >= <u32>Phase.history) {
    if (phase == Phase.asked && heardBlocks >= SILENCE) return silence();
    noteEntry(Note.timedOut, planned().place);
    return askDone();
  }
  return Turn.waits;
}

/** The host has confirmed more. */
export function touchingAcknowledged(): void {
  if (phase != Phase.hostWait) return;
  if (captureHeld()) boardWake(HOST_timeout_us);
  else ask();
}
