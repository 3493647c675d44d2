/**
 * The electrical part of a test: guard, which clips hang together, precise ohms, leaks, potentials of floating
 * clips, steps. Each operation's end (`electricalEnded`) decides the next one.
 */
import {
  Outcome, burstOperation, convertOperation, emptiedOperation, hum_V, live_V, lookMinus, lookOperation, lookPlus, over,
  pauseOperation, restOperation, volt_V,
} from './operation';
import {
  STEP_LEAD, STEP_SAMPLES, STEP_SERIES_ohm, henry_H, henry_u_H, loss_ohm, loss_u_ohm, mutual_H, mutual_u_H, stepAddCurrent,
  stepAddSense, stepBegin, stepInductance, stepLost, stepMutual, stepWhole,
} from './inductance';
import {
  BOARD, BURST_B, Board, CoilResult, EntryFlag, EntryKind, MAX_STEP_COILS, Note, PAIR_COUNT, RESULT, RESULT_COILS, Rate, Result,
  Step, StepWork, WORK, WORK_REFERENCES, WORK_STEPS, WORK_bytes,
} from './layout';
import { commitEntry, draftEntry, noteEntry } from './log';
import {
  DRV_CURRENT, DRV_MINUS, DRV_PLUS, DRV_ZERO, RET_MEGOHM, RET_REFERENCE, SENSE_REFERENCE, SENSE_RETURN, drivePort, ground1,
  ground2, pairHigh, pairLow, pairOf, sensePort,
} from './matrix';
import {
  PairState, betweenGroups, findGroups, groupOf, isSpanning, isolatedClip, nextPair, pairWork, workOf,
} from './pairs';
import {
  LEAK_RETURN_ohm, PORT_LIMIT_V, QUICK_RANGE, RANGES, leak_ohm, polaritiesDisagree, rangeCurrent_nA, rangeFor, rangeLimit_ohm,
  readingUncertainty_ohm, settle_us,
} from './resistance';
import { electricalDone, endTest, leadsWatched, setStep, setWork, verified } from './sequence';
import { solve } from './solve';

enum Task {
  none, guard, whole, scan, quick, zero, reference, forward, reverse, openInput, leakPlus, leakMinus, potentialForward,
  potentialReverse, step, verify, watch, rescan, rest,
}

/** What a verification leads back to. */
enum After { steps, touch, end, leak }

/** Voltage at the leak return above which a pair is taken for connected: below about 200 kilohm. */
const CONNECTED_V: f32 = 1.35;
/** What a pair that the scan found open is surely above, ohms. */
const SCAN_above_ohm: f32 = 2e5;
const SCAN_us: u32 = 6000;
/** A pair below this charges the leak path's capacitor within the shorter time. */
const WATCH_ohm: f32 = 5e4;
const WATCH_us: u32 = 2000;
const LEAK_us: u32 = 25000;
/** The board's own leak may not limit what a pickup's leak is told as, ohms. */
const LEAK_LIMIT_ohm: f32 = 1e8;
/** Readings of one pair that may follow a disagreement. */
const REPEATS: u32 = 2;
/** A path whose end is looked for by potential: what no current source reaches, up to 100 megohm. */
const LEAK_FROM_ohm: f32 = 1.5e5;
/** Three slots are 100 ms: five periods of 50 Hz, six of 60 Hz. A slot is 3 ms of looking, the burst, and this. */
const DECAY_us: u32 = 14333;
const SLOTS: u32 = 3;
const SLOT_us: u32 = 33333;

let task: u32 = Task.none;
let pair: u32 = 0;
let range: u32 = 0;
let zero_V: f32 = 0;
let whole_V: f32 = 0;
let limit_ohm: f32 = 0;
let forward_V: f32 = 0;
let forwardOver: bool = false;
let anyLive: bool = false;
let after: u32 = After.steps;
/** A watch found a lead without contact. */
let lost: bool = false;
/** Pair that the leaks go on with after a watch. */
let resumePair: u32 = 0;
/** Precise readings now serve a verification. */
let verifying: bool = false;
let drivePair: u32 = 0;
let sensed: u32 = 0;
let stepCount: u32 = 0;
let stepGroup: u32 = 0;
let slot: u32 = 0;

