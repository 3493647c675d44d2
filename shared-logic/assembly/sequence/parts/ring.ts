/**
 * The ring of each coil: 10 uA is cut by the drive switch, sixteen times, and what the coil does by itself is fitted (ring/). The
 * pickup's other coil is shorted meanwhile, since its own ring would read as loss. Before the first, an open clip that nobody uses
 * tells the fixture's own capacitance, once until the power goes.
 */
import { board, coilResult, result } from '../../blocks';
import {
  Answer, BURST_A, CAPTURE, CLIP_COUNT, CLIP_PATH_ohm, CoilFlag, CoilText, EntryFlag, EntryKind, LogEntry, MAX_RINGS, Rate, RingWork,
  Step, WORK_REFERENCES, WORK_RING,
} from '../../layout';
import { fitRing, lossTime_s, naturalSquared } from '../../ring/fit';
import { isFixtureKnown, tellFixture } from '../../ring/fixture';
import { ringAdd, ringBegin } from '../../ring/gather';
import { RING_LEAD, RING_SAMPLES } from '../../ring/sizes';
import { startCapacitance } from '../../ring/start';
import { JOINED_ohm } from '../../solver/ground/limits';
import { solve } from '../../solver/solve';
import { commitEntry, draftEntry } from '../ground/log';
import {
  DRV_CURRENT, RET_ZERO, SENSE_REFERENCE, currentWord, drivePort, ground1, ground2,
} from '../ground/matrix';
import { convertOperation, cutsOperation } from '../ground/operation';
import { PairState, isolatedBareClip, nextPair, workOf } from '../ground/pairs';
import { REFERENCE_tolerance, rangeCurrent_nA, settle_us } from '../ground/resistance';
import { bareMask, clipMask, setupDone } from '../ground/setup';
import { pairLow } from '../../clip-pairs';
import { setStep, setWork } from '../ground/status';
import { Turn } from '../ground/turn';
import { beginOpen, openCaptured, openDone, openFound } from './open-clip';
import { converterZero_V } from './ohms';

/** Range of the current that is cut: 10 uA, which the clamps and the input's range bear with every coil. */
const RANGE: u32 = 3;
/** 16 cuts 18.75 ms apart are 300 ms: whole periods of 50 and 60 Hz. */
const CUTS: u32 = 16;
const PERIOD_us: u32 = 18750;
const CUTS_least: u32 = 8;
/** Coils between these ring where 120 kS/s can follow. */
const COIL_least_ohm: f32 = 200;
const COIL_most_ohm: f32 = 1e5;
/** A clip's 174 pF at this share of the voltage count as its square, 4 pF: no more than the fixture is known to. */
const SHARE_most: f32 = 0.15;

const SUMS: u32 = CAPTURE;
const POINTS: u32 = CAPTURE + 4096;

enum Task { reference, open, ring }

let task: u32 = Task.reference;
/** The coil of the result in work. */
let index: u32 = 0;
let plus: u32 = 0;
let minus: u32 = 0;
let grounded: u32 = 0;
/** Coils of the result that are the winding in work, and sections that have rung; bit per index. */
let own: u32 = 0;
let rung: u32 = 0;
let told: u32 = 0;

function work(): RingWork { return changetype<RingWork>(<usize>WORK_RING); }
function coilCount(): u32 { return result().coilCount; }
@inline function referenceAt(): usize { return <usize>(WORK_REFERENCES + RANGE * sizeof<f32>()); }
function reference_V(): f32 { return load<f32>(referenceAt()); }
@inline function bit(clip: u32): u32 { return clip == 0 ? 0 : 1 << (clip - 1); }

/** Starts with the current, and with the fixture where a clip is free and nothing is known of it yet. @returns `Turn` */
export function beginRings(): u32 {
  solve();
  setStep(Step.ring);
  index = 0;
  told = 0;
  rung = 0;
  if (!findCoil()) return Turn.done;
  if (reference_V() != 0) {
    openNext();
    return Turn.waits;
  }
  task = Task.reference;
  const clip = pairLow(nextPair(0));
  convertOperation(0, 0, currentWord(clip, clip, SENSE_REFERENCE), rangeCurrent_nA(RANGE), settle_us(RANGE), Rate.precise);
  return Turn.waits;
}

