/**
 * Step response to henry and ohms of loss, and what a step leaves in another coil to mutual inductance.
 *
 * The current i is read at the reference resistor after a voltage step V through R_tot, which holds the coil's own
 * resistance. Flux: integral of (V - R_tot i) dt = L i_end - R C v_end, so L = R_tot * integral(1 - i/i_end) dt + R^2 C.
 * What charges C right after the step is over before the first sample: it is missing in the sum, which is R_tot^2 C too much.
 * No exponential is fitted to the rise, so eddy loss does not bias L; only the last twentieth is continued as one.
 * i_end comes from the channel itself, or where that ends in a wide code from the 24-bit converter. Loss: at t = 0+ only R_E
 * carries current, i0 = V/(R_tot + R_E).
 * Offset and bias are equal in both signs and drop out of their difference. So do hum and its harmonics in what is sensed:
 * its two steps come a whole number of 50 and 60 Hz periods apart. In the driven coil's own current hum is a share of the drive.
 */
import { CODE_X1, CODE_X8, codeGain, codesBegin, straightened } from '../../ring/codes';
import { exponential, logarithm } from '../../waves';
import { BURST_RATE_Hz, OVERRANGE, SAMPLE_V, StepReading, StepWork } from '../../layout';

/** Samples of one step: 16 ms, ten time constants of 10 H in 2.5 kilohm. */
export const STEP_SAMPLES: u32 = 1920;
/** Samples before the step. */
export const STEP_LEAD: u32 = 60;
/** Samples at the end: 2 ms. */
const TAIL: u32 = 240;
const RISE: u32 = STEP_SAMPLES - STEP_LEAD;
/** Resistors of the step path besides coil and reference: drive 1k0, each clip's 1k0 + 220 twice, four switches. */
export const STEP_SERIES_ohm: f32 = 3450;
/** Samples after the step that clip and lead capacitances take. */
const SKIP: u32 = 2;
/** Channel B is sampled this much of a sample after its start: the x8 input, and how much earlier the x1 input. */
const SKEW_X8: f32 = 0.75;
const SKEW_X1_earlier: f32 = 0.5;
/** Largest sample that the x8 input gives, 2^-20 V. */
const X8_MOST: i32 = 187392;
/** Width of the window for loss and tail, as a share of the time constant; the flux is summed over ten of them. */
const WINDOW: f32 = 0.3;
const WINDOWS: u32 = 10;
const WINDOW_most: u32 = 160;
const WINDOW_least: u32 = 4;
/** Winding, and what of lead and switches lies behind the clips' resistors: 220 pF, known to 100 pF. */
const CAPACITANCE_F: f32 = 2.2e-10;
const CAPACITANCE_u_F: f32 = 1e-10;
/** A plain resistor may come out below 0 by as much as its capacitance is off; it is told as next to nothing. */
const NOTHING_H: f32 = 0.05;
const NO_INDUCTANCE_H: f32 = 1e-3;
/** Relative uncertainty of L and M: cores depend on level and frequency (quote 2 % or more). */
const CORE_u: f32 = 0.02;
/** Uncertainty of i0/i_end: gain of the listening channel against the converter, and its steps. */
const START_u: f32 = 0.006;
/** What both signs, at chance phases, keep of the hum's peak. */
const HUM_share: f32 = 0.5;
/** A second coil that still shows this much at the end of the step carries part of the current, volts. */
const CARRIES_V: f32 = 0.004;
const END_least_V: f32 = 0.01;
/** From one window to the next an exponential rise leaves 0.74 of what is missing; a tap's swing leaves more. */
const DECAY_most: f32 = 0.9;
/** Less than this much missing after the first two samples is a rise that was over; a slow one takes this long. */
const FAST_samples: f32 = 0.3;
const SLOW_samples: f32 = 5;
const LOST: u32 = 1 << 31;

const BURST_PERIOD_s: f32 = 1 / <f32>BURST_RATE_Hz;

/** The code that a sample of either input is in, 2^-20 V units. */
@inline function codeOf(size: i32): i32 { return size > X8_MOST ? CODE_X1 : CODE_X8; }

/** Sum of samples without their wide codes, 2^-20 V units; marks the step as lost when one is over range. */
function sumOf(work: StepWork, samples: u32, from: u32, to: u32): f32 {
  let sum: i64 = 0;
  for (let i = from; i < to; i++) {
    const sample = load<i32>(samples + i * 4);
    if (sample == OVERRANGE) {
      work.window |= LOST;
      return 0;
    }
    sum += straightened(sample, codeOf(abs<i32>(sample)));
  }
  return <f32>sum * codeGain();
}

