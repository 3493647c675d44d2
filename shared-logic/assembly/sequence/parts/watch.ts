/** Whether the leads are still there: one pair to each connected clip once more; a lost contact becomes evidence. */
import { Answer, PAIR_COUNT, PairWork } from '../../layout';
import { pairWork } from '../../blocks';
import { readEnded, readPair } from './ohms';
import { PairState, REPEATS, betweenGroups, findGroups, groupOf, isSpanning, nextPair } from '../ground/pairs';
import { pairHigh, pairLow } from '../../clip-pairs';
import { agrees, quickMargin_ohm, rangeCurrent_nA } from '../ground/resistance';
import { conducts, isUnclear, quickPair, rangeEnded, rangePair, scanLonger, scanPair } from './scan';
import { Turn } from '../ground/turn';

/**
 * What is looked at: whether each pair conducts; its ohms, and what was open; and once a lead's contact has come back,
 * the pairs that were open only because it was away.
 */
export enum Watch { contact, all, returned }

enum Task { contact, ohms, open, range, read }

/** How far a quick reading may be from the precise one besides its own margin. */
const OHM_tolerance: f32 = 0.06;

/** A look for contact found a lead without. */
let leadLost: bool = false;
let what: u32 = Watch.contact;
/** A pair that was open conducts now. */
let hasReturned: bool = false;
let task: u32 = Task.contact;
let pair: u32 = 0;

/** Starts with the first pair. @param as - `Watch` @returns `Turn`; `amiss` when a look for contact found a lead without */
export function beginWatch(as: u32): u32 {
  what = as;
  leadLost = false;
  hasReturned = false;
  pair = 0;
  return watchNext();
}

/** The pair after the one that was looked at. */
function nextWatch(): u32 {
  pair++;
  return watchNext();
}

function watchNext(): u32 {
  for (pair = nextPair(pair); pair < PAIR_COUNT; pair = nextPair(pair + 1)) {
    if (what != Watch.returned && (isSpanning(pair) || (what == Watch.all && isUnread(pairWork(pair))))) {
      if (what == Watch.contact) {
        task = Task.contact;
        scanPair(pair);
      } else {
        task = Task.ohms;
        quickPair(pair, pairWork(pair).range);
      }
      return Turn.waits;
    }
    const isWanted = what == Watch.all ? betweenGroups(pair) : isInside(pair);
    if (what != Watch.contact && <u32>pairWork(pair).state == PairState.open && isWanted) {
      task = Task.open;
      scanPair(pair);
      return Turn.waits;
    }
  }
  if (hasReturned) {
    hasReturned = false;
    findGroups();
    what = Watch.returned;
    pair = 0;
    return watchNext();
  }
  return leadLost ? Turn.amiss : Turn.done;
}

/** Whether a pair that conducts never gave a value: a lead had no contact when it was read. */
@inline function isUnread(work: PairWork): bool { return <u32>work.state == PairState.read && work.ohm == 0; }

function isInside(pairIndex: u32): bool { return groupOf(pairLow(pairIndex)) == groupOf(pairHigh(pairIndex)); }

/** An operation of this part has ended. @returns `Turn`, as of `beginWatch` */
export function watchEnded(answer: Answer): u32 {
  switch (task) {
    case Task.ohms: return ohmsDone(answer);
    case Task.range: return rangeEnded(answer) == Turn.done ? rangeDone() : <u32>Turn.waits;
    case Task.read: {
      const turn = readEnded(answer);
      return turn == Turn.done ? nextWatch() : turn;
    }
    default: {
      if (isUnclear(answer)) {
        scanLonger(pair);
        return Turn.waits;
      }
      return task == Task.contact ? contactDone(answer) : openDone(answer);
    }
  }
}

/** A connected pair that no longer conducts is read like any other: the lost contact becomes evidence. */
function contactDone(answer: Answer): u32 {
  if (conducts(answer)) return nextWatch();
  leadLost = true;
  return readAgain();
}

function ohmsDone(answer: Answer): u32 {
  const work = pairWork(pair);
  const current_A = <f32>rangeCurrent_nA(work.range) * <f32>1e-9;
  const margin_ohm = quickMargin_ohm(work.ohm, current_A, answer.hum_V) + OHM_tolerance * work.ohm;
  const same = !isUnread(work) && answer.over == 0 && agrees(answer.volt_V / current_A, work.ohm, margin_ohm);
  return same ? nextWatch() : readAgain();
}

function readAgain(): u32 {
  pairWork(pair).repeats = 0;
  return read();
}

function read(): u32 {
  task = Task.read;
  readPair(pair);
  return Turn.waits;
}

/** A pair that was open conducts now: it is read like any other. */
function openDone(answer: Answer): u32 {
  if (!conducts(answer)) return nextWatch();
  hasReturned = what == Watch.all;
  pairWork(pair).repeats = <u8>REPEATS;
  task = Task.range;
  rangePair(pair);
  return Turn.waits;
}

/** The range of a pair that was open is known, or that no current reaches it. */
function rangeDone(): u32 { return <u32>pairWork(pair).state == PairState.read ? read() : nextWatch(); }
