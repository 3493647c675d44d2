/** Precise ohms: the reference resistor at each current in use, then each connected pair with both polarities. */
import { Part, enter, giveUp, ohmsDone, pairRead } from '../electrical';
import { BOARD, Board, Note, PAIR_COUNT, Rate, Step, WORK_REFERENCES } from '../../layout';
import { ohmEntry, openEntry } from '../ground/log';
import { pairHigh, pairLow } from '../../clip-pairs';
import { RET_REFERENCE, SENSE_REFERENCE, currentWord, drivePort, sensePort } from '../ground/matrix';
import { convertOperation, hum_V, over, volt_V } from '../ground/operation';
import { PairState, nextPair, pairWork } from '../ground/pairs';
import {
  PORT_LIMIT_V, RANGES, agrees, isWarmJoint, polaritiesDisagree, quickMargin_ohm, rangeCurrent_nA, rangeLimit_ohm,
  readingUncertainty_ohm, settle_us,
} from '../ground/resistance';
import { setStep, setWork } from '../sequence';

enum Task { zero, reference, forward, reverse }

/** Readings of one pair that may follow a disagreement. */
export const REPEATS: u32 = 2;
/** A reference reading further than this from what the current source promises is no reading. */
const REFERENCE_tolerance: f32 = 0.1;

let task: u32 = Task.zero;
let pair: u32 = 0;
let range: u32 = 0;
/** One pair was asked for, not all. */
let single: bool = false;
/** The converter's zero, volts. */
export let zero_V: f32 = 0;
let forward_V: f32 = 0;
let forwardOver: bool = false;
/** The reading before of this pair, not told yet because its polarities did not agree. */
let held: bool = false;
let heldForward_V: f32 = 0;
let heldReverse_V: f32 = 0;
let referenceTries: u32 = 0;

function reference_V(index: u32): f32 { return load<f32>(WORK_REFERENCES + index * 4); }

/** Starts with the converter's zero. */
export function beginOhms(): void {
  setStep(Step.reference);
  enter(Part.ohms);
  task = Task.zero;
  single = false;
  const clip = pairLow(nextPair(0));
  convertOperation(0, 0, drivePort(clip, clip) | SENSE_REFERENCE | RET_REFERENCE, 0, 1000, Rate.precise);
}

/** Reads one pair, with the reference at its current first when that is not known yet. @param index - pair, 0 to 14 */
export function readPair(index: u32): void {
  enter(Part.ohms);
  single = true;
  pair = index;
  range = pairWork(index).range;
  if (reference_V(range) != 0) forward();
  else referenceDrive(pair);
}

/** An operation of this part has ended. */
export function ohmsEnded(): void {
  switch (task) {
    case Task.zero: { zero_V = volt_V; range = 0; referenceNext(); break; }
    case Task.reference: referenceDone(); break;
    case Task.forward: { forward_V = volt_V - zero_V; forwardOver = over; reverse(); break; }
    default: reverseDone();
  }
}

// ---------------------------------------------------------------- references

/** One reading at the reference resistor for each current that a pair needs, driven through such a pair. */
function referenceNext(): void {
  for (; range < RANGES; range++) {
    for (let p: u32 = 0; p < PAIR_COUNT; p++) {
      if (isRead(p) && <u32>pairWork(p).range == range) {
        referenceDrive(p);
        return;
      }
    }
  }
  setStep(Step.resistance);
  pair = 0;
  preciseNext();
}

function referenceDrive(through: u32): void {
  task = Task.reference;
  const low = pairLow(through);
  const high = pairHigh(through);
  setWork(low, high);
  convertOperation(low, high, currentWord(low, high, SENSE_REFERENCE), rangeCurrent_nA(range), settle_us(range), Rate.precise);
}

function referenceDone(): void {
  const value_V = volt_V - zero_V;
  const nominal_V = changetype<Board>(<usize>BOARD).reference_ohm * <f32>rangeCurrent_nA(range) * <f32>1e-9;
  if (abs<f32>(value_V / nominal_V - 1) > REFERENCE_tolerance) {
    if (referenceTries < REPEATS) {
      referenceTries++;
      // A lead of the first pair may have let go: the path over one clip is always whole.
      const clip = pairLow(nextPair(0));
      convertOperation(0, 0, currentWord(clip, clip, SENSE_REFERENCE), rangeCurrent_nA(range), settle_us(range), Rate.precise);
    } else {
      giveUp(Note.converterFailed);
    }
    return;
  }
  referenceTries = 0;
  store<f32>(WORK_REFERENCES + range * 4, value_V);
  if (single) {
    forward();
    return;
  }
  range++;
  referenceNext();
}

// ---------------------------------------------------------------- pairs

function isRead(index: u32): bool { return <u32>pairWork(index).state == PairState.read; }

/** The pair after the one that was read. */
export function nextOhms(): void {
  pair++;
  preciseNext();
}

function preciseNext(): void {
  for (; pair < PAIR_COUNT; pair++) {
    if (isRead(pair)) {
      forward();
      return;
    }
  }
  ohmsDone();
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

/** A reading whose polarities disagree and that did not come again: both are told. */
function tellHeld(scale: f32, u_ohm: f32): void {
  if (!held) return;
  held = false;
  ohmEntry(pair, heldForward_V * scale, u_ohm);
  ohmEntry(pair, -heldReverse_V * scale, u_ohm);
}

/**
 * Both polarities are in: one reading when they agree, or when each comes again as it was, which is a thermal voltage that
 * their mean is free of; both when they do not, and then again.
 */
function reverseDone(): void {
  const work = pairWork(pair);
  const reference = reference_V(work.range);
  const current_A = <f32>rangeCurrent_nA(work.range) * <f32>1e-9;
  const scale = changetype<Board>(<usize>BOARD).reference_ohm / reference;
  const reverse_V = volt_V - zero_V;
  const span_V = (forward_V - reverse_V) * <f32>0.5;
  const ohm = span_V * scale;
  const u_ohm = readingUncertainty_ohm(ohm, current_A, reference);
  const isOver = forwardOver || over || abs<f32>(forward_V) > PORT_LIMIT_V || abs<f32>(reverse_V) > PORT_LIMIT_V;
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
      ? agrees(ohm, work.ohm, 5 * u_ohm) : agrees(ohm, work.quick_ohm, quickMargin_ohm(ohm, current_A, hum_V)));
    work.ohm = ohm;
    work.span_V = span_V;
  }
  if (!settled && <u32>work.repeats < REPEATS) {
    work.repeats++;
    forward();
    return;
  }
  tellHeld(scale, u_ohm);
  pairRead();
}