/** Forgets both polarities. */
export function stepBegin(work: StepWork): void {
  codesBegin();
  work.window = 0;
  work.end_V = 0;
  work.sum_V = 0;
  work.first_V = 0;
  work.second_V = 0;
  work.third_V = 0;
  work.tail_V = 0;
}

/** Marks that a polarity could not be captured. */
export function stepLost(work: StepWork): void { work.window |= LOST; }

/** Whether both polarities came whole. */
export function stepWhole(work: StepWork): bool { return (work.window & LOST) == 0; }

function widthOf(work: StepWork): u32 { return work.window & ~LOST; }

/** Samples in a window, from how long the current takes to rise. */
function windowOf(work: StepWork, samples: u32): u32 {
  const tail = sumOf(work, samples, STEP_SAMPLES - TAIL, STEP_SAMPLES) / <f32>TAIL;
  const rise = <f32>RISE - sumOf(work, samples, STEP_LEAD, STEP_SAMPLES) / tail;
  return rise > 0 && rise < <f32>RISE ? max<u32>(min<u32>(<u32>(WINDOW * rise), WINDOW_most), WINDOW_least) : WINDOW_least;
}

/**
 * Adds the current of one polarity: half of it, so that two give half the difference.
 * @param samples - address of channel B on the reference, STEP_SAMPLES long, the step at STEP_LEAD
 * @param end_V - the converter's reading of the same port at the end of the step
 * @param sign - +1 for the positive step, -1 for the negative one
 */
export function stepAddCurrent(work: StepWork, samples: u32, end_V: f32, sign: f32): void {
  const half: f32 = sign * <f32>0.5 * SAMPLE_V;
  if (widthOf(work) == 0) work.window |= windowOf(work, samples);
  const width = widthOf(work);
  const from = STEP_LEAD + SKIP;
  const cut = STEP_LEAD + WINDOWS * width;
  work.end_V += end_V * sign * <f32>0.5;
  work.tail_V += sumOf(work, samples, STEP_SAMPLES - TAIL, STEP_SAMPLES) / <f32>TAIL * half;
  work.sum_V += sumOf(work, samples, STEP_LEAD, cut) * half;
  work.first_V += sumOf(work, samples, from, from + width) * half;
  work.second_V += sumOf(work, samples, from + width, from + 2 * width) * half;
  work.third_V += sumOf(work, samples, cut, cut + width) * half;
}

/**
 * Adds what one polarity leaves in another coil.
 * @param drive - the same step's current, both polarities or one: gives how long the sum is worth taking
 * @param samples - address of channel B on the other coil @param sign - as in `stepAddCurrent`
 */
export function stepAddSense(work: StepWork, drive: StepWork, samples: u32, sign: f32): void {
  const half: f32 = sign * <f32>0.5 * SAMPLE_V;
  const length = min<u32>(4 * WINDOWS * max<u32>(widthOf(drive), WINDOW_least), RISE);
  work.end_V += sumOf(work, samples, STEP_SAMPLES - TAIL, STEP_SAMPLES) / <f32>TAIL * half;
  work.sum_V += sumOf(work, samples, STEP_LEAD, STEP_LEAD + length) * half;
  // Mean difference of neighbours is 1.128 times the deviation of white noise, whatever hum does.
  let differences: i64 = 0;
  for (let i = STEP_SAMPLES - TAIL; i < STEP_SAMPLES - 1; i++) {
    differences += abs<i32>(load<i32>(samples + i * 4 + 4) - load<i32>(samples + i * 4));
  }
  work.first_V += <f32>differences / (<f32>(TAIL - 1) * <f32>1.128) * <f32>0.5 * SAMPLE_V;
  work.second_V = <f32>length;
}

/** Whether a voltage lies in one of the wide codes, or close to it. */
function inWideCode(volts: f32): bool {
  const size = <i32>(abs<f32>(volts) / SAMPLE_V);
  const code = codeOf(size);
  return abs<i32>(size - 512 * code) < 8 * code || abs<i32>(size - 1536 * code) < 8 * code;
}

/**
 * Inductance and loss of the driven coil.
 * @param work - both polarities of its current
 * @param coil_ohm - its resistance @param reference_ohm - the reference resistor @param hum_V - peak of the hum seen
 * @param into - filled unless false is returned
 * @returns false when the step did not rise as a coil's current does
 */
