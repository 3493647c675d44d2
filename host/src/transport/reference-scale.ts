/**
 * The scale of all ohms from one resistor whose value is known: the ratio that the tester reads between it and its own reference gives
 * the reference. The tester only reads; what follows from it is worked out here.
 */
import { calibrationPage, isSoundPage, readCalibrationPage, type Calibration } from '../logic/calibration-page.ts';
import type { Interview, Resistance } from './interview.ts';

/** A resistor and how well it is known. */
export type KnownResistor = {
  /** As a four-wire meter has it. */
  readonly ohm: number;
  /** Half the width of what it may be: taken as a rectangle, u = within / sqrt 3 (JCGM 100:2008, 4.3.7). */
  readonly within_ohm: number;
};

/** The clips that it hangs on. */
export const KNOWN_CLIPS = [1, 2] as const;
/** Below and above, what a reading leaves is more than parts in 100,000 (hardware-notes/board/error-budget.md). */
export const KNOWN_least_ohm = 1000;
export const KNOWN_most_ohm = 10_000;
/** Of one reading some 11 ppm are noise: the mean of 16 has 3. */
const READINGS = 16;
/** Reference resistor as it is bought, and how far off one can be: 0.05 % as sold, as much again for soldering and years. */
const REFERENCE_ohm = 2000;
const REFERENCE_most = 0.001;
/** Five times the noise: more is a clip that moves, or a resistor that warms. */
const SCATTER_most = 55e-6;

export type ScaleOutcome =
  | {
    readonly kind: 'found'; readonly page: Uint8Array; readonly read: Resistance; readonly reference_ohm: number;
    readonly reference_u: number; readonly change: number;
  }
  | { readonly kind: 'open' }
  /** Relative standard deviation of the readings. */
  | { readonly kind: 'scattered'; readonly scatter: number }
  /** The reference would have to be this far from its nominal value, relative. */
  | { readonly kind: 'implausible'; readonly read: Resistance; readonly off: number };

/** Reads the known resistor as often as its noise asks. @returns null as soon as the path is open */
export async function readKnown(interview: Interview): Promise<readonly Resistance[] | null> {
  const readings: Resistance[] = [];
  for (let i = 0; i < READINGS; i++) {
    const reading = await interview.resistance(...KNOWN_CLIPS);
    if (reading === null) return null;
    readings.push(reading);
  }
  return readings;
}

/**
 * The calibration that follows from readings of a known resistor; all but reference, date and number stays as it was.
 * @param used - what the tester has in use, 128 bytes @param nominal - of a tester that has none
 * @param date - 20261129 is the 29th of November 2026
 */
export function scaleFrom(
  readings: readonly Resistance[] | null, known: KnownResistor, used: Uint8Array, nominal: Calibration, date: number,
): ScaleOutcome {
  if (readings === null) return { kind: 'open' };
  const before = readCalibrationPage(used);
  const values = before?.values ?? nominal;
  const mean = readings.reduce((sum, { ohm }) => sum + ohm, 0) / readings.length;
  const squares = readings.reduce((sum, { ohm }) => sum + (ohm / mean - 1) ** 2, 0);
  const scatter = Math.sqrt(squares / Math.max(1, readings.length - 1));
  const read = { ohm: mean, u_ohm: Math.max(...readings.map(({ u_ohm }) => u_ohm)) };
  const reference_ohm = values.reference_ohm * known.ohm / mean;
  const off = reference_ohm / REFERENCE_ohm - 1;
  if (Math.abs(off) > REFERENCE_most) return { kind: 'implausible', read, off };
  if (scatter > SCATTER_most) return { kind: 'scattered', scatter };
  const reference_u = Math.hypot(known.within_ohm / Math.sqrt(3), read.u_ohm) / known.ohm;
  // A serial number that the flash itself gave is not on its page, whose check then does not fit.
  const serial = before !== null && isSoundPage(used) ? before.head.serial : '';
  const page = calibrationPage({ serial, writes: (before?.head.writes ?? 0) + 1, date }, { ...values, reference_ohm, reference_u });
  return { kind: 'found', page, read, reference_ohm, reference_u, change: known.ohm / mean - 1 };
}
