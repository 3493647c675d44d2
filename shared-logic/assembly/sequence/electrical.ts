/**
 * The electrical part of a test: the order of its steps, and what the end of an operation leads to. Each step is a file of
 * its own: live voltages (here), which clips hang together (scan.ts), precise ohms (ohms.ts), leaks (leaks.ts), potentials
 * of floating clips (potentials.ts), steps (steps.ts), and whether the leads are still there (watch.ts).
 */
import { EntryKind, Note, PAIR_COUNT, Step, WORK, WORK_bytes } from '../layout';
import { beginLeaks, leaksEnded, resumeLeaks } from './parts/leaks';
import { commitEntry, draftEntry, noteEntry } from './ground/log';
import { pairHigh, pairLow } from '../clip-pairs';
import { beginOhms, nextOhms, ohmsEnded } from './parts/ohms';
import { Outcome, live_V, lookMinus, lookOperation, lookPlus, restOperation } from './ground/operation';
import { findGroups, nextPair } from './ground/pairs';
import { beginPotentials, potentialsEnded } from './parts/potentials';
import { beginScan, nextRange, scanEnded } from './parts/scan';
import { electricalDone, endTest, leadsWatched, setStep, setWork, verified } from './sequence';
import { beginRings, ringCaptured, ringsEnded } from './parts/ring';
import { beginSteps, stepCaptured, stepsEnded } from './parts/steps';
import { Watch, beginWatch, leadLost, nextWatch, watchEnded, watchRanged } from './parts/watch';

/** Which file the operation under way belongs to. */
export enum Part { guard, scan, ohms, leaks, potentials, steps, rings, watch, rest }

/** What the leads are looked at again for. */
enum After { steps, touch, end, leak }

let part: u32 = Part.guard;
let pair: u32 = 0;
let anyLive: bool = false;
let after: u32 = After.steps;
/** Ranges and ohms are now read for a look at the leads. */
let watching: bool = false;

/** The next operation belongs to this part. @param to - `Part` */
export function enter(to: u32): void { part = to; }

/** Starts with the guard. */
export function beginElectrical(): void {
  memory.fill(WORK, 0, WORK_bytes);
  anyLive = false;
  watching = false;
  setStep(Step.guard);
  part = Part.guard;
  pair = 0;
  guardNext();
}

/** After a touch: are the leads still there? */
export function watchAfterTouch(): void { watch(After.touch); }

/** At the end: what is connected, and what was not. */
export function verifyAtEnd(): void { watch(After.end); }

function watch(then: u32): void {
  after = then;
  watching = true;
  beginWatch(then == After.end ? Watch.all : Watch.contact);
}

/** An operation of this part has ended, or a step was captured. @param outcome - `Outcome` */
export function electricalEnded(outcome: u32): void {
  if (outcome == Outcome.captured) {
    if (part == Part.rings) ringCaptured();
    else stepCaptured();
    return;
  }
  if (outcome == Outcome.live) {
    liveFound();
    return;
  }
  if (outcome == Outcome.converterFailed) {
    giveUp(Note.converterFailed);
    return;
  }
  if (outcome == Outcome.captureFailed && part != Part.steps && part != Part.rings) {
    giveUp(Note.captureOverrun);
    return;
  }
  switch (part) {
    case Part.guard: { pair++; guardNext(); break; }
    case Part.scan: scanEnded(); break;
    case Part.ohms: ohmsEnded(); break;
    case Part.leaks: leaksEnded(); break;
    case Part.potentials: potentialsEnded(); break;
    case Part.steps: stepsEnded(outcome == Outcome.captureFailed); break;
    case Part.rings: ringsEnded(outcome == Outcome.captureFailed); break;
    case Part.watch: watchEnded(); break;
    default: rested();
  }
}

/** The board cannot go on: noted, and the test ends. @param note - `Note` */
export function giveUp(note: u32): void {
  noteEntry(note, 255);
  endTest();
}

// ---------------------------------------------------------------- guard

function guardNext(): void {
  pair = nextPair(pair);
  if (pair == PAIR_COUNT) {
    if (anyLive) endTest();
    else beginScan();
    return;
  }
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
  if (part == Part.guard) {
    pair++;
    guardNext();
  } else {
    endTest();
  }
}

// ---------------------------------------------------------------- the order

/** Fewer than two clips: there is nothing to measure. */
export function nothingToMeasure(): void {
  findGroups();
  electricalDone();
}

/** A pair's range is known, or that no current reaches it. */
export function rangeKnown(): void {
  if (watching) watchRanged();
  else nextRange();
}

/** Every pair is open or has a range. */
export function scanned(): void {
  findGroups();
  beginOhms();
}

/** A pair was read, as often as it took. */
export function pairRead(): void {
  if (watching) nextWatch();
  else nextOhms();
}

/** Every connected pair was read. */
export function ohmsDone(): void { beginLeaks(); }

/** A leak was read: did its leads have contact? */
export function leakRead(): void { watch(After.leak); }

/** Every leak was read. */
export function leaksDone(): void { beginPotentials(); }

/** The potentials were read. */
export function potentialsDone(): void { beginSteps(); }

/** The steps were taken. */
export function stepsDone(): void { beginRings(); }

/** Every coil has rung. */
export function ringsDone(): void { watch(After.steps); }

/** The leads were looked at. */
export function watchDone(): void {
  watching = false;
  if (after == After.leak) {
    resumeLeaks();
  } else {
    part = Part.rest;
    restOperation();
  }
}

function rested(): void {
  if (after == After.end) verified();
  else if (after == After.touch) leadsWatched(leadLost);
  else electricalDone();
}
