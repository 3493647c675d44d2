/** The magnet probe: zeroed in the air, then held at each place until the field is there and stands still. */
import { Answer, EntryFlag, EntryKind, Input, Light, Note, Pole, Rate, Step } from '../../layout';
import { board } from '../../blocks';
import { setStep, showLight, showPlace } from '../ground/status';
import { commitEntry, draftEntry, noteEntry } from '../ground/log';
import { inputOperation, pauseOperation } from '../ground/operation';
import { Outcome, Turn } from '../ground/turn';
import { boardWand } from '../../board';
import { placeCount } from '../ground/setup';

enum Phase { none, zero, reading, away, pause, asleep }

/** Decide above this, tesla; the sensor's own offset is worth 1 to 3 mT. */
const FIELD_T: f32 = 0.003;
/** An offset larger than this is a magnet nearby, not an offset, tesla. */
const OFFSET_T: f32 = 0.006;
/** Away from a place below this, tesla. */
const AWAY_T: f32 = 0.002;
/** The field stands still when it changes by less than this share of itself from reading to reading. */
const STILL: f32 = 0.2;
const STILL_readings: u32 = 3;
const ZERO_readings: u32 = 8;
const POLL_us: u32 = 20000;
/** Readings 24 ms apart for which the probe may stay at a place that was read: 10 s. */
const PATIENCE: u32 = 420;
/** Readings after which the tester sleeps until the button is pressed: 60 s. */
const SLEEP: u32 = 2500;

let phase: u32 = Phase.none;
let next: u32 = Phase.none;
let place: u32 = 0;
let readings: u32 = 0;
let still: u32 = 0;
let zero_T: f32 = 0;
let before_T: f32 = 0;

/** Starts with the zero; without a probe there is nothing to do. @returns `Turn` */
export function beginMagnets(): u32 {
  if (boardWand() == 0) return Turn.done;
  setStep(Step.magnet);
  showLight(Light.busy);
  zero_T = 0;
  place = 0;
  readings = 0;
  return read(Phase.zero);
}

function read(as: u32): u32 {
  phase = as;
  inputOperation(Input.wand, Rate.quick);
  return Turn.waits;
}

function readLater(as: u32): u32 {
  phase = Phase.pause;
  next = as;
  pauseOperation(POLL_us);
  return Turn.waits;
}

/** An operation of this part has ended. @param outcome - `Outcome` @returns `Turn` */
export function magnetsEnded(outcome: u32, answer: Answer): u32 {
  if (outcome != Outcome.done || boardWand() == 0) {
    if (outcome != Outcome.done) noteEntry(Note.converterFailed, place);
    return Turn.done;
  }
  if (phase == Phase.pause) return read(next);
  const field_T = answer.volt_V * board().wand_T_per_V - (phase == Phase.zero ? 0 : zero_T);
  readings++;
  if (phase == Phase.zero) {
    zero_T += field_T / <f32>ZERO_readings;
    if (readings < ZERO_readings) return readLater(Phase.zero);
    if (abs<f32>(zero_T) > OFFSET_T) zero_T = 0;
    return askPlace();
  }
  if (phase != Phase.away) return judge(field_T, answer.over != 0);
  if (abs<f32>(field_T) >= AWAY_T && readings < PATIENCE) return readLater(Phase.away);
  place++;
  return askPlace();
}

function askPlace(): u32 {
  if (place >= placeCount) return Turn.done;
  awaitField();
  return read(Phase.reading);
}

/** Shows the place, and forgets what was read at the one before. */
function awaitField(): void {
  showPlace(Light.magnet, place, 0);
  readings = 0;
  still = 0;
  before_T = 0;
}

function judge(field_T: f32, over: bool): u32 {
  const steady = abs<f32>(field_T) > FIELD_T && abs<f32>(field_T - before_T) < STILL * abs<f32>(field_T) && !over;
  still = steady ? still + 1 : 0;
  before_T = field_T;
  if (still >= STILL_readings) {
    const entry = draftEntry(EntryKind.magnet);
    // The sensor's output rises for a south pole at its marked face.
    entry.a = <u8>(field_T > 0 ? Pole.south : Pole.north);
    entry.place = <u8>place;
    entry.flags = <u8>EntryFlag.fieldKnown;
    entry.v0 = abs<f32>(field_T);
    commitEntry();
    return skipPlace();
  }
  if (readings < SLEEP) return readLater(Phase.reading);
  phase = Phase.asleep;
  setStep(Step.asleep);
  return Turn.waits;
}

/** The probe must leave the place before it is asked for at the next. */
function skipPlace(): u32 {
  showLight(Light.lift);
  readings = 0;
  return readLater(Phase.away);
}

/** The person passes this place over, or wakes the tester. */
export function magnetsButton(): void {
  if (phase == Phase.asleep) {
    setStep(Step.magnet);
    askPlace();
    return;
  }
  if (phase != Phase.reading && (phase != Phase.pause || next != Phase.reading)) return;
  noteEntry(Note.timedOut, place);
  place++;
  if (place < placeCount) {
    awaitField();
    next = Phase.reading;
  } else {
    readings = PATIENCE;
    next = Phase.away;
    phase = phase == Phase.reading ? Phase.away : Phase.pause;
  }
}
