/**
 * Step response to henry and ohms of loss, and what a step leaves in another coil to mutual inductance.
 *
 * The current i is read at the reference resistor after a voltage step V through R_tot, which holds the coil's own
 * resistance. Flux: integral of (V - R_tot i) dt = L i_end - R C v_end, so L = R_tot * integral(1 - i/i_end) dt + R^2 C.
 * No exponential is fitted, so eddy loss does not bias L. Loss: at t = 0+ only R_E carries current, i0 = V/(R_tot + R_E).
 * Both steps of a pair come a whole number of 50 and 60 Hz periods apart, so that hum, harmonics, offset and bias
 * are equal in both and drop out of their difference.
 */
import { BURST_RATE_Hz, OVERRANGE, SAMPLE_V, StepWork } from './layout';

/** Samples of one step: 15 ms, ten time constants of 10 H in 2.5 kilohm. */
export const STEP_SAMPLES: u32 = 1920;
/** Samples before the step. */
export const STEP_LEAD: u32 = 60;
/** Samples at the end that give the final current: 2 ms. */
export const STEP_TAIL: u32 = 240;
/** Resistors of the step path besides coil and reference: drive 1k0, each clip's 1k0 + 220 twice, four switches. */
export const STEP_SERIES_ohm: f32 = 3450;
/** Time from the step to the first sample after it, in samples. */
export const STEP_SKEW: f32 = 0.5;
/** Samples after the step that clip and lead capacitances take. */
const SKIP: u32 = 2;
/** Winding and lead capacitance when it is not known: 150 pF, known to 100 pF. */
const CAPACITANCE_F: f32 = 1.5e-10;
const CAPACITANCE_u_F: f32 = 1e-10;
/** Relative uncertainty of L and M: cores depend on level and frequency (quote 2 % or more). */
const CORE_u: f32 = 0.02;
/** Uncertainty of i0/i_end: steps of the 12-bit converter and its noise over the two windows. */
const START_u: f32 = 0.006;
const LOST: u32 = 1 << 31;

const BURST_PERIOD_s: f32 = 1 / <f32>BURST_RATE_Hz;

/** Sum of samples, 2^-20 V units; marks the step as lost when one is over range. */
function sumOf(work: StepWork, samples: u32, from: u32, to: u32): i64 {
  let sum: i64 = 0;
  for (let i = from; i < to; i++) {
    const sample = load<i32>(samples + i * 4);
    if (sample == OVERRANGE) {
      work.window |= LOST;
      return 0;
    }
    sum += sample;
  }
  return sum;
}

/** Forgets both polarities. */
export function stepBegin(work: StepWork): void {
  work.window = 0;
  work.end_V = 0;
  work.sum_V = 0;
  work.first_V = 0;
  work.second_V = 0;
}

/** Marks that a polarity could not be captured. */
export function stepLost(work: StepWork): void { work.window |= LOST; }

/** Whether both polarities came whole. */
export function stepWhole(work: StepWork): bool { return (work.window & LOST) == 0; }

/**
 * Adds the burst of one polarity: half of it, so that two give half the difference.
 * @param samples - address of channel B, STEP_SAMPLES long, the step at STEP_LEAD
 * @param sign - +1 for the positive step, -1 for the negative one
 * @param current - whether the channel lay on the reference: then the windows of the loss are taken too
 */
export function stepAdd(work: StepWork, samples: u32, sign: f32, current: bool): void {
  const half: f32 = sign * <f32>0.5 * SAMPLE_V;
  const tail = sumOf(work, samples, STEP_SAMPLES - STEP_TAIL, STEP_SAMPLES);
  const sum = sumOf(work, samples, STEP_LEAD, STEP_SAMPLES);
  work.end_V += <f32>tail / <f32>STEP_TAIL * half;
  // The first sample counts as half a step wide from the trapezoid rule; what lies before it is added by its own skew.
  const first = load<i32>(samples + STEP_LEAD * 4);
  work.sum_V += (<f32>sum + (STEP_SKEW - <f32>0.5) * <f32>first) * half;
  if (!current) return;
  if ((work.window & ~LOST) == 0) {
    const steps = <f32>(STEP_SAMPLES - STEP_LEAD) - <f32>sum / (<f32>tail / <f32>STEP_TAIL);
    work.window |= steps > 0 ? max<u32>(min<u32>(<u32>(<f32>0.7 * steps), 400), 8) : 8;
  }
  const width = work.window & ~LOST;
  const from = STEP_LEAD + SKIP;
  work.first_V += <f32>sumOf(work, samples, from, from + width) * half;
  work.second_V += <f32>sumOf(work, samples, from + width, from + 2 * width) * half;
}

