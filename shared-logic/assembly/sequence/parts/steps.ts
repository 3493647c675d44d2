/**
 * Steps of the voltage drive through each coil: the current that follows gives inductance and loss, the voltage in the
 * other coils the mutual inductance (inductance.ts).
 */
import { Part, enter, stepsDone } from '../electrical';
import {
  STEP_LEAD, STEP_SAMPLES, STEP_SERIES_ohm, henry_H, henry_u_H, loss_ohm, loss_u_ohm, mutual_H, mutual_u_H, stepAddCurrent,
  stepAddSense, stepBegin, stepInductance, stepLost, stepMutual, stepWhole,
} from './inductance';
import {
  BOARD, BURST_B, Board, CoilResult, EntryFlag, EntryKind, MAX_STEP_COILS, RESULT, RESULT_COILS, Result, Step, StepWork, WORK_STEPS,
} from '../../layout';
import { commitEntry, draftEntry, openEntry } from '../ground/log';
import { pairOf } from '../../clip-pairs';
import {
  DRV_MINUS, DRV_PLUS, DRV_ZERO, RET_REFERENCE, SENSE_REFERENCE, drivePort, ground1, ground2, sensePort,
} from '../ground/matrix';
import { SLOT_us, hum_V, pauseOperation, stepOperation, volt_V } from '../ground/operation';
import { PairState, groupOf, isolatedBareClip, workOf } from '../ground/pairs';
import { setStep, setWork } from '../sequence';
import { solve } from '../../solver/solve';

/** Slots between the two signs of a step whose hum must drop out: 100 ms. */
const APART: u32 = 4;
const NONE: u32 = 255;
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

function stepWork(index: u32): StepWork { return changetype<StepWork>(<usize>(WORK_STEPS + index * offsetof<StepWork>())); }

function coil(index: u32): CoilResult { return changetype<CoilResult>(<usize>(RESULT_COILS + index * offsetof<CoilResult>())); }

/** Whether a coil of the result can be stepped: two ends, a reading of its own, not a joint. */
function stepped(index: u32): bool {
  const c = coil(index);
  if (c.endA == 0 || c.endB == 0 || c.endA == c.endB) return false;
  const work = workOf(c.endA, c.endB);
  return <u32>work.state == PairState.read && work.ohm > COIL_least_ohm;
}

function addStep(drive: CoilResult, sense: CoilResult | null): void {
  const work = stepWork(stepCount);
  work.a = drive.endB;
  work.b = drive.endA;
  work.c = sense ? sense.endB : 0;
  work.d = sense ? sense.endA : 0;
  stepBegin(work);
  stepCount++;
}

/** Each coil with the reference on channel B, then with each later coil there. */
export function beginSteps(): void {
  solve();
  setStep(Step.inductance);
  enter(Part.steps);
  stepCount = 0;
  const coils = min<u32>(changetype<Result>(<usize>RESULT).coilCount, MAX_STEP_COILS);
  for (let i: u32 = 0; i < coils; i++) {
    if (!stepped(i)) continue;
    addStep(coil(i), null);
    for (let j = i + 1; j < coils; j++) if (stepped(j)) addStep(coil(i), coil(j));
  }
  slot = 0;
  due = u32.MAX_VALUE;
  begun = complete = 0;
  stepNext();
}

/**
 * One step in each slot. The sensed ones lie exactly 100 ms apart, so that hum drops out; the driven coil's own current knows
 * hum only as a share of the drive (8 mV of 1.8 V), so its signs fill what is free in between.
 */
function stepNext(): void {
  chooseStep();
  if (current != NONE) driveStep(stepWork(current));
  else if (due != u32.MAX_VALUE) pauseOperation(SLOT_us);
  else finish();
}

function finish(): void {
  stepEntries();
  stepsDone();
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
export function stepCaptured(): void {
  const work = stepWork(current);
  if (work.c == 0) stepAddCurrent(work, BURST_B, volt_V, sign);
  else stepAddSense(work, stepWork(driveOf(current)), BURST_B, sign);
}

/** A slot is over. @param lost - its burst could not be captured */
export function stepsEnded(lost: bool): void {
  if (current != NONE) {
    if (lost) stepLost(stepWork(current));
    if (sign > 0) begun |= 1 << current;
    else complete |= 1 << current;
  }
  slot++;
  stepNext();
}

/** Whether the end current tells of a lost contact: then the pair was above what it allows, which is evidence too. */
function stepBroken(work: StepWork): bool {
  const board = changetype<Board>(<usize>BOARD);
  const series_ohm = board.reference_ohm + STEP_SERIES_ohm;
  const ohm = workOf(work.a, work.b).ohm;
  const expected_V = board.step_V * board.reference_ohm / (ohm + series_ohm);
  if (!stepWhole(work) || work.end_V > <f32>0.9 * expected_V) return !stepWhole(work);
  if (work.end_V < <f32>0.5 * expected_V) {
    const above_ohm = board.step_V * board.reference_ohm / max<f32>(work.end_V, <f32>0.01) - series_ohm;
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

function stepEntries(): void {
  const reference_ohm = changetype<Board>(<usize>BOARD).reference_ohm;
  for (let i: u32 = 0; i < stepCount; i++) {
    const work = stepWork(i);
    if (work.c == 0) {
      if (stepBroken(work)) continue;
      if (!stepInductance(work, workOf(work.a, work.b).ohm, reference_ohm, hum_V)) continue;
      const entry = draftEntry(EntryKind.inductance);
      entry.a = work.a;
      entry.b = work.b;
      entry.flags = <u8>(loss_u_ohm > 0 ? EntryFlag.lossKnown : 0);
      entry.v0 = henry_H;
      entry.v1 = henry_u_H;
      entry.v2 = loss_ohm;
      entry.v3 = loss_u_ohm;
      commitEntry();
    } else if (stepMutual(stepWork(driveOf(i)), work, reference_ohm, hum_V)) {
      const entry = draftEntry(EntryKind.coupling);
      entry.a = work.a;
      entry.b = work.b;
      entry.c = work.c;
      entry.d = work.d;
      entry.v0 = mutual_H;
      entry.v1 = mutual_u_H;
      commitEntry();
    }
  }
}
