/**
 * Steps of the voltage drive through each coil: the current that follows gives inductance and loss, the voltage in the
 * other coils the mutual inductance (inductance.ts). Both signs of a step come 100 ms apart.
 */
import { Part, enter, stepsDone } from './electrical';
import {
  STEP_LEAD, STEP_SAMPLES, STEP_SERIES_ohm, henry_H, henry_u_H, loss_ohm, loss_u_ohm, mutual_H, mutual_u_H, stepAddCurrent,
  stepAddSense, stepBegin, stepInductance, stepLost, stepMutual, stepWhole,
} from './inductance';
import {
  BOARD, BURST_B, Board, CoilResult, EntryFlag, EntryKind, MAX_STEP_COILS, RESULT, RESULT_COILS, Result, Step, StepWork, WORK_STEPS,
} from './layout';
import { commitEntry, draftEntry, openEntry } from './log';
import {
  DRV_MINUS, DRV_PLUS, DRV_ZERO, RET_REFERENCE, SENSE_REFERENCE, drivePort, ground1, ground2, pairOf, sensePort,
} from './matrix';
import { burstOperation, hum_V, pauseOperation, volt_V } from './operation';
import { PairState, groupOf, isolatedClip, workOf } from './pairs';
import { setStep, setWork } from './sequence';
import { solve } from './solve';

/** Three slots are 100 ms: five periods of 50 Hz, six of 60 Hz. A slot is 3 ms of looking, the burst, and this. */
const DECAY_us: u32 = 14333;
const SLOTS: u32 = 3;
const SLOT_us: u32 = 33333;
/** A coil below this is a joint. */
const COIL_least_ohm: f32 = 20;

let stepCount: u32 = 0;
let stepGroup: u32 = 0;
let slot: u32 = 0;

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
  stepGroup = 0;
  slot = 0;
  stepNext();
}

/** Up to three bursts with the positive step, then the same with the negative one, each 100 ms after its twin. */
function stepNext(): void {
  const group = min<u32>(SLOTS, stepCount - stepGroup);
  if (stepGroup >= stepCount) {
    stepEntries();
    stepsDone();
    return;
  }
  if (slot % SLOTS >= group) {
    pauseOperation(SLOT_us);
    return;
  }
  const work = stepWork(stepGroup + slot % SLOTS);
  const plus = <u32>work.a;
  const minus = <u32>work.b;
  const chassis = isolatedClip();
  let rest = drivePort(plus, minus) | RET_REFERENCE;
  if (work.c == 0) {
    rest |= SENSE_REFERENCE | ground2(chassis);
  } else {
    rest |= sensePort(work.c, work.d) | ground2(chassis);
    if (groupOf(work.d) != groupOf(minus)) rest |= ground1(work.d);
  }
  setWork(plus, minus);
  burstOperation(plus, minus, rest | DRV_ZERO, rest | (slot < SLOTS ? DRV_PLUS : DRV_MINUS), STEP_SAMPLES, STEP_LEAD, DECAY_us,
    work.c == 0);
}

/** An operation of this part has ended. @param lost - its burst could not be captured */
export function stepsEnded(lost: bool): void {
  const group = min<u32>(SLOTS, stepCount - stepGroup);
  if (slot % SLOTS < group) {
    const work = stepWork(stepGroup + slot % SLOTS);
    if (lost) stepLost(work);
    else if (work.c == 0) stepAddCurrent(work, BURST_B, volt_V, slot < SLOTS ? 1 : -1);
    else stepAddSense(work, driveOf(work), BURST_B, slot < SLOTS ? 1 : -1);
  }
  slot++;
  if (slot >= SLOTS + group) {
    stepGroup += SLOTS;
    slot = 0;
  }
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

/** The current that belongs to what was sensed: it was captured before. */
function driveOf(sense: StepWork): StepWork {
  let found: u32 = 0;
  for (let i: u32 = 0; i < stepCount; i++) {
    const work = stepWork(i);
    if (work.c == 0 && work.a == sense.a && work.b == sense.b) found = i;
  }
  return stepWork(found);
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
    } else if (stepMutual(driveOf(work), work, reference_ohm, hum_V)) {
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