function current_A(): f32 { return reference_V() / board().reference_ohm; }

function openNext(): void {
  const clip = freeClip();
  if (clip == 0 || isFixtureKnown()) {
    ringNext();
    return;
  }
  task = Task.open;
  beginOpen(clip, current_A());
}

/** A clip that no lead of this pickup hangs on: only when a host said which are in use. */
function freeClip(): u32 {
  if (!setupDone) return 0;
  for (let clip: u32 = 1; clip <= CLIP_COUNT; clip++) if ((clipMask & bit(clip)) == 0) return clip;
  return 0;
}

/** A burst was captured. */
export function ringCaptured(): void {
  if (task == Task.open) openCaptured();
  else ringAdd(work(), SUMS, BURST_A, RING_SAMPLES);
}

/** An operation of this part has ended. @param lost - too many of its bursts were @returns `Turn` */
export function ringsEnded(lost: bool, answer: Answer): u32 {
  switch (task) {
    case Task.open: {
      if (!lost && !openDone(answer)) return Turn.waits;
      openFound();
      ringNext();
      return Turn.waits;
    }
    case Task.reference: {
      const value_V = answer.volt_V - converterZero_V();
      const nominal_V = board().reference_ohm * <f32>rangeCurrent_nA(RANGE) * <f32>1e-9;
      // A current that is not what the source promises says nothing of a capacitance.
      if (abs<f32>(value_V / nominal_V - 1) > REFERENCE_tolerance) return Turn.done;
      store<f32>(referenceAt(), value_V);
      openNext();
      return Turn.waits;
    }
    default: {
      ringEntries();
      index++;
      if (!findCoil()) return Turn.done;
      ringNext();
      return Turn.waits;
    }
  }
}

// ---------------------------------------------------------------- which coil, and how

function isShared(clip: u32, but: u32): bool {
  for (let other: u32 = 0; other < coilCount(); other++) {
    if (other != but && (coilResult(other).endA == clip || coilResult(other).endB == clip)) return true;
  }
  return false;
}

function isTapped(at: u32): bool { return (coilResult(at).flags & CoilFlag.tapped) != 0; }

/** From `index` on the next coil that can ring, its ends in plus and minus, and what is held at 0 V beside it. */
function findCoil(): bool {
  for (; index < coilCount() && told < MAX_RINGS; index++) {
    const c = coilResult(index);
    if (c.endA == 0 || c.endB == 0 || c.endA == c.endB || c.text == <u8>CoilText.networkEdge) continue;
    plus = c.endB;
    minus = c.endA;
    own = 1 << index;
    if (isTapped(index) && !wholeWinding()) continue;
    // A winding that ends at a point inside has no two clips.
    if (plus == 0 || minus == 0 || plus == minus) continue;
    const pair = workOf(plus, minus);
    if (<u32>pair.state != PairState.read || pair.ohm < COIL_least_ohm || pair.ohm > COIL_most_ohm) continue;
    // The end that another coil or the frame hangs on is held still.
    if ((bareMask & bit(plus)) != 0 || (isShared(plus, index) && !isShared(minus, index))) {
      const kept = plus;
      plus = minus;
      minus = kept;
    }
    holdOthers();
    return true;
  }
  return false;
}

/** Sections of one winding ring together: end to end, once; one that ends at a point inside has no two clips to ring between. */
function wholeWinding(): bool {
  if (((rung >> index) & 1) != 0) return false;
  own = 1 << index;
  for (let round: u32 = 0; round < coilCount(); round++) {
    for (let other: u32 = 0; other < coilCount(); other++) {
      if (!isTapped(other) || ((own >> other) & 1) != 0) continue;
      const a: u32 = coilResult(other).endA;
      const b: u32 = coilResult(other).endB;
      if (a != plus && b != plus && a != minus && b != minus) continue;
      own |= 1 << other;
      if (a == plus) plus = b;
      else if (b == plus) plus = a;
      else if (a == minus) minus = b;
      else minus = a;
    }
  }
  rung |= own;
  return plus != 0 && minus != 0 && plus != minus;
}

