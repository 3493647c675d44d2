/** Which clips hang together: the leak path tells what conducts, a quick reading which current a conducting pair needs. */
import { Part, enter, giveUp, nothingToMeasure, rangeKnown, scanned } from '../electrical';
import { Note, PAIR_COUNT, Rate, Step } from '../../layout';
import { openEntry } from '../ground/log';
import { pairHigh, pairLow } from '../../clip-pairs';
import { DRV_PLUS, DRV_ZERO, RET_MEGOHM, SENSE_RETURN, currentWord, drivePort, leakWord, sensePort } from '../ground/matrix';
import { convertOperation, emptiedOperation, over, volt_V } from '../ground/operation';
import { PairState, nextPair, pairWork } from '../ground/pairs';
import { QUICK_RANGE, RANGES, rangeCurrent_nA, rangeFor, rangeLimit_ohm, settle_us } from '../ground/resistance';
import { setStep, setWork } from '../sequence';

enum Task { whole, scan, range }

/** Voltage at the leak return above which a pair is taken for connected: below about 200 kilohm. */
const CONNECTED_V: f32 = 1.35;
/** What a pair that the scan found open is surely above, ohms. */
const SCAN_above_ohm: f32 = 2e5;
/** The leak path's capacitor charges through up to 50 kilohm, or through 200 kilohm. */
const FAST_us: u32 = 2000;
const SCAN_us: u32 = 6000;
/** What 1 megohm leaves after the shorter time is more than this: below it waiting longer changes nothing. */
const CLEARLY_OPEN_V: f32 = 0.3;

/** Voltage at the leak return with both ends of the path on one clip. */
export let whole_V: f32 = 0;

let task: u32 = Task.whole;
let pair: u32 = 0;
let range: u32 = 0;
/** The last look at a pair had the longer time. */
let slow: bool = false;

/** Starts with the leak path over one clip: what "connected" reads. */
export function beginScan(): void {
  setStep(Step.quickScan);
  pair = nextPair(0);
  if (pair == PAIR_COUNT) {
    nothingToMeasure();
    return;
  }
  enter(Part.scan);
  task = Task.whole;
  const clip = pairLow(pair);
  emptiedOperation(0, 0, drivePort(clip, clip) | DRV_ZERO | RET_MEGOHM,
    drivePort(clip, clip) | SENSE_RETURN | DRV_PLUS | RET_MEGOHM, FAST_us, Rate.quick);
}

/** An operation of this part has ended. */
export function scanEnded(): void {
  switch (task) {
    case Task.whole: wholeDone(); break;
    case Task.scan: scanDone(); break;
    default: rangeDone();
  }
}

function wholeDone(): void {
  whole_V = volt_V;
  if (whole_V > CONNECTED_V) scanNext();
  else giveUp(Note.selfTestFailed);
}

/** Looks whether a pair conducts; `conducts` and `isUnclear` then tell. @param index - pair, 0 to 14 */
export function scanPair(index: u32): void {
  slow = false;
  scanDrive(index, FAST_us);
}

/** Looks again at the same pair, with time for 200 kilohm. @param index - pair, 0 to 14 */
export function scanLonger(index: u32): void {
  slow = true;
  scanDrive(index, SCAN_us);
}

/** Whether the pair may be one that charges the leak path more slowly: neither conducts nor is clearly open. */
export function isUnclear(): bool { return !slow && !conducts() && volt_V > CLEARLY_OPEN_V; }

function scanDrive(index: u32, settle: u32): void {
  const low = pairLow(index);
  const high = pairHigh(index);
  setWork(low, high);
  emptiedOperation(low, high, drivePort(high, high) | DRV_ZERO | RET_MEGOHM, leakWord(low, high, DRV_PLUS), settle, Rate.quick);
}

/** What the look found. */
export function conducts(): bool { return over || !(volt_V < CONNECTED_V); }

function scanNext(): void {
  pair = nextPair(pair);
  if (pair == PAIR_COUNT) {
    pair = 0;
    rangeNext();
    return;
  }
  task = Task.scan;
  scanPair(pair);
}

function scanDone(): void {
  if (isUnclear()) {
    scanLonger(pair);
    return;
  }
  if (!conducts()) {
    pairWork(pair).span_V = volt_V;
    pairWork(pair).state = <u8>PairState.open;
    openEntry(pair, SCAN_above_ohm);
  }
  pair++;
  scanNext();
}

// ---------------------------------------------------------------- current range of each connected pair

/** Reads a pair quickly at one current. @param index - pair, 0 to 14 @param at - range, 0 to 3 */
export function quickPair(index: u32, at: u32): void {
  const low = pairLow(index);
  const high = pairHigh(index);
  setWork(low, high);
  range = at;
  convertOperation(low, high, currentWord(low, high, sensePort(low, high)), rangeCurrent_nA(at), settle_us(at), Rate.quick);
}

/** Finds the range of one pair. @param index - pair, 0 to 14 */
export function rangePair(index: u32): void {
  enter(Part.scan);
  task = Task.range;
  pair = index;
  quickPair(pair, QUICK_RANGE);
}

/** The pair after the one whose range was found. */
export function nextRange(): void {
  pair++;
  rangeNext();
}

function rangeNext(): void {
  for (pair = nextPair(pair); pair < PAIR_COUNT; pair = nextPair(pair + 1)) {
    if (<u32>pairWork(pair).state == PairState.unknown) {
      rangePair(pair);
      return;
    }
  }
  scanned();
}

function rangeDone(): void {
  const ohm = volt_V / (<f32>rangeCurrent_nA(range) * <f32>1e-9);
  const work = pairWork(pair);
  const chosen = over ? RANGES : rangeFor(ohm);
  if (chosen == RANGES || (range == QUICK_RANGE && ohm > rangeLimit_ohm(range))) {
    if (range == QUICK_RANGE) {
      quickPair(pair, RANGES - 1);
      return;
    }
    // No current reaches it: the leak path reads it.
    work.state = <u8>PairState.open;
  } else {
    work.state = <u8>PairState.read;
    work.range = <u8>chosen;
    work.quick_ohm = ohm;
  }
  rangeKnown();
}
