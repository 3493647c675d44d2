/** Precise ohms: the reference resistor at each current in use, then each connected pair with both polarities. */
import { Answer, CALIBRATION, Calibration, NONE, Note, PAIR_COUNT, RANGES, Rate, Step, WORK_REFERENCES } from '../../layout';
import { board, calibration, pairWork } from '../../blocks';
import { noteEntry, ohmEntry, openEntry } from '../ground/log';
import { pairHigh, pairLow } from '../../clip-pairs';
import { RET_REFERENCE, SENSE_REFERENCE, currentWord, drivePort, sensePort } from '../ground/matrix';
import { convertOperation } from '../ground/operation';
import { PairState, REPEATS, nextPair } from '../ground/pairs';
import {
  PORT_LIMIT_V, REFERENCE_tolerance, agrees, isWarmJoint, polaritiesDisagree, quickMargin_ohm, rangeCurrent_nA, rangeLimit_ohm,
  readingUncertainty_ohm, settle_us,
} from '../ground/resistance';
import { withLeads } from '../ground/setup';
import { setStep, setWork } from '../ground/status';
import { Turn } from '../ground/turn';

enum Task { zero, reference, forward, reverse }

let task: u32 = Task.zero;
let pair: u32 = 0;
let range: u32 = 0;
/** The converter's zero, volts. */
let zero_V: f32 = 0;
export function converterZero_V(): f32 { return zero_V; }
let forward_V: f32 = 0;
let forwardOver: bool = false;
/** The reading before of this pair, not told yet because its polarities did not agree. */
let held: bool = false;
let heldForward_V: f32 = 0;
let heldReverse_V: f32 = 0;
let referenceTries: u32 = 0;

function reference_V(index: u32): f32 { return load<f32>(WORK_REFERENCES + index * sizeof<f32>()); }

/** Starts with the converter's zero. @returns `Turn` */
export function beginOhms(): u32 {
  setStep(Step.reference);
  // A test that was broken off may have left them.
  held = false;
  referenceTries = 0;
  task = Task.zero;
  const clip = pairLow(nextPair(0));
  convertOperation(0, 0, drivePort(clip, clip) | SENSE_REFERENCE | RET_REFERENCE, 0, 1000, Rate.precise);
  return Turn.waits;
}

/** An operation of this part has ended. @returns `Turn` */
export function ohmsEnded(answer: Answer): u32 {
  if (task == Task.zero) {
    zero_V = answer.volt_V;
    range = 0;
    return referenceNext();
  }
  const wasReference = task == Task.reference;
  const turn = taskEnded(answer);
  if (turn != Turn.done) return turn;
  if (wasReference) {
    range++;
    return referenceNext();
  }
  pair++;
  return preciseNext();
}

/** Reads one pair, with the reference at its current first when that is not known yet. @param index - pair, 0 to 14 */
export function readPair(index: u32): void {
  pair = index;
  range = pairWork(index).range;
  if (reference_V(range) != 0) forward();
  else referenceDrive(pair);
}

/** An operation of `readPair` has ended. @returns `Turn.done` when the pair was read, as often as it took */
export function readEnded(answer: Answer): u32 {
  const wasReference = task == Task.reference;
  const turn = taskEnded(answer);
  if (turn != Turn.done || !wasReference) return turn;
  forward();
  return Turn.waits;
}

function taskEnded(answer: Answer): u32 {
  switch (task) {
    case Task.reference: return referenceDone(answer);
    case Task.forward: {
      forward_V = answer.volt_V - zero_V;
      forwardOver = answer.over != 0;
      reverse();
      return Turn.waits;
    }
    default: return reverseDone(answer);
  }
}

// ---------------------------------------------------------------- references

/** One reading at the reference resistor for each current that a pair needs, driven through such a pair. */
function referenceNext(): u32 {
  for (; range < RANGES; range++) {
    for (let p: u32 = 0; p < PAIR_COUNT; p++) {
      if (isRead(p) && <u32>pairWork(p).range == range) {
        referenceDrive(p);
        return Turn.waits;
      }
    }
  }
  setStep(Step.resistance);
  pair = 0;
  return preciseNext();
}

function referenceDrive(through: u32): void {
  task = Task.reference;
  const low = pairLow(through);
  const high = pairHigh(through);
  setWork(low, high);
  convertOperation(low, high, currentWord(low, high, SENSE_REFERENCE), rangeCurrent_nA(range), settle_us(range), Rate.precise);
}