/** Starts with the guard. */
export function beginElectrical(): void {
  memory.fill(WORK, 0, WORK_bytes);
  anyLive = false;
  verifying = false;
  setStep(Step.guard);
  pair = 0;
  guardNext();
}

/** After a touch: are the leads still there? */
export function watchAfterTouch(): void { beginVerify(After.touch); }

/** At the end: what is connected, and what was not. */
export function verifyAtEnd(): void { beginVerify(After.end); }

function beginVerify(then: u32): void {
  after = then;
  verifying = true;
  lost = false;
  pair = 0;
  verifyNext();
}

function reference_V(index: u32): f32 { return load<f32>(WORK_REFERENCES + index * 4); }

/** An operation of this part has ended. @param outcome - `Outcome` */
export function electricalEnded(outcome: u32): void {
  if (outcome == Outcome.live) {
    liveFound();
    return;
  }
  if (outcome == Outcome.converterFailed) {
    noteEntry(Note.converterFailed, 255);
    endTest();
    return;
  }
  if (outcome == Outcome.captureFailed && task != Task.step) {
    noteEntry(Note.captureOverrun, 255);
    endTest();
    return;
  }
  switch (task) {
    case Task.guard: { pair++; guardNext(); break; }
    case Task.whole: wholeDone(); break;
    case Task.scan: scanDone(); break;
    case Task.quick: quickDone(); break;
    case Task.zero: { zero_V = volt_V; range = 0; referenceNext(); break; }
    case Task.reference: referenceDone(); break;
    case Task.forward: { forward_V = volt_V - zero_V; forwardOver = over; reverse(); break; }
    case Task.reverse: reverseDone(); break;
    case Task.openInput: openInputDone(); break;
    case Task.leakPlus: { forward_V = volt_V; leakDrive(Task.leakMinus); break; }
    case Task.leakMinus: leakDone(); break;
    case Task.potentialForward: { forward_V = volt_V; potentialDrive(Task.potentialReverse); break; }
    case Task.potentialReverse: potentialDone(); break;
    case Task.step: stepDone(outcome == Outcome.captureFailed); break;
    case Task.verify: verifyDone(); break;
    case Task.watch: watchDone(); break;
    case Task.rest: restDone(); break;
    default: rescanDone();
  }
}

// ---------------------------------------------------------------- guard

function guardNext(): void {
  pair = nextPair(pair);
  if (pair == PAIR_COUNT) {
    if (anyLive) endTest();
    else beginScan();
    return;
  }
  task = Task.guard;
  setWork(pairLow(pair), pairHigh(pair));
  lookOperation(pairLow(pair), pairHigh(pair));
}

/** A voltage is on the leads: in the first look the other pairs are looked at too, later nothing more is done. */
function liveFound(): void {
  const entry = draftEntry(EntryKind.live);
  entry.a = <u8>lookPlus;
  entry.b = <u8>lookMinus;
  entry.v0 = live_V;
  commitEntry();
  anyLive = true;
  if (task == Task.guard) {
    pair++;
    guardNext();
  } else {
    endTest();
  }
}

// ---------------------------------------------------------------- which clips hang together

/** The leak path with both ends on one clip: what "connected" reads. */
function beginScan(): void {
  setStep(Step.quickScan);
  pair = nextPair(0);
  if (pair == PAIR_COUNT) {
    findGroups();
    electricalDone();
    return;
  }
  task = Task.whole;
  const clip = pairLow(pair);
  emptiedOperation(0, 0, drivePort(clip, clip) | DRV_ZERO | RET_MEGOHM,
    drivePort(clip, clip) | SENSE_RETURN | DRV_PLUS | RET_MEGOHM, SCAN_us, Rate.quick);
}

function wholeDone(): void {
  whole_V = volt_V;
  if (!(whole_V > CONNECTED_V)) {
    noteEntry(Note.selfTestFailed, 255);
    endTest();
    return;
  }
  scanNext();
}

