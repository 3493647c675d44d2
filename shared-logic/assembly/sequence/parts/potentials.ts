/** Where a leak hangs: a coil of either side is driven, a clip of the other side floats at the potential of its end. */
import { Part, enter, potentialsDone } from '../electrical';
import { EntryKind, PAIR_COUNT, Rate, Step } from '../../layout';
import { commitEntry, draftEntry } from '../ground/log';
import { pairHigh, pairLow } from '../../clip-pairs';
import { currentWord, sensePort } from '../ground/matrix';
import { convertOperation, over, volt_V } from '../ground/operation';
import { PairState, groupOf, isSpanning, pairWork } from '../ground/pairs';
import { rangeCurrent_nA, settle_us } from '../ground/resistance';
import { setStep, setWork } from '../sequence';

/** A path whose end is looked for by potential: what no current source reaches, up to 100 megohm. */
const LEAK_FROM_ohm: f32 = 1.5e5;
/** A coil below this is too small to tell its ends apart, ohms. */
const COIL_least_ohm: f32 = 100;
const SPAN_least_V: f32 = 0.01;
/** The floating side charges through the leak: about 400 pF, seven time constants, up to 70 megohm. */
const CHARGE_us_per_ohm: f32 = 0.0028;
const CHARGE_most_ohm: f32 = 7e7;

/** The leak, the coil that is driven, the clip that floats. */
let pair: u32 = 0;
let drivePair: u32 = 0;
let sensed: u32 = 0;
let reversed: bool = false;
let forward_V: f32 = 0;

/** Starts with the first leak. */
export function beginPotentials(): void {
  pair = 0;
  drivePair = 0;
  enter(Part.potentials);
  setStep(Step.potential);
  potentialNext();
}

/** An operation of this part has ended. */
export function potentialsEnded(): void {
  if (reversed) {
    potentialDone();
  } else {
    forward_V = volt_V;
    potentialDrive(true);
  }
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
      if (!isSpanning(drivePair) || pairWork(drivePair).ohm < COIL_least_ohm) continue;
      const group = groupOf(pairLow(drivePair));
      if (group != groupOf(low) && group != groupOf(high)) continue;
      sensed = group == groupOf(low) ? high : low;
      potentialDrive(false);
      return;
    }
  }
  potentialsDone();
}

function potentialDrive(reverse: bool): void {
  reversed = reverse;
  const low = pairLow(drivePair);
  const high = pairHigh(drivePair);
  const index = <u32>pairWork(drivePair).range;
  const plus = reverse ? high : low;
  const minus = reverse ? low : high;
  const charge_us = <u32>(min<f32>(pairWork(pair).ohm, CHARGE_most_ohm) * CHARGE_us_per_ohm);
  setWork(low, high);
  convertOperation(plus, minus, currentWord(plus, minus, sensePort(sensed, high)), rangeCurrent_nA(index),
    settle_us(index) + charge_us, Rate.precise);
}

function potentialDone(): void {
  const work = pairWork(drivePair);
  if (work.span_V > SPAN_least_V && !over) {
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
