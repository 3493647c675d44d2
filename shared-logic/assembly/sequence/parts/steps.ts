/**
 * Steps of the voltage drive through each coil: the current that follows gives inductance and loss, the voltage in the
 * other coils the mutual inductance (inductance.ts).
 */
import {
  STEP_LEAD, STEP_SAMPLES, STEP_SERIES_ohm, stepAddCurrent, stepAddSense, stepBegin, stepInductance, stepLost, stepMutual,
  stepWhole,
} from './inductance';
import {
  Answer, BURST_B, CLIP_COUNT, EntryFlag, EntryKind, FindingText, MAX_STEP_COILS, NONE, STEP_READING, Step, StepReading, StepWork,
} from '../../layout';
import { board, coilResult, findingResult, result, stepWork } from '../../blocks';
import { commitEntry, draftEntry, openEntry } from '../ground/log';
import { pairOf } from '../../clip-pairs';
import {
  DRV_MINUS, DRV_PLUS, DRV_ZERO, RET_REFERENCE, SENSE_REFERENCE, drivePort, ground1, ground2, sensePort,
} from '../ground/matrix';
import { SLOT_us, pauseOperation, stepOperation } from '../ground/operation';
import { PairState, groupOf, isolatedBareClip, workOf } from '../ground/pairs';
import { setStep, setWork } from '../ground/status';
import { Turn } from '../ground/turn';
import { solve } from '../../solver/solve';

/** Slots between the two signs of a step whose hum must drop out: 100 ms. */
const APART: u32 = 4;
/** A coil below this is a joint. */
const COIL_least_ohm: f32 = 20;

let stepCount: u32 = 0;
let slot: u32 = 0;
/** For each slot modulo APART the step whose negative sign is due there, one byte each. */
let due: u32 = 0;
/** The step in work and its sign. */
let current: u32 = NONE;
let sign: f32 = 1;
/** Steps whose positive sign was taken, and those with both. */
let begun: u32 = 0;
let complete: u32 = 0;

/** Pieces of wire to be stepped, a byte each: the higher clip, then the lower one. */
let pieces: u64 = 0;
let pieceCount: u32 = 0;

@inline function high(piece: u32): u8 { return <u8>((pieces >> (8 * piece + 4)) & 15); }
@inline function low(piece: u32): u8 { return <u8>((pieces >> (8 * piece)) & 15); }

/** Lists what lies between two clips, when it has a reading of its own and is no joint. */
function addPiece(a: u32, b: u32): void {
  // An end that is no clip is a point inside.
  if (a == 0 || b == 0 || a == b || a > CLIP_COUNT || b > CLIP_COUNT || pieceCount == MAX_STEP_COILS) return;
  const work = workOf(a, b);
  if (<u32>work.state != PairState.read || work.ohm <= COIL_least_ohm) return;
  const ends = max<u32>(a, b) << 4 | min<u32>(a, b);
  for (let n: u32 = 0; n < pieceCount; n++) if ((<u32>(pieces >> (8 * n)) & 255) == ends) return;
  pieces |= <u64>ends << (8 * pieceCount);
  pieceCount++;
}

/** Every coil that was found, and what looks like a contact beside a coil: a section of a tapped winding does, until it is stepped. */
function listPieces(): void {
  pieces = 0;
  pieceCount = 0;
  for (let i: u32 = 0; i < <u32>result().coilCount; i++) addPiece(coilResult(i).endA, coilResult(i).endB);
  for (let n: u32 = 0; n < <u32>result().findingCount; n++) {
    const finding = findingResult(n);
    if (<u32>finding.text == FindingText.bridgeAtEnd) addPiece(finding.clip0, finding.clip1);
  }
}

/** @param sense - the piece on channel B, or NONE for the reference */
function addStep(drive: u32, sense: u32): void {
  const work = stepWork(stepCount);
  work.a = high(drive);
  work.b = low(drive);
  work.c = sense == NONE ? 0 : high(sense);
  work.d = sense == NONE ? 0 : low(sense);
  stepBegin(work);
  stepCount++;
}

/** Each piece with the reference on channel B, then with each later piece there. @returns `Turn` */
export function beginSteps(): u32 {
  solve();
  setStep(Step.inductance);
  stepCount = 0;
  listPieces();
  for (let i: u32 = 0; i < pieceCount; i++) {
    addStep(i, NONE);
    for (let j = i + 1; j < pieceCount; j++) addStep(i, j);
  }
  slot = 0;
  due = u32.MAX_VALUE;
  begun = complete = 0;
  return stepNext();
}

/**
 * One step in each slot. The sensed ones lie exactly 100 ms apart, so that hum drops out; the driven coil's own current knows
 * hum only as a share of the drive (8 mV of 1.8 V), so its signs fill what is free in between.
 */