function referenceDone(answer: Answer): u32 {
  const value_V = answer.volt_V - zero_V;
  const nominal_V = board().reference_ohm * <f32>rangeCurrent_nA(range) * <f32>1e-9;
  if (abs<f32>(value_V / nominal_V - 1) > REFERENCE_tolerance) {
    if (referenceTries == REPEATS) {
      noteEntry(Note.converterFailed, NONE);
      return Turn.stop;
    }
    referenceTries++;
    // A lead of the first pair may have let go: the path over one clip is always whole.
    const clip = pairLow(nextPair(0));
    convertOperation(0, 0, currentWord(clip, clip, SENSE_REFERENCE), rangeCurrent_nA(range), settle_us(range), Rate.precise);
    return Turn.waits;
  }
  referenceTries = 0;
  store<f32>(WORK_REFERENCES + range * sizeof<f32>(), value_V);
  return Turn.done;
}

// ---------------------------------------------------------------- pairs

function isRead(index: u32): bool { return <u32>pairWork(index).state == PairState.read; }

function preciseNext(): u32 {
  for (; pair < PAIR_COUNT; pair++) {
    if (isRead(pair)) {
      forward();
      return Turn.waits;
    }
  }
  return Turn.done;
}

function forward(): void {
  task = Task.forward;
  preciseDrive(pairLow(pair), pairHigh(pair));
}

function reverse(): void {
  task = Task.reverse;
  preciseDrive(pairHigh(pair), pairLow(pair));
}

function preciseDrive(plus: u32, minus: u32): void {
  const low = pairLow(pair);
  const high = pairHigh(pair);
  const index = <u32>pairWork(pair).range;
  setWork(low, high);
  convertOperation(plus, minus, currentWord(plus, minus, sensePort(low, high)), rangeCurrent_nA(index), settle_us(index), Rate.precise);
}

/** Of the two leads, as the calibration has them; nothing where they are what is read. */
function leads_ohm(): f32 {
  if (withLeads) return 0;
  const zeros = CALIBRATION + offsetof<Calibration>("zero1_ohm");
  return load<f32>(zeros + (pairLow(pair) - 1) * sizeof<f32>()) + load<f32>(zeros + (pairHigh(pair) - 1) * sizeof<f32>());
}

/** A reading whose polarities disagree and that did not come again: both are told. */
function tellHeld(scale: f32, u_ohm: f32): void {
  if (!held) return;
  held = false;
  ohmEntry(pair, heldForward_V * scale - leads_ohm(), u_ohm);
  ohmEntry(pair, -heldReverse_V * scale - leads_ohm(), u_ohm);
}

/**
 * Both polarities are in: one reading when they agree, or when each comes again as it was, which is a thermal voltage that
 * their mean is free of; both when they do not, and then again.
 */
function reverseDone(answer: Answer): u32 {
  const work = pairWork(pair);
  const reference = reference_V(work.range);
  const current_A = <f32>rangeCurrent_nA(work.range) * <f32>1e-9;
  const scale = board().reference_ohm / reference;
  const reverse_V = answer.volt_V - zero_V;
  const span_V = (forward_V - reverse_V) * <f32>0.5;
  const ohm = span_V * scale - leads_ohm();
  const u_ohm = readingUncertainty_ohm(ohm, current_A, reference, calibration().zero_u_ohm);
  const isOver = forwardOver || answer.over != 0 || abs<f32>(forward_V) > PORT_LIMIT_V || abs<f32>(reverse_V) > PORT_LIMIT_V;
  const steady = held && !isOver && isWarmJoint(forward_V, reverse_V, heldForward_V, heldReverse_V);
  if (steady) held = false;
  tellHeld(scale, u_ohm);
  let settled = false;
  if (isOver) {
    openEntry(pair, rangeLimit_ohm(work.range));
  } else if (!steady && polaritiesDisagree(forward_V, reverse_V)) {
    held = true;
    heldForward_V = forward_V;
    heldReverse_V = reverse_V;
  } else {
    ohmEntry(pair, ohm, u_ohm);
    settled = steady || (work.ohm != 0
      ? agrees(ohm, work.ohm, 5 * u_ohm) : agrees(ohm, work.quick_ohm, quickMargin_ohm(ohm, current_A, answer.hum_V)));
    work.ohm = ohm;
    work.span_V = span_V;
  }
  if (!settled && <u32>work.repeats < REPEATS) {
    work.repeats++;
    forward();
    return Turn.waits;
  }
  tellHeld(scale, u_ohm);
  return Turn.done;
}