export function stepInductance(work: StepWork, coil_ohm: f32, reference_ohm: f32, hum_V: f32, into: StepReading): bool {
  const end = inWideCode(work.end_V) ? work.end_V : work.tail_V;
  const width = <f32>widthOf(work);
  if (!stepWhole(work) || work.end_V < END_least_V || end < END_least_V) return false;
  // What is missing of the final current, summed over each window, in samples.
  const first = width - work.first_V / end;
  const second = width - work.second_V / end;
  const third = width - work.third_V / end;
  // A rise that is over after two samples leaves nothing to tell decay and loss from.
  const fast = first < FAST_samples;
  const ratio: f32 = fast ? <f32>0 : second / first;
  if (!fast && (second <= 0 || second > DECAY_most * first)) return false;
  const total_ohm = coil_ohm + reference_ohm + STEP_SERIES_ohm;
  // The sum is a trapezoid whose first sample lies SKEW_X8 after the step; where x1 takes over, samples come earlier.
  const most_V = <f32>X8_MOST * SAMPLE_V;
  const skew = SKEW_X8 - <f32>0.5 - (end > most_V ? SKEW_X1_earlier * (1 - most_V / end) : <f32>0);
  const rest: f32 = fast ? <f32>0 : max<f32>(third, 0) / (1 - ratio);
  const missing = <f32>WINDOWS * width - work.sum_V / end + skew + rest;
  const charged_ohm2 = coil_ohm * coil_ohm - total_ohm * total_ohm;
  let henry_H = missing * BURST_PERIOD_s * total_ohm + charged_ohm2 * CAPACITANCE_F;
  if (henry_H <= -NOTHING_H) return false;
  henry_H = max<f32>(henry_H, NO_INDUCTANCE_H);
  const capacitance = charged_ohm2 * CAPACITANCE_u_F;
  const hum = HUM_share * hum_V * <f32>WINDOWS * width * BURST_PERIOD_s * reference_ohm / end;
  const timing = total_ohm * BURST_PERIOD_s * (missing < SLOW_samples ? <f32>0.3 : <f32>0.1);
  into.value_H = henry_H;
  into.u_H = sqrt<f32>(henry_H * henry_H * CORE_u * CORE_u + capacitance * capacitance + hum * hum + timing * timing);
  into.loss_ohm = 0;
  into.u_loss_ohm = 0;
  if (missing >= SLOW_samples && !fast) {
    lossFrom(first, ratio, width, total_ohm, HUM_share * hum_V * reference_ohm / (end * total_ohm), into);
  }
  return true;
}

/** Eddy loss: the windows' ratio is the decay, the first one gives what is missing at t = 0+. @param hum - as a share of the drive */
function lossFrom(first: f32, ratio: f32, width: f32, total_ohm: f32, hum: f32, into: StepReading): void {
  const rate = logarithm(ratio) / width;
  // 1 - exp(rate) by its series: rate is small, and the difference would lose the digits that count.
  const lostPerSample = -rate * (1 + rate / 2 * (1 + rate / 3 * (1 + rate / 4)));
  const atSkip = first * lostPerSample / (1 - ratio);
  const atStep = atSkip * exponential(-(<f32>SKIP + SKEW_X8) * rate);
  const start = max<f32>(1 - atStep, <f32>0.002);
  if (start > <f32>0.9) return;
  into.loss_ohm = total_ohm * (1 / start - 1);
  into.u_loss_ohm = total_ohm * sqrt<f32>(START_u * START_u + hum * hum) / (start * start);
}

/**
 * Mutual inductance: plus of the sensed pair against its minus, current entering the driven pair at its plus.
 * @param drive - the driven coil's current @param sense - what the same steps left in the other coil
 * @param reference_ohm - the reference resistor @param hum_V - peak of the hum seen @param into - filled unless false is returned
 * @returns false when the other pair carries part of the current itself, or a polarity was lost
 */
export function stepMutual(drive: StepWork, sense: StepWork, reference_ohm: f32, hum_V: f32, into: StepReading): bool {
  if (!stepWhole(drive) || !stepWhole(sense) || drive.end_V < END_least_V) return false;
  const noise_V = sense.first_V;
  if (abs<f32>(sense.end_V) > CARRIES_V + noise_V) return false;
  const end_A = drive.end_V / reference_ohm;
  const mutual_H = sense.sum_V * BURST_PERIOD_s / end_A;
  const noise_Wb = noise_V * sqrt<f32>(sense.second_V * <f32>0.5) * BURST_PERIOD_s;
  const u = (<f32>1e-7 + noise_Wb + hum_V * <f32>1e-4) / end_A;
  into.value_H = mutual_H;
  into.u_H = sqrt<f32>(mutual_H * mutual_H * CORE_u * CORE_u + u * u);
  return true;
}