/** The pickup's other coil shorted at its ends; with a shared end the free one to 0 V; else the frame. */
function holdOthers(): void {
  grounded = 0;
  for (let other: u32 = 0; other < coilCount() && grounded == 0; other++) {
    const a: u32 = coilResult(other).endA;
    const b: u32 = coilResult(other).endB;
    if (a == 0 || b == 0 || a == b || a == plus || b == plus) continue;
    if (((own >> other) & 1) != 0) continue;
    if (a != minus) grounded |= bit(a);
    if (b != minus) grounded |= bit(b);
  }
  if (grounded == 0) {
    const frame = isolatedBareClip();
    if (frame != plus && frame != minus) grounded = bit(frame);
  }
}

function firstOf(mask: u32): u32 { return mask == 0 ? 0 : ctz<u32>(mask) + 1; }

function ringNext(): void {
  task = Task.ring;
  ringBegin(work(), SUMS);
  const first = firstOf(grounded);
  const second = firstOf(grounded & ~bit(first));
  const base = drivePort(plus, minus) | RET_ZERO | ground1(first) | ground2(second);
  setWork(plus, minus);
  cutsOperation(plus, minus, base | DRV_CURRENT, base, rangeCurrent_nA(RANGE), RING_SAMPLES, RING_LEAD, PERIOD_us, CUTS);
}

// ---------------------------------------------------------------- what it says

/** Clips on the node of one, itself among them; bit per clip index. */
function joinedWith(clip: u32): u32 {
  let mask = bit(clip);
  for (let other: u32 = 1; other <= CLIP_COUNT; other++) {
    if (other == clip) continue;
    const pair = workOf(clip, other);
    if (<u32>pair.state == PairState.read && pair.ohm < JOINED_ohm) mask |= bit(other);
  }
  return mask;
}

/**
 * Whether a clip that is neither joined with the plus clip nor held takes part in the ring by what hangs between them: by how much
 * depends on what that is. Of a voltage across the coil a share (Rpm + Rmc - Rpc)/(2 Rpm) stands at it.
 */
function takesPart(clip: u32): bool {
  const pair = workOf(plus, clip);
  const whole_ohm = workOf(plus, minus).ohm;
  return <u32>pair.state == PairState.read && whole_ohm + workOf(minus, clip).ohm - pair.ohm > 2 * SHARE_most * whole_ohm;
}

/** The fixture's own part into an entry; nothing where it is not known. Of sections no capacitance is told: a tap is no matter. */
function fixtureOf(charge: LogEntry): void {
  const moving = joinedWith(plus);
  let still = joinedWith(minus);
  for (let clip: u32 = 1; clip <= CLIP_COUNT; clip++) if ((grounded & bit(clip)) != 0) still |= joinedWith(clip);
  if (!isTapped(index)) {
    for (let clip: u32 = 1; clip <= CLIP_COUNT; clip++) if (((moving | still) & bit(clip)) == 0 && takesPart(clip)) return;
  }
  tellFixture(charge, plus, moving, still);
}

function ringEntries(): void {
  const ring = work();
  if (ring.bursts < CUTS_least || !fitRing(ring, SUMS, POINTS)) return;
  const known = startCapacitance(ring, SUMS, current_A(), CLIP_PATH_ohm);
  const natural_Hz = sqrt<f32>(naturalSquared(ring)) / <f32>6.2831855;
  const loss_s = lossTime_s(ring);
  const entry = draftEntry(EntryKind.ring);
  entry.a = <u8>plus;
  entry.b = <u8>minus;
  entry.c = <u8>grounded;
  entry.v0 = natural_Hz;
  entry.v1 = natural_Hz * ring.u_natural;
  entry.v2 = loss_s;
  entry.v3 = loss_s * ring.u_loss;
  entry.extra = ring.misfit;
  if (commitEntry() != 0) return;
  told++;
  const charge = draftEntry(EntryKind.ringCapacitance);
  charge.a = <u8>plus;
  charge.b = <u8>minus;
  if (known) {
    charge.flags = <u8>EntryFlag.totalKnown;
    charge.v0 = ring.total_F;
    charge.v1 = ring.u_F;
  }
  fixtureOf(charge);
  charge.extra = CLIP_PATH_ohm;
  commitEntry();
}
