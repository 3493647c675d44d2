/**
 * The tester's own capacitance at a clip: an open clip at 0 V against 1.8 V leaks down through a known resistor, so what is read
 * rises as V (1 - exp(-t/RC)). And what of it, and of the wires beside it, lies across a coil.
 */
import { calibration } from '../blocks';
import { BURST_RATE_Hz, CALIBRATION, CLIP_COUNT, CLIP_PATH_ohm, Calibration, LogEntry, RingWork } from '../layout';
import { logarithm } from '../waves';
import { FIXTURE_LEAD, FIXTURE_SAMPLES } from './sizes';
import { sampleAt, sumScale } from './points';

/** From memory of data sheets, for a tester that has not looked at itself: a clip with a metre of screened lead, a common with the
 * drains on it, and one wire to the next. */
export const CLIP_F: f32 = 1.39e-10;
export const COMMON_F: f32 = 9.5e-11;
const WIRE_F: f32 = 2e-11;
/** Leads differ in length, commons in their tracks: before and after the look. */
const NOMINAL_u_F: f32 = 1.5e-11;
const LIKE_u_F: f32 = 6e-12;
const READ_u_F: f32 = 4e-12;
/** Of `COMMON_F`, where it is taken off: from memory of data sheets, as it is. */
const COMMON_u_F: f32 = 5e-12;
/** Samples that count lie between these shares of the whole. */
const FROM: f32 = 0.1;
const TO: f32 = 0.78;
const LEAST: u32 = 3;
/** An open clip holds no less and no more than this; anything else has something on it. */
export const OPEN_least_F: f32 = 1.2e-10;
export const OPEN_most_F: f32 = 6e-10;
/** Points of the line stray less than this, or it is no resistor and capacitor. */
const STRAIGHT: f32 = 0.02;

/**
 * Capacitance that discharges, from its bursts added up.
 * @param sums - as `ringAdd` left them @param bleed_ohm - that it leaks through @param full_V - that it starts from
 * @returns farads, or 0 when it is no plain capacitor
 */
export function openCapacitance(work: RingWork, sums: u32, bleed_ohm: f32, full_V: f32): f32 {
  if (work.bursts == 0 || <u32>work.clearFrom > 0 && <u32>work.clearFrom < FIXTURE_LEAD) return 0;
  const scale = sumScale(work);
  let n: f32 = 0;
  let sumK: f32 = 0;
  let sumY: f32 = 0;
  let sumKK: f32 = 0;
  let sumKY: f32 = 0;
  let sumYY: f32 = 0;
  for (let k = FIXTURE_LEAD + 1; k < FIXTURE_SAMPLES; k++) {
    const volts = sampleAt(sums, k, scale);
    if (volts < FROM * full_V) continue;
    if (volts > TO * full_V) break;
    const at = <f32>(k - FIXTURE_LEAD);
    const y = logarithm(1 - volts / full_V);
    n++;
    sumK += at;
    sumY += y;
    sumKK += at * at;
    sumKY += at * y;
    sumYY += y * y;
  }
  if (n < <f32>LEAST) return 0;
  const kk = sumKK - sumK * sumK / n;
  const slope = (sumKY - sumK * sumY / n) / kk;
  const rest = sumYY - sumY * sumY / n - slope * slope * kk;
  if (!(slope < 0) || rest > n * STRAIGHT * STRAIGHT) return 0;
  const time_s: f32 = -1 / (slope * <f32>BURST_RATE_Hz);
  const charged_F = time_s / bleed_ohm;
  // What lies before the clip's resistors takes a little longer.
  const before = max<f32>(1 - COMMON_F / charged_F, 0);
  return charged_F * (1 - CLIP_PATH_ohm / bleed_ohm * before * before);
}

/** Farads that were read at each open clip with its neighbours at 0 V, 0 = not read; kept until the power goes. */
const OPEN: u32 = <u32>memory.data(6 * 4);

/** As after power-on. */
export function forgetFixture(): void { memory.fill(OPEN, 0, 6 * 4); }

/** Keeps what was read. @param clip - 1 to 6 */
export function keepOpen(clip: u32, farad: f32): void { store<f32>(OPEN + (clip - 1) * 4, farad); }

function wiresOf(clip: u32): f32 { return clip == 1 || clip == CLIP_COUNT ? WIRE_F : 2 * WIRE_F; }

/** What the calibration has of an open clip with the wires beside it at 0 V, farads; 0 when it has nothing. */
function calibrated_F(clip: u32): f32 {
  return load<f32>(CALIBRATION + offsetof<Calibration>("fixture1_F") + (clip - 1) * sizeof<f32>());
}

/** A clip alone to 0 V with the common on it, as calibrated, as read, as its likes were read, or as it is drawn. */
function ownOf(clip: u32): f32 {
  const stored = calibrated_F(clip);
  if (stored > 0) return stored - wiresOf(clip);
  const read = load<f32>(OPEN + (clip - 1) * 4);
  if (read > 0) return read - wiresOf(clip);
  let sum: f32 = 0;
  let count: f32 = 0;
  for (let other: u32 = 1; other <= CLIP_COUNT; other++) {
    const theirs = load<f32>(OPEN + (other - 1) * 4);
    if (theirs <= 0) continue;
    sum += theirs - wiresOf(other);
    count++;
  }
  return count > 0 ? sum / count : CLIP_F + COMMON_F;
}

/** Whether the clips were calibrated, or an open one was read since the power came. */
export function isFixtureKnown(): bool {
  if (calibrated_F(1) > 0) return true;
  for (let clip: u32 = 0; clip < CLIP_COUNT; clip++) if (load<f32>(OPEN + clip * 4) > 0) return true;
  return false;
}

/** Whether a clip's bit is set. @param clip - 1 to 6 */
@inline function holds(mask: u32, clip: u32): bool { return (mask >> (clip - 1) & 1) != 0; }

function uncertaintyOf(clip: u32): f32 {
  if (calibrated_F(clip) > 0) return calibration().fixture_u_F;
  return load<f32>(OPEN + (clip - 1) * 4) > 0 ? READ_u_F : isFixtureKnown() ? LIKE_u_F : NOMINAL_u_F;
}

/**
 * The fixture's capacitance across a coil, and its uncertainty: clips of one tester are off alike, so theirs are added.
 * @param told - takes both in v2 and v3
 * @param plus - the clip that the common is on, 1 to 6 @param moving - it and all clips joined with it, bit per clip index
 * @param still - clips at 0 V; a wire that floats beside a moving one takes part through its own
 */
export function tellFixture(told: LogEntry, plus: u32, moving: u32, still: u32): void {
  let farad: f32 = 0;
  let u: f32 = 0;
  for (let clip: u32 = 1; clip <= CLIP_COUNT; clip++) {
    if (holds(moving, clip)) {
      farad += ownOf(clip);
      u += uncertaintyOf(clip);
      if (clip == plus) continue;
      // A clip was read with the common on it, which is there once.
      farad -= COMMON_F;
      u += COMMON_u_F;
    } else {
      // Of the clips on either side of this one those that move.
      const wires = WIRE_F * <f32>popcnt<u32>(moving & (5 << (clip - 1) >> 1));
      farad += holds(still, clip) ? wires : wires * CLIP_F / (wires + CLIP_F);
    }
  }
  told.v2 = farad;
  told.v3 = u;
}
