/** Whether the leads are still there: one pair to each connected clip once more; a lost contact becomes evidence. */
import { Part, enter, watchDone } from '../electrical';
import { PAIR_COUNT, PairWork } from '../../layout';
import { REPEATS, readPair } from './ohms';
import { hum_V, over, volt_V } from '../ground/operation';
import { PairState, betweenGroups, findGroups, groupOf, isSpanning, nextPair, pairWork } from '../ground/pairs';
import { pairHigh, pairLow } from '../../clip-pairs';
import { agrees, quickMargin_ohm, rangeCurrent_nA } from '../ground/resistance';
import { conducts, isUnclear, quickPair, rangePair, scanLonger, scanPair } from './scan';

/**
 * What is looked at: whether each pair conducts; its ohms, and what was open; and once a lead's contact has come back,
 * the pairs that were open only because it was away.
 */
export enum Watch { contact, all, returned }

enum Task { contact, ohms, open }

/** How far a quick reading may be from the precise one besides its own margin. */
const OHM_tolerance: f32 = 0.06;

/** A look for contact found a lead without. */
export let leadLost: bool = false;

let what: u32 = Watch.contact;
/** A pair that was open conducts now. */
let hasReturned: bool = false;
let task: u32 = Task.contact;
let pair: u32 = 0;

/** Starts with the first pair. @param as - `Watch` */
export function beginWatch(as: u32): void {
  what = as;
  leadLost = false;
  hasReturned = false;
  pair = 0;
  watchNext();
}

/** The pair after the one that was looked at. */
export function nextWatch(): void {
  pair++;
  watchNext();
}

function watchNext(): void {
  for (pair = nextPair(pair); pair < PAIR_COUNT; pair = nextPair(pair + 1)) {
    if (what != Watch.returned && (isSpanning(pair) || (what == Watch.all && isUnread(pairWork(pair))))) {
      enter(Part.watch);
      if (what == Watch.contact) {
        task = Task.contact;
        scanPair(pair);
      } else {
        task = Task.ohms;
        quickPair(pair, pairWork(pair).range);
      }
      return;
    }
    const isWanted = what == Watch.all ? betweenGroups(pair) : isInside(pair);
    if (what != Watch.contact && <u32>pairWork(pair).state == PairState.open && isWanted) {
      enter(Part.watch);
      task = Task.open;
      scanPair(pair);
      return;
    }
  }
  if (hasReturned) {
    hasReturned = false;
    findGroups();
    what = Watch.returned;
    pair = 0;
    watchNext();
    return;
  }
  watchDone();
}

/** Whether a pair that conducts never gave a value: a lead had no contact when it was read. */
@inline function isUnread(work: PairWork): bool { return <u32>work.state == PairState.read && work.ohm == 0; }

function isInside(pairIndex: u32): bool { return groupOf(pairLow(pairIndex)) == groupOf(pairHigh(pairIndex)); }

/** An operation of this part has ended. */
export function watchEnded(): void {
  if (task != Task.ohms && isUnclear()) {
    scanLonger(pair);
    return;
  }
  switch (task) {
    case Task.contact: contactDone(); break;
    case Task.ohms: ohmsDone(); break;
    default: openDone();
  }
}

/** A connected pair that no longer conducts is read like any other: the lost contact becomes evidence. */
function contactDone(): void {
  if (conducts()) {
    nextWatch();
    return;
  }
  leadLost = true;
  readAgain();
}

function ohmsDone(): void {
  const work = pairWork(pair);
  const current_A = <f32>rangeCurrent_nA(work.range) * <f32>1e-9;
  const margin_ohm = quickMargin_ohm(work.ohm, current_A, hum_V) + OHM_tolerance * work.ohm;
  if (!isUnread(work) && !over && agrees(volt_V / current_A, work.ohm, margin_ohm)) nextWatch();
  else readAgain();
}

function readAgain(): void {
  pairWork(pair).repeats = 0;
  readPair(pair);
}

/** A pair that was open conducts now: it is read like any other. */
function openDone(): void {
  if (!conducts()) {
    nextWatch();
    return;
  }
  hasReturned = what == Watch.all;
  pairWork(pair).repeats = <u8>REPEATS;
  rangePair(pair);
}

/** The range of a pair that was open is known, or that no current reaches it. */
export function watchRanged(): void {
  if (<u32>pairWork(pair).state == PairState.read) readPair(pair);
  else nextWatch();
}