function leakWord(plus: u32, minus: u32, drive: u32): u32 {
  return drivePort(plus, minus) | SENSE_RETURN | drive | RET_MEGOHM;
}

function scanDrive(settle: u32): void {
  const low = pairLow(pair);
  const high = pairHigh(pair);
  setWork(low, high);
  emptiedOperation(low, high, drivePort(high, high) | DRV_ZERO | RET_MEGOHM, leakWord(low, high, DRV_PLUS), settle, Rate.quick);
}

function scanNext(): void {
  pair = nextPair(pair);
  if (pair == PAIR_COUNT) {
    pair = 0;
    quickNext();
    return;
  }
  task = Task.scan;
  scanDrive(SCAN_us);
}

function scanDone(): void {
  if (volt_V < CONNECTED_V && !over) {
    pairWork(pair).state = <u8>PairState.open;
    openEntry(pair, SCAN_above_ohm);
  }
  pair++;
  scanNext();
}

function openEntry(index: u32, above_ohm: f32): void {
  const entry = draftEntry(EntryKind.resistance);
  entry.flags = <u8>EntryFlag.open;
  entry.a = <u8>pairLow(index);
  entry.b = <u8>pairHigh(index);
  entry.v0 = above_ohm;
  commitEntry();
}

function ohmEntry(index: u32, ohm: f32, u_ohm: f32): void {
  const entry = draftEntry(EntryKind.resistance);
  entry.flags = <u8>EntryFlag.uncertaintyKnown;
  entry.a = <u8>pairLow(index);
  entry.b = <u8>pairHigh(index);
  entry.v0 = ohm > 0 ? ohm : 0;
  entry.v1 = u_ohm;
  commitEntry();
}

// ---------------------------------------------------------------- current range of each connected pair

function currentWord(plus: u32, minus: u32, sense: u32): u32 {
  return drivePort(plus, minus) | sense | DRV_CURRENT | RET_REFERENCE;
}

function quickDrive(index: u32): void {
  const low = pairLow(pair);
  const high = pairHigh(pair);
  setWork(low, high);
  range = index;
  convertOperation(low, high, currentWord(low, high, sensePort(low, high)), rangeCurrent_nA(index), settle_us(index), Rate.quick);
}

function quickNext(): void {
  while (pair < PAIR_COUNT) {
    pair = nextPair(pair);
    if (pair < PAIR_COUNT && <u32>pairWork(pair).state == PairState.unknown) {
      task = Task.quick;
      quickDrive(QUICK_RANGE);
      return;
    }
    pair++;
  }
  findGroups();
  beginReferences();
}

function quickDone(): void {
  const ohm = volt_V / (<f32>rangeCurrent_nA(range) * <f32>1e-9);
  const work = pairWork(pair);
  const chosen = over ? RANGES : rangeFor(ohm);
  if (chosen == RANGES || (range == QUICK_RANGE && ohm > rangeLimit_ohm(range))) {
    if (range == QUICK_RANGE) {
      quickDrive(RANGES - 1);
      return;
    }
    // No current reaches it: the leak path reads it.
    work.state = <u8>PairState.open;
  } else {
    work.state = <u8>PairState.read;
    work.range = <u8>chosen;
    work.quick_ohm = ohm;
  }
  if (verifying) {
    if (<u32>work.state == PairState.read) needReference();
    else verifyStep();
    return;
  }
  pair++;
  quickNext();
}

// ---------------------------------------------------------------- references and precise ohms

function beginReferences(): void {
  setStep(Step.reference);
  task = Task.zero;
  const clip = pairLow(nextPair(0));
  convertOperation(0, 0, drivePort(clip, clip) | SENSE_REFERENCE | RET_REFERENCE, 0, 1000, Rate.precise);
}

