/**
 * The board looks at itself: rails, temperature, converter's zero, open input of the leak path, reference at each current, and the
 * fixture's own capacitance at every clip that nothing hangs on.
 */
import { Answer, CLIP_COUNT, Check, Input, Light, RANGES, Rate, Step } from '../../layout';
import { board } from '../../blocks';
import { checkEntry, failureEntry } from '../ground/log';
import {
  DRV_CURRENT, DRV_PLUS, DRV_ZERO, RET_MEGOHM, RET_REFERENCE, SENSE_REFERENCE, SENSE_RETURN, drivePort,
} from '../ground/matrix';
import { convertOperation, emptiedOperation, inputOperation } from '../ground/operation';
import { rangeCurrent_nA, settle_us } from '../ground/resistance';
import { setStep, showLight } from '../ground/status';
import { boardTemperature_C } from '../ground/temperature';
import { Outcome, Turn } from '../ground/turn';
import { beginOpen, openCaptured, openDone, openFound } from './open-clip';

/** The looks, in order; the last ones are the current ranges. */
enum Look { railPositive, railNegative, temperature, zero, open, reference }

/** Rails of +-2.5 V come to the converter halved. */
const RAIL_V: f32 = 1.25;
const RAIL_tolerance: f32 = 0.05;
/** A bench indoors. */
const TEMPERATURE_C: f32 = 25;
const TEMPERATURE_tolerance: f32 = 35;
const ZERO_V: f32 = 2e-4;
/** 100 megohm at 1.8 V leave 18 mV at the return: the board's own leak stays below a quarter of it. */
const OPEN_V: f32 = 0.0045;
/** Current sources are good to 6 % each, and against each other (looked at as ratios to the largest) to 2 %. */
const CURRENT_tolerance: f32 = 0.06;
const RATIO_tolerance: f32 = 0.02;
const LOOP_CLIP: u32 = 1;
/** A clip with a metre of lead and the commons, within half of it: longer and shorter leads are no fault. */
const FIXTURE_F: f32 = 2.75e-10;
const FIXTURE_tolerance: f32 = 1.5e-10;

let look: u32 = 0;
let zero_V: f32 = 0;
let largest_V: f32 = 0;
/** The smallest current as read, amperes; 0 once the bleed was read with it. */
let smallest_A: f32 = 0;
let passed: bool = true;

/** Starts; answers come as notes. */
export function beginLooks(): void {
  passed = true;
  look = Look.railPositive;
  setStep(Step.reference);
  showLight(Light.busy);
  next();
}

function next(): void {
  switch (look) {
    case Look.railPositive: inputOperation(Input.railPositive, Rate.quick); break;
    case Look.railNegative: inputOperation(Input.railNegative, Rate.quick); break;
    case Look.temperature: inputOperation(Input.boardTemperature, Rate.quick); break;
    case Look.zero: convertOperation(0, 0, SENSE_REFERENCE | RET_REFERENCE, 0, 1000, Rate.precise); break;
    case Look.open: {
      emptiedOperation(0, 0, DRV_ZERO | RET_MEGOHM, SENSE_RETURN | DRV_PLUS | RET_MEGOHM, 50000, Rate.precise);
      break;
    }
    default: {
      const range = look - <u32>Look.reference;
      if (range >= RANGES) {
        beginOpen(range - RANGES + 1, smallest_A);
        smallest_A = 0;
        return;
      }
      convertOperation(0, 0, drivePort(LOOP_CLIP, LOOP_CLIP) | SENSE_REFERENCE | DRV_CURRENT | RET_REFERENCE,
        rangeCurrent_nA(range), settle_us(range), Rate.precise);
    }
  }
}

function check(what: u32, measured: f32, expected: f32, tolerance: f32): void {
  const good = abs<f32>(measured - expected) <= tolerance;
  if (!good) passed = false;
  checkEntry(good, what, measured, expected);
}

/** An operation of this part has ended. @param outcome - `Outcome` @returns `Turn`; `amiss` when a check did not pass */
export function selfTestEnded(outcome: u32, answer: Answer): u32 {
  if (outcome == Outcome.captured) {
    openCaptured();
    return Turn.waits;
  }
  if (outcome != Outcome.done) {
    failureEntry(outcome);
    return Turn.amiss;
  }
  const volt_V = answer.volt_V;
  switch (look) {
    case Look.railPositive: check(Check.railPositive, volt_V, RAIL_V, RAIL_V * RAIL_tolerance); break;
    case Look.railNegative: check(Check.railNegative, volt_V, -RAIL_V, RAIL_V * RAIL_tolerance); break;
    case Look.temperature: check(Check.temperature, boardTemperature_C(volt_V), TEMPERATURE_C, TEMPERATURE_tolerance); break;
    case Look.zero: {
      zero_V = volt_V;
      check(Check.converterZero, volt_V, 0, ZERO_V);
      break;
    }
    case Look.open: check(Check.openInput, volt_V, 0, OPEN_V); break;
    default: {
      const range = look - <u32>Look.reference;
      if (range < RANGES) checkReference(range, volt_V - zero_V);
      else if (openDone(answer)) checkFixture();
      else return Turn.waits;
    }
  }
  look++;
  if (look >= <u32>Look.reference + RANGES + CLIP_COUNT) return passed ? Turn.done : Turn.amiss;
  next();
  return Turn.waits;
}

/** A clip that a lead hangs on tells nothing of the fixture, and is no fault. */
function checkFixture(): void {
  const farad = openFound();
  if (farad > 0) check(Check.fixture, farad, FIXTURE_F, FIXTURE_tolerance);
}

function checkReference(range: u32, value_V: f32): void {
  const current_A = <f32>rangeCurrent_nA(range) * <f32>1e-9;
  if (range == 0) {
    largest_V = value_V;
    const nominal_V = board().reference_ohm * current_A;
    check(Check.reference, value_V, nominal_V, nominal_V * CURRENT_tolerance);
  } else {
    const expected_V = largest_V * current_A / (<f32>rangeCurrent_nA(0) * <f32>1e-9);
    check(Check.reference, value_V, expected_V, expected_V * RATIO_tolerance);
    if (range == RANGES - 1) smallest_A = value_V / board().reference_ohm;
  }
}