function stepNext(): u32 {
  chooseStep();
  if (current != NONE) driveStep(stepWork(current));
  else if (due != u32.MAX_VALUE) pauseOperation(SLOT_us);
  else return Turn.done;
  return Turn.waits;
}

function chooseStep(): void {
  const at = (slot % APART) * 8;
  current = (due >> at) & 255;
  due |= NONE << at;
  sign = -1;
  if (current != NONE) return;
  let own: u32 = NONE;
  for (let i: u32 = 0; i < stepCount; i++) {
    if (stepWork(i).c == 0) {
      if (own == NONE && !isIn(complete, i)) own = i;
    } else if (!isIn(begun, i) && isIn(begun, driveOf(i))) {
      current = i;
      sign = 1;
      due ^= (NONE ^ i) << at;
      return;
    }
  }
  current = own;
  if (own != NONE && !isIn(begun, own)) sign = 1;
}

function isIn(mask: u32, index: u32): bool { return ((mask >> index) & 1) != 0; }

function driveStep(work: StepWork): void {
  const plus = <u32>work.a;
  const minus = <u32>work.b;
  let base = drivePort(plus, minus) | RET_REFERENCE | DRV_ZERO | ground2(isolatedBareClip());
  if (work.c == 0) {
    base |= SENSE_REFERENCE;
  } else {
    base |= sensePort(work.c, work.d);
    if (groupOf(work.d) != groupOf(minus)) base |= ground1(work.d);
  }
  setWork(plus, minus);
  stepOperation(plus, minus, base, base & ~DRV_ZERO | (sign > 0 ? DRV_PLUS : DRV_MINUS), STEP_SAMPLES, STEP_LEAD, work.c == 0);
}

/** The step in work was captured; its slot goes on. */
export function stepCaptured(answer: Answer): void {
  const work = stepWork(current);
  if (work.c == 0) stepAddCurrent(work, BURST_B, answer.volt_V, sign);
  else stepAddSense(work, stepWork(driveOf(current)), BURST_B, sign);
}

/** A slot is over. @param lost - its burst could not be captured @returns `Turn` */
export function stepsEnded(lost: bool, answer: Answer): u32 {
  if (current != NONE) {
    if (lost) stepLost(stepWork(current));
    if (sign > 0) begun |= 1 << current;
    else complete |= 1 << current;
  }
  slot++;
  const turn = stepNext();
  if (turn == Turn.done) stepEntries(answer.hum_V);
  return turn;
}

/** Whether the end current tells of a lost contact: then the pair was above what it allows, which is evidence too. */
function stepBroken(work: StepWork): bool {
  const series_ohm = board().reference_ohm + STEP_SERIES_ohm;
  const ohm = workOf(work.a, work.b).ohm;
  const expected_V = board().step_V * board().reference_ohm / (ohm + series_ohm);
  if (!stepWhole(work) || work.end_V > <f32>0.9 * expected_V) return !stepWhole(work);
  if (work.end_V < <f32>0.5 * expected_V) {
    const above_ohm = board().step_V * board().reference_ohm / max<f32>(work.end_V, <f32>0.01) - series_ohm;
    openEntry(pairOf(work.a, work.b), above_ohm);
  }
  stepLost(work);
  return true;
}

/** The step of the current that belongs to what was sensed. */
function driveOf(sensed: u32): u32 {
  let found: u32 = 0;
  for (let i: u32 = 0; i < stepCount; i++) {
    const work = stepWork(i);
    if (work.c == 0 && work.a == stepWork(sensed).a && work.b == stepWork(sensed).b) found = i;
  }
  return found;
}

function stepEntries(hum_V: f32): void {
  const reference_ohm = board().reference_ohm;
  const reading = changetype<StepReading>(<usize>STEP_READING);
  for (let i: u32 = 0; i < stepCount; i++) {
    const work = stepWork(i);
    if (work.c == 0) {
      if (stepBroken(work)) continue;
      if (!stepInductance(work, workOf(work.a, work.b).ohm, reference_ohm, hum_V, reading)) continue;
      const entry = draftEntry(EntryKind.inductance);
      entry.a = work.a;
      entry.b = work.b;
      entry.flags = <u8>(reading.u_loss_ohm > 0 ? EntryFlag.lossKnown : 0);
      entry.v0 = reading.value_H;
      entry.v1 = reading.u_H;
      entry.v2 = reading.loss_ohm;
      entry.v3 = reading.u_loss_ohm;
      commitEntry();
    } else if (stepMutual(stepWork(driveOf(i)), work, reference_ohm, hum_V, reading)) {
      const entry = draftEntry(EntryKind.coupling);
      entry.a = work.a;
      entry.b = work.b;
      entry.c = work.c;
      entry.d = work.d;
      entry.v0 = reading.value_H;
      entry.v1 = reading.u_H;
      commitEntry();
    }
  }
}
