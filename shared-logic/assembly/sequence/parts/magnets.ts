/** The magnet wand: zeroed in the air, then held at each place until the field is there and stands still. */
import { Input, BOARD, Board, EntryFlag, EntryKind, Light, Note, Pole, Rate, Step } from '../../layout';
import { showLight, showPlace } from '../ground/status';
import { commitEntry, draftEntry, noteEntry } from '../ground/log';
import { Outcome, inputOperation, over, pauseOperation, volt_V } from '../ground/operation';
import { magnetsDone, setStep } from '../sequence';
import { boardWand } from '../../board';
import { placeCount } from '../ground/setup';

enum Phase { none, zero, reading, away, pause }

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
/** Readings 24 ms apart before a place is passed over: 10 s. */
const PATIENCE: u32 = 420;

let phase: u32 = Phase.none;
let next: u32 = Phase.none;
let place: u32 = 0;
let readings: u32 = 0;
let still: u32 = 0;
let zero_T: f32 = 0;
let before_T: f32 = 0;

/** Starts with the zero; without a wand there is nothing to do. */
export function beginMagnets(): void {
  if (boardWand() == 0) {
    magnetsDone();
    return;
  }
  setStep(Step.magnet);
  showLight(Light.busy);
  zero_T = 0;
  place = 0;
  readings = 0;
  read(Phase.zero);
}

function read(as: u32): void {
  phase = as;
  inputOperation(Input.wand, Rate.quick);
}

function readLater(as: u32): void {
  phase = Phase.pause;
  next = as;
  pauseOperation(POLL_us);
}

/** An operation of this part has ended. @param outcome - `Outcome` */
export function magnetsEnded(outcome: u32): void {
  if (outcome != Outcome.done || boardWand() == 0) {
    if (outcome != Outcome.done) noteEntry(Note.converterFailed, place);
    magnetsDone();
    return;
  }
  if (phase == Phase.pause) {
    read(next);
    return;
  }
  const field_T = volt_V * changetype<Board>(<usize>BOARD).wand_T_per_V - (phase == Phase.zero ? 0 : zero_T);
  readings++;
  if (phase == Phase.zero) {
    zero_T += field_T / <f32>ZERO_readings;
    if (readings < ZERO_readings) {
      readLater(Phase.zero);
      return;
    }
    if (abs<f32>(zero_T) > OFFSET_T) zero_T = 0;
    askPlace();
  } else if (phase == Phase.away) {
    if (abs<f32>(field_T) < AWAY_T || readings >= PATIENCE) nextPlace();
    else readLater(Phase.away);
  } else {
    judge(field_T);
  }
}

function askPlace(): void {
  if (place >= placeCount) {
    magnetsDone();
    return;
  }
  showPlace(Light.magnet, place, 0);
  readings = 0;
  still = 0;
  before_T = 0;
  read(Phase.reading);
}

function judge(field_T: f32): void {
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
    skipPlace();
  } else if (readings >= PATIENCE) {
    noteEntry(Note.timedOut, place);
    skipPlace();
  } else {
    readLater(Phase.reading);
  }
}

/** The wand must leave the place before it is asked for at the next. */
function skipPlace(): void {
  showLight(Light.lift);
  readings = 0;
  readLater(Phase.away);
}

function nextPlace(): void {
  place++;
  askPlace();
}

/** The person passes this place over. */
export function magnetsButton(): void {
  if (phase == Phase.reading || (phase == Phase.pause && next == Phase.reading)) {
    noteEntry(Note.timedOut, place);
    place++;
    showPlaceOrEnd();
  }
}

function showPlaceOrEnd(): void {
  if (place < placeCount) {
    showPlace(Light.magnet, place, 0);
    readings = 0;
    still = 0;
    before_T = 0;
    next = Phase.reading;
  } else {
    readings = PATIENCE;
    next = Phase.away;
    phase = phase == Phase.reading ? Phase.away : Phase.pause;
  }
}
