/**
 * The electrical part of a test: the order of its steps, and what the end of an operation leads to. Each step is a file of
 * its own: live voltages (here), which clips hang together (scan.ts), precise ohms (ohms.ts), leaks (leaks.ts), potentials
 * of floating clips (potentials.ts), steps (steps.ts), rings (ring.ts), and whether the leads are still there (watch.ts).
 */
import { Answer, EntryKind, PAIR_COUNT, Step, WORK, WORK_bytes } from '../layout';
import { beginLeaks, leaksEnded, resumeLeaks } from './parts/leaks';
import { commitEntry, draftEntry, failureEntry } from './ground/log';
import { pairHigh, pairLow } from '../clip-pairs';
import { beginOhms, ohmsEnded } from './parts/ohms';
import { lookOperation, restOperation } from './ground/operation';
import { findGroups, nextPair } from './ground/pairs';
import { beginPotentials, potentialsEnded } from './parts/potentials';
import { beginScan, scanEnded, wholePath_V } from './parts/scan';
import { setStep, setWork } from './ground/status';
import { beginRings, ringCaptured, ringsEnded } from './parts/ring';
import { beginSteps, stepCaptured, stepsEnded } from './parts/steps';
import { Outcome, Turn } from './ground/turn';
import { Watch, beginWatch, watchEnded } from './parts/watch';

/** Which file the operation under way belongs to. */
enum Part { guard, scan, ohms, leaks, potentials, steps, rings, watch, rest }

/** What the leads are looked at again for. */
enum After { steps, touch, end, leak }

let part: u32 = Part.guard;
let pair: u32 = 0;
let anyLive: bool = false;
let after: u32 = After.steps;
/** What the last look at the leads said: `Turn.done` or `Turn.amiss`. */
let watched: u32 = Turn.done;

/** Starts with the guard. @returns `Turn` */
export function beginElectrical(): u32 {
  memory.fill(WORK, 0, WORK_bytes);
  anyLive = false;
  setStep(Step.guard);
  part = Part.guard;
  pair = 0;
  return follow(guardNext());
}

/** After a touch: are the leads still there? @returns `Turn`; in the end `amiss` when one had no contact */
export function watchAfterTouch(): u32 { return follow(watch(After.touch)); }

/** At the end: what is connected, and what was not. @returns `Turn` */
export function verifyAtEnd(): u32 { return follow(watch(After.end)); }

/** An operation of this part has ended, or a step was captured. @param outcome - `Outcome` @returns `Turn` */
export function electricalEnded(outcome: u32, answer: Answer): u32 {
  if (outcome == Outcome.captured) {
    if (part == Part.rings) ringCaptured();
    else stepCaptured(answer);
    return Turn.waits;
  }
  const isLeftOut = outcome == Outcome.captureFailed && (part == Part.steps || part == Part.rings);
  if ((outcome == Outcome.converterFailed || outcome == Outcome.captureFailed) && !isLeftOut) {
    failureEntry(outcome);
    return Turn.stop;
  }
  return follow(outcome == Outcome.live ? liveFound(answer) : partEnded(outcome, answer));
}

function partEnded(outcome: u32, answer: Answer): u32 {
  switch (part) {
    case Part.guard: { pair++; return guardNext(); }
    case Part.scan: return scanEnded(answer);
    case Part.ohms: return ohmsEnded(answer);
    case Part.leaks: return leaksEnded(answer);
    case Part.potentials: return potentialsEnded(answer);
    case Part.steps: return stepsEnded(outcome == Outcome.captureFailed, answer);
    case Part.rings: return ringsEnded(outcome == Outcome.captureFailed, answer);
    case Part.watch: return watchEnded(answer);
    default: return watched;
  }
}

/** What comes after a part that has nothing left to do; the order is here and nowhere else. @param turn - `Turn` of the part at work */
function follow(turn: u32): u32 {
  while (turn > <u32>Turn.stop) {
    switch (part) {
      case Part.guard: {
        if (nextPair(0) == PAIR_COUNT) {
          // Fewer than two clips: there is nothing to measure.
          findGroups();
          return Turn.done;
        }
        part = Part.scan;
        turn = beginScan();
        break;
      }
      case Part.scan: {
        findGroups();
        part = Part.ohms;
        turn = beginOhms();
        break;
      }
      case Part.ohms: {
        part = Part.leaks;
        turn = beginLeaks(wholePath_V());
        break;
      }
      case Part.leaks: {
        // Each leak that was read counts only with its leads in contact.
        if (turn == Turn.look) {
          turn = watch(After.leak);
        } else {
          part = Part.potentials;
          turn = beginPotentials();
        }
        break;
      }
      case Part.potentials: {
        part = Part.steps;
        turn = beginSteps();
        break;
      }
      case Part.steps: {
        part = Part.rings;
        turn = beginRings();
        break;
      }
      case Part.rings: turn = watch(After.steps); break;
      case Part.watch: {
        watched = turn;
        if (after == After.leak) {
          part = Part.leaks;
          turn = resumeLeaks();
        } else {
          part = Part.rest;
          restOperation();
          turn = Turn.waits;
        }
        break;
      }
      default: return turn;
    }
  }
  return turn;
}

function watch(then: u32): u32 {
  after = then;
  part = Part.watch;
  return beginWatch(then == After.end ? Watch.all : Watch.contact);
}

// ---------------------------------------------------------------- guard

/** The next pair is looked at; the test goes on when none was live. */
function guardNext(): u32 {
  pair = nextPair(pair);
  if (pair == PAIR_COUNT) return anyLive ? Turn.stop : Turn.done;
  setWork(pairLow(pair), pairHigh(pair));
  lookOperation(pairLow(pair), pairHigh(pair));
  return Turn.waits;
}

/** A voltage is on the leads: in the first look the other pairs are looked at too, later nothing more is done. */
function liveFound(answer: Answer): u32 {
  const entry = draftEntry(EntryKind.live);
  entry.a = answer.plus;
  entry.b = answer.minus;
  entry.v0 = answer.live_V;
  commitEntry();
  if (part != Part.guard) return Turn.stop;
  anyLive = true;
  pair++;
  return guardNext();
}