/** What `stepInductance` found. */
export let henry_H: f32 = 0;
export let henry_u_H: f32 = 0;
export let loss_ohm: f32 = 0;
/** 0 when the loss could not be told. */
export let loss_u_ohm: f32 = 0;

/**
 * Inductance and loss of the driven coil.
 * @param work - both polarities, channel B on the reference
 * @param coil_ohm - its resistance @param reference_ohm - the reference resistor @param hum_V - peak of the hum seen
 * @returns false when the step did not rise as a coil's current does
 */
export function stepInductance(work: StepWork, coil_ohm: f32, reference_ohm: f32, hum_V: f32): bool {
  const end = work.end_V;
  if (!stepWhole(work) || end < <f32>0.01) return false;
  const total_ohm = coil_ohm + reference_ohm + STEP_SERIES_ohm;
  const width = <f32>(STEP_SAMPLES - STEP_LEAD) + STEP_SKEW - <f32>0.5;
  const flux_s = (width - work.sum_V / end) * BURST_PERIOD_s;
  henry_H = flux_s * total_ohm + coil_ohm * coil_ohm * CAPACITANCE_F;
  if (henry_H <= 0) return false;
  const capacitance = coil_ohm * coil_ohm * CAPACITANCE_u_F;
  const hum = hum_V * <f32>1e-4 * reference_ohm / end;
  const timing = total_ohm * BURST_PERIOD_s * <f32>0.1;
  henry_u_H = sqrt<f32>(
    henry_H * henry_H * CORE_u * CORE_u + capacitance * capacitance + hum * hum + timing * timing);
  stepLoss(work, total_ohm);
  return true;
}

/** Eddy loss from the two windows: their ratio is the decay, the first gives what is missing at t = 0+. */
function stepLoss(work: StepWork, total_ohm: f32): void {
  loss_ohm = 0;
  loss_u_ohm = 0;
  const width = work.window & ~LOST;
  const first = <f32>width - work.first_V / work.end_V;
  const second = <f32>width - work.second_V / work.end_V;
  if (first <= 0 || second <= 0 || second >= first) return;
  const ratio = second / first;
  const perSample = Mathf.pow(ratio, 1 / <f32>width);
  const atSkip = first * (1 - perSample) / (1 - ratio);
  const atStep = atSkip * Mathf.pow(perSample, -(<f32>SKIP + STEP_SKEW));
  const start = max<f32>(1 - atStep, <f32>0.002);
  if (start > <f32>0.9) return;
  loss_ohm = total_ohm * (1 / start - 1);
  loss_u_ohm = total_ohm * START_u / (start * start);
}

/** What `stepMutual` found. */
export let mutual_H: f32 = 0;
export let mutual_u_H: f32 = 0;

/**
 * Mutual inductance: plus of the sensed pair against its minus, current entering the driven pair at its plus.
 * @param drive - the driven coil's own step @param sense - the same step with channel B on the other coil
 * @param reference_ohm - the reference resistor @param hum_V - peak of the hum seen
 * @returns false when the other pair carries part of the current itself, or a polarity was lost
 */
export function stepMutual(drive: StepWork, sense: StepWork, reference_ohm: f32, hum_V: f32): bool {
  if (!stepWhole(drive) || !stepWhole(sense) || drive.end_V < <f32>0.01) return false;
  const end_A = drive.end_V / reference_ohm;
  if (abs<f32>(sense.end_V) > <f32>0.004) return false;
  const flux_Wb = (sense.sum_V - sense.end_V * <f32>(STEP_SAMPLES - STEP_LEAD)) * BURST_PERIOD_s;
  mutual_H = flux_Wb / end_A;
  const noise = (<f32>5e-7 + hum_V * <f32>1e-4) / end_A;
  mutual_u_H = sqrt<f32>(mutual_H * mutual_H * CORE_u * CORE_u + noise * noise);
  return true;
}
