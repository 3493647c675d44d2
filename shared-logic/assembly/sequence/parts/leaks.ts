/** Leaks up to 100 megohm: the voltage drive through the path and a megohm, both signs unless the first shows nothing. */
import { Part, enter, leakRead, leaksDone } from '../electrical';
import { PAIR_COUNT, Rate, Step } from '../../layout';
import { ohmEntry, openEntry } from '../ground/log';
import { pairHigh, pairLow } from '../../clip-pairs';
import { DRV_MINUS, DRV_PLUS, DRV_ZERO, RET_MEGOHM, SENSE_RETURN, drivePort, leakWord } from '../ground/matrix';
import { REPEATS } from './ohms';
import { emptiedOperation, volt_V } from '../ground/operation';
import { PairState, betweenGroups, groupOf, nextPair, pairWork } from '../ground/pairs';
import { LEAK_RETURN_ohm, leak_ohm } from '../ground/resistance';
import { whole_V } from './scan';
import { setStep, setWork } from '../sequence';

enum Task { openInput, plus, minus }

/** A first sign below this needs no second one: 400 megohm, or 200 with 4 nA of bias against it. */
const CLEARLY_OPEN_V: f32 = 0.004;

/** The leak path's 10 nF and a megohm: two and a half time constants. */
const LEAK_us: u32 = 25000;
/** The board's own leak may not limit what a pickup's leak is told as, ohms. */
const LEAK_LIMIT_ohm: f32 = 1e8;

let task: u32 = Task.openInput;
let pair: u32 = 0;
let limit_ohm: f32 = 0;
let plus_V: f32 = 0;

/** Starts with the board's own leak, when any pair is to be read. */
export function beginLeaks(): void {
  setStep(Step.leak);
  enter(Part.leaks);
  pair = 0;
  limit_ohm = LEAK_LIMIT_ohm;
  for (let p: u32 = nextPair(0); p < PAIR_COUNT; p = nextPair(p + 1)) {
    if (!isWanted(p)) continue;
    // No clip on either port.
    task = Task.openInput;
    emptiedOperation(0, 0, DRV_ZERO | RET_MEGOHM, SENSE_RETURN | DRV_PLUS | RET_MEGOHM, LEAK_us, Rate.precise);
    return;
  }
  leakNext();
}

/** Between two groups one pair stands for all; inside a group what no current reached. */
function isWanted(p: u32): bool {
  if (<u32>pairWork(p).state == PairState.read) return false;
  return betweenGroups(p) || groupOf(pairLow(p)) == groupOf(pairHigh(p));
}

/** An operation of this part has ended. */
export function leaksEnded(): void {
  switch (task) {
    case Task.openInput: openInputDone(); break;
    case Task.plus: plusDone(); break;
    default: leakDone();
  }
}

function openInputDone(): void {
  const own = whole_V * LEAK_RETURN_ohm / max<f32>(abs<f32>(volt_V) * 4, <f32>1e-6);
  if (own < limit_ohm) limit_ohm = own;
  leakNext();
}

/** The leads were found in contact after a leak: the next one. */
export function resumeLeaks(): void {
  setStep(Step.leak);
  enter(Part.leaks);
  pair++;
  leakNext();
}

function leakNext(): void {
  for (pair = nextPair(pair); pair < PAIR_COUNT; pair = nextPair(pair + 1)) {
    if (isWanted(pair)) {
      leakDrive(Task.plus);
      return;
    }
  }
  leaksDone();
}

function leakDrive(as: u32): void {
  task = as;
  const low = pairLow(pair);
  const high = pairHigh(pair);
  setWork(low, high);
  emptiedOperation(low, high, drivePort(high, high) | DRV_ZERO | RET_MEGOHM,
    leakWord(low, high, as == Task.plus ? DRV_PLUS : DRV_MINUS), LEAK_us, Rate.precise);
}

function plusDone(): void {
  plus_V = volt_V;
  if (limit_ohm == LEAK_LIMIT_ohm && abs<f32>(plus_V) < CLEARLY_OPEN_V) {
    openEntry(pair, limit_ohm);
    leakRead();
  } else {
    leakDrive(Task.minus);
  }
}

function leakDone(): void {
  const return_V = (plus_V - volt_V) * <f32>0.5;
  const work = pairWork(pair);
  const ohm = return_V > <f32>1e-4 ? leak_ohm(whole_V, return_V) : LEAK_LIMIT_ohm * 10;
  if (ohm > limit_ohm) {
    openEntry(pair, limit_ohm);
  } else {
    ohmEntry(pair, ohm, ohm * (<f32>0.02 + <f32>3e-4 / return_V) + 500);
    work.ohm = ohm;
  }
  // The two signs must tell the same: contact lost in one of them, or a source.
  const uneven = abs<f32>(plus_V + volt_V) > <f32>0.005 + <f32>0.2 * abs<f32>(return_V);
  if (uneven && <u32>work.repeats < REPEATS) {
    work.repeats++;
    leakDrive(Task.plus);
    return;
  }
  leakRead();
}