/** One reading at the reference resistor for each current that a pair needs, driven through such a pair. */
function referenceNext(): void {
  for (; range < RANGES; range++) {
    for (let p: u32 = 0; p < PAIR_COUNT; p++) {
      const work = pairWork(p);
      if (<u32>work.state == PairState.read && <u32>work.range == range) {
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

let referenceTries: u32 = 0;

function referenceDone(): void {
  const value_V = volt_V - zero_V;
  const nominal_V = changetype<Board>(<usize>BOARD).reference_ohm * <f32>rangeCurrent_nA(range) * <f32>1e-9;
  if (abs<f32>(value_V / nominal_V - 1) > <f32>0.1 && referenceTries < REPEATS) {
    referenceTries++;
    // A lead of the first pair may have let go: the path over one clip is always whole.
    task = Task.reference;
    const clip = pairLow(nextPair(0));
    convertOperation(0, 0, currentWord(clip, clip, SENSE_REFERENCE), rangeCurrent_nA(range), settle_us(range), Rate.precise);
    return;
  }
  if (abs<f32>(value_V / nominal_V - 1) > <f32>0.1) {
    noteEntry(Note.converterFailed, 255);
    endTest();
    return;
  }
  referenceTries = 0;
  store<f32>(WORK_REFERENCES + range * 4, value_V);
  if (verifying) {
    preciseStart();
    return;
  }
  range++;
  referenceNext();
}

function preciseNext(): void {
  for (; pair < PAIR_COUNT; pair++) {
    if (isRead(pair)) {
      preciseStart();
      return;
    }
  }
  beginLeaks();
}

function isRead(index: u32): bool { return <u32>pairWork(index).state == PairState.read; }

function preciseStart(): void {
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

/** Both polarities are in: one reading when they agree, both when they do not, and then again. */
function reverseDone(): void {
  const work = pairWork(pair);
  const reference = reference_V(work.range);
  const current_A = <f32>rangeCurrent_nA(work.range) * <f32>1e-9;
  const scale = changetype<Board>(<usize>BOARD).reference_ohm / reference;
  const reverse_V = volt_V - zero_V;
  const span_V = (forward_V - reverse_V) * <f32>0.5;
  const ohm = span_V * scale;
  const u_ohm = readingUncertainty_ohm(ohm, current_A, reference);
  let settled = false;
  if (forwardOver || over || abs<f32>(forward_V) > PORT_LIMIT_V || abs<f32>(reverse_V) > PORT_LIMIT_V) {
    openEntry(pair, rangeLimit_ohm(work.range));
  } else if (polaritiesDisagree(forward_V, reverse_V)) {
    ohmEntry(pair, forward_V * scale, u_ohm);
    ohmEntry(pair, -reverse_V * scale, u_ohm);
  } else {
    ohmEntry(pair, ohm, u_ohm);
    settled = agrees(ohm, work.ohm != 0 ? work.ohm : work.quick_ohm, work.ohm != 0 ? 5 * u_ohm : quickMargin_ohm(ohm, current_A));
    work.ohm = ohm;
    work.span_V = span_V;
  }
  if (!settled && <u32>work.repeats < REPEATS) {
    work.repeats++;
    preciseStart();
    return;
  }
  if (verifying) {
    verifyStep();
    return;
  }
  pair++;
  preciseNext();
}

function agrees(ohm: f32, before_ohm: f32, margin_ohm: f32): bool { return abs<f32>(ohm - before_ohm) <= margin_ohm; }

/** What a quick conversion may be off: hum, and 1 % of its own. */
function quickMargin_ohm(ohm: f32, current_A: f32): f32 {
  return <f32>0.01 * ohm + 5 + (<f32>2 * hum_V + <f32>5e-4) / current_A;
}

// ---------------------------------------------------------------- leaks

function beginLeaks(): void {
  setStep(Step.leak);
  pair = 0;
  limit_ohm = LEAK_LIMIT_ohm;
  for (let p: u32 = nextPair(0); p < PAIR_COUNT; p = nextPair(p + 1)) {
    if (!leakWanted(p)) continue;
    // The board's own leak, with no clip on either port.
    task = Task.openInput;
    emptiedOperation(0, 0, DRV_ZERO | RET_MEGOHM, SENSE_RETURN | DRV_PLUS | RET_MEGOHM, LEAK_us, Rate.precise);
    return;
  }
  leakNext();
}

/** Between two groups one pair stands for all; inside a group what no current reached. */
function leakWanted(p: u32): bool {
  if (<u32>pairWork(p).state == PairState.read) return false;
  return betweenGroups(p) || groupOf(pairLow(p)) == groupOf(pairHigh(p));
}

function openInputDone(): void {
  const own = whole_V * LEAK_RETURN_ohm / max<f32>(abs<f32>(volt_V) * 4, <f32>1e-6);
  if (own < limit_ohm) limit_ohm = own;
  leakNext();
}

function leakNext(): void {
  for (pair = nextPair(pair); pair < PAIR_COUNT; pair = nextPair(pair + 1)) {
    if (leakWanted(pair)) {
      leakDrive(Task.leakPlus);
      return;
    }
  }
  beginPotentials();
}

function leakDrive(as: u32): void {
  task = as;
  const low = pairLow(pair);
  const high = pairHigh(pair);
  setWork(low, high);
  emptiedOperation(low, high, drivePort(high, high) | DRV_ZERO | RET_MEGOHM,
    leakWord(low, high, as == Task.leakPlus ? DRV_PLUS : DRV_MINUS), LEAK_us, Rate.precise);
}

function leakDone(): void {
  const return_V = (forward_V - volt_V) * <f32>0.5;
  const work = pairWork(pair);
  const ohm = return_V > <f32>1e-4 ? leak_ohm(whole_V, return_V) : LEAK_LIMIT_ohm * 10;
  if (ohm > limit_ohm) {
    openEntry(pair, limit_ohm);
  } else {
    ohmEntry(pair, ohm, ohm * (<f32>0.02 + <f32>3e-4 / return_V) + 500);
    work.ohm = ohm;
  }
  // The two signs must tell the same: contact lost in one of them, or a source.
  const uneven = abs<f32>(forward_V + volt_V) > <f32>0.005 + <f32>0.2 * abs<f32>(return_V);
  if (uneven && <u32>work.repeats < REPEATS) {
    work.repeats++;
    leakDrive(Task.leakPlus);
    return;
  }
  resumePair = pair + 1;
  beginVerify(After.leak);
}

// ---------------------------------------------------------------- potentials of floating clips

function beginPotentials(): void {
  pair = 0;
  drivePair = 0;
  setStep(Step.potential);
  potentialNext();
}

/** For each leak: drive each coil of either side, sense a clip of the other. */
function potentialNext(): void {
  for (; pair < PAIR_COUNT; pair++, drivePair = 0) {
    const work = pairWork(pair);
    if (<u32>work.state == PairState.read || !(work.ohm >= LEAK_FROM_ohm)) continue;
    const low = pairLow(pair);
    const high = pairHigh(pair);
    if (groupOf(low) == groupOf(high)) continue;
    for (; drivePair < PAIR_COUNT; drivePair++) {
      if (!isSpanning(drivePair) || pairWork(drivePair).ohm < 100) continue;
      const group = groupOf(pairLow(drivePair));
      if (group != groupOf(low) && group != groupOf(high)) continue;
      sensed = group == groupOf(low) ? high : low;
      potentialDrive(Task.potentialForward);
      return;
    }
  }
  beginSteps();
}

function potentialDrive(as: u32): void {
  task = as;
  const low = pairLow(drivePair);
  const high = pairHigh(drivePair);
  const index = <u32>pairWork(drivePair).range;
  const plus = as == Task.potentialForward ? low : high;
  const minus = as == Task.potentialForward ? high : low;
  // The floating side charges through the leak: about 400 pF, seven time constants.
  const charge_us = <u32>(min<f32>(pairWork(pair).ohm, <f32>7e7) * <f32>0.0028);
  setWork(low, high);
  convertOperation(plus, minus, currentWord(plus, minus, sensePort(sensed, high)), rangeCurrent_nA(index),
    settle_us(index) + charge_us, Rate.precise);
}

function potentialDone(): void {
  const work = pairWork(drivePair);
  if (work.span_V > <f32>0.01 && !over) {
    const entry = draftEntry(EntryKind.potential);
    entry.a = <u8>pairLow(drivePair);
    entry.b = <u8>pairHigh(drivePair);
    entry.c = <u8>sensed;
    entry.v0 = (forward_V - volt_V) * <f32>0.5 / work.span_V;
    entry.v1 = <f32>0.003 + <f32>2e-5 / work.span_V + <f32>5e-11 * pairWork(pair).ohm;
    commitEntry();
  }
  drivePair++;
  potentialNext();
}

// ---------------------------------------------------------------- steps

function stepWork(index: u32): StepWork { return changetype<StepWork>(<usize>(WORK_STEPS + index * offsetof<StepWork>())); }

function coil(index: u32): CoilResult { return changetype<CoilResult>(<usize>(RESULT_COILS + index * offsetof<CoilResult>())); }

/** Whether a coil of the result can be stepped: two ends, a reading of its own, not a joint. */
function stepped(index: u32): bool {
  const c = coil(index);
  if (c.endA == 0 || c.endB == 0 || c.endA == c.endB) return false;
  const work = workOf(c.endA, c.endB);
  return <u32>work.state == PairState.read && work.ohm > 20;
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
function beginSteps(): void {
  solve();
  setStep(Step.inductance);
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
    beginVerify(After.steps);
    return;
  }
  task = Task.step;
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

function stepDone(lost: bool): void {
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

// ---------------------------------------------------------------- verification

/** One pair to each connected clip once more; after a leak or touch only whether it conducts, at the end what was open too. */
function verifyNext(): void {
  for (pair = nextPair(pair); pair < PAIR_COUNT; pair = nextPair(pair + 1)) {
    if (isSpanning(pair)) {
      if (after == After.leak || after == After.touch) {
        task = Task.watch;
        scanDrive(pairWork(pair).quick_ohm < WATCH_ohm ? WATCH_us : SCAN_us);
      } else {
        task = Task.verify;
        quickDrive(<u32>pairWork(pair).range);
      }
      return;
    }
    if (after == After.end && <u32>pairWork(pair).state == PairState.open && betweenGroups(pair)) {
      task = Task.rescan;
      scanDrive(SCAN_us);
      return;
    }
  }
  verifying = false;
  if (after == After.leak) {
    pair = resumePair;
    setStep(Step.leak);
    leakNext();
  } else {
    task = Task.rest;
    restOperation();
  }
}

function restDone(): void {
  if (after == After.end) verified();
  else if (after == After.touch) leadsWatched(lost);
  else electricalDone();
}

/** A connected pair that no longer conducts is read like any other: the lost contact becomes evidence. */
function watchDone(): void {
  if (volt_V >= CONNECTED_V || over) {
    verifyStep();
    return;
  }
  lost = true;
  pairWork(pair).repeats = 0;
  preciseStart();
}

function verifyStep(): void {
  pair++;
  verifyNext();
}

function verifyDone(): void {
  const work = pairWork(pair);
  const current_A = <f32>rangeCurrent_nA(range) * <f32>1e-9;
  const ohm = volt_V / current_A;
  if (!over && agrees(ohm, work.ohm, quickMargin_ohm(work.ohm, current_A) + <f32>0.06 * work.ohm)) {
    verifyStep();
    return;
  }
  work.repeats = 0;
  preciseStart();
}

/** A pair that was open conducts now: it is read like any other. */
function rescanDone(): void {
  if (volt_V < CONNECTED_V && !over) {
    verifyStep();
    return;
  }
  pairWork(pair).repeats = <u8>REPEATS;
  task = Task.quick;
  quickDrive(QUICK_RANGE);
}

function needReference(): void {
  range = pairWork(pair).range;
  if (reference_V(range) != 0) {
    preciseStart();
    return;
  }
  referenceDrive(pair);
}
