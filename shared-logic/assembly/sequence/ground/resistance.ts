/** Volts of both polarities to ohms, and what a reading may be relied on for. */
import { RANGES } from '../../layout';

/** Largest voltage that warm joints of unlike metals leave at a clip: copper on its oxide, 1 mV/K (physics.md 1), 20 K. */
const THERMAL_most_V: f32 = 0.02;
/** A reading of the reference further than this share from what the current source promises is no reading. */
export const REFERENCE_tolerance: f32 = 0.1;
/** The smallest current, and how long it takes to settle: 10 nF charge through up to 230 kilohm. */
export const LEAST_nA: u32 = 10000;
export const LEAST_settle_us: u32 = 25000;
/** Range of the first, quick reading: 50 uA reaches 36 kilohm, more than nearly all coils. */
export const QUICK_RANGE: u32 = 2;
/** Above this the port may be in its clamps and the current no longer true, volts. */
export const PORT_LIMIT_V: f32 = 2.02;
/** Return resistor of the leak path, ohms. */
export const LEAK_RETURN_ohm: f32 = 1e6;
/** Resistors of the leak path besides: drive 1k0, each clip's 1k0 + 220 twice, ohms. */
const LEAK_SERIES_ohm: f32 = 3440;
/** Noise of one precise conversion and of the reference's two, volts. */
const NOISE_V: f32 = 1.5e-6;
/** Linearity, settling and leakage, relative (20 ppm of 8 kilohm is 0.16 ohm). */
const LINEARITY: f32 = 2e-5;
/** Thermal voltages left after the reversal and contact of the clip, ohms. */
const CONTACT_ohm: f32 = 0.02;

/** Current of a range, nanoamperes. @param range - 0 to 3 */
export function rangeCurrent_nA(range: u32): u32 {
  assert(range < RANGES);
  return range == 0 ? 250000 : range == 1 ? 100000 : range == 2 ? 50000 : LEAST_nA;
}

/** Largest resistance that a range reads with protectors and reference in series, ohms. @param range - 0 to 3 */
export function rangeLimit_ohm(range: u32): f32 {
  assert(range < RANGES);
  return range == 0 ? 3700 : range == 1 ? 16000 : range == 2 ? 36000 : 200000;
}

/** The range with the largest current that still reads this resistance. @param ohm - from the quick reading @returns 0 to 3, or 4 when none does */
export function rangeFor(ohm: f32): u32 {
  for (let range: u32 = 0; range < RANGES; range++) {
    if (ohm < rangeLimit_ohm(range) * <f32>0.97) return range;
  }
  return RANGES;
}

/**
 * How long a drive settles before it is read, microseconds. A snubbed coil comes within 1e-5 in 9.3 ms at the slowest (10 H,
 * 2.5 kilohm: 11.5 time constants of 0.81 ms); what is left is averaged over the conversion, which at 56.5 ms takes another
 * four off, and a quick one is only relied on to 1 %.
 */
export function settle_us(range: u32): u32 { return range == 3 ? LEAST_settle_us : 6000; }

/**
 * Standard uncertainty of a reading against the others of the record, ohms.
 * @param ohm - the reading @param current_A - drive @param reference_V - volts read at the reference resistor
 * @param leads_u_ohm - of the two leads that were taken off
 */
export function readingUncertainty_ohm(ohm: f32, current_A: f32, reference_V: f32, leads_u_ohm: f32): f32 {
  const noise = NOISE_V / current_A;
  const scale = NOISE_V * <f32>1.4142135 / abs<f32>(reference_V) * ohm;
  const shape = LINEARITY * ohm;
  const contact = max<f32>(CONTACT_ohm, leads_u_ohm);
  return sqrt<f32>(noise * noise + scale * scale + shape * shape + contact * contact);
}

/** Whether the two polarities of one reading contradict each other: contact lost in the middle. Volts, offset taken out. */
export function polaritiesDisagree(forward_V: f32, reverse_V: f32): bool {
  const span = (forward_V - reverse_V) * <f32>0.5;
  return span < 0 || abs<f32>(forward_V + reverse_V) > <f32>1e-4 + <f32>5e-4 * span;
}

/**
 * Whether both polarities came again as they were before and differ by a thermal voltage only: above THERMAL_most_V the
 * guard would call it live.
 */
export function isWarmJoint(forward_V: f32, reverse_V: f32, beforeForward_V: f32, beforeReverse_V: f32): bool {
  const span = forward_V - reverse_V;
  const moved = abs<f32>(forward_V - beforeForward_V) + abs<f32>(reverse_V - beforeReverse_V);
  return span > 0 && abs<f32>(forward_V + reverse_V) < 2 * THERMAL_most_V && moved < <f32>1e-4 + <f32>1e-4 * span;
}

/** Whether two readings agree within a margin. */
export function agrees(ohm: f32, before_ohm: f32, margin_ohm: f32): bool { return abs<f32>(ohm - before_ohm) <= margin_ohm; }

/** What a quick conversion may be off: hum, and 1 % of its own. @param hum_V - peak of the hum seen */
export function quickMargin_ohm(ohm: f32, current_A: f32, hum_V: f32): f32 {
  return <f32>0.01 * ohm + 5 + (<f32>2 * hum_V + <f32>5e-4) / current_A;
}

/**
 * Resistance of a path from the voltage it leaves at the leak return.
 * @param whole_V - volts with the two clips joined @param return_V - volts through the path, above 0
 * @returns ohms, 0 or more
 */
export function leak_ohm(whole_V: f32, return_V: f32): f32 {
  const ohm = (LEAK_RETURN_ohm + LEAK_SERIES_ohm) * (whole_V / return_V - 1);
  return ohm > 0 ? ohm : 0;
}
