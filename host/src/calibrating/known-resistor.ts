/**
 * The scale of all ohms from one resistor whose value is known: the ratio that the tester reads between it and its own reference gives
 * the reference. The tester only reads; what follows from it is worked out here.
 */
import type { Calibration } from '../logic/calibration-page.ts';
import type { Interview, Resistance } from '../transport/interview.ts';

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
    readonly kind: 'found'; readonly change: Pick<Calibration, 'reference_ohm' | 'reference_u'>; readonly read: Resistance;
    /** What the scale moves by, relative. */
    readonly moves: number;
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
 * The reference that follows from readings of a known resistor.
 * @param reference_ohm - that the readings rest on
 */
export function scaleFrom(readings: readonly Resistance[] | null, known: KnownResistor, reference_ohm: number): ScaleOutcome {
  if (readings === null) return { kind: 'open' };
  const mean = readings.reduce((sum, { ohm }) => sum + ohm, 0) / readings.length;
  const squares = readings.reduce((sum, { ohm }) => sum + (ohm / mean - 1) ** 2, 0);
  const scatter = Math.sqrt(squares / Math.max(1, readings.length - 1));
  const read = { ohm: mean, u_ohm: Math.max(...readings.map(({ u_ohm }) => u_ohm)) };
  const found_ohm = reference_ohm * known.ohm / mean;
  const off = found_ohm / REFERENCE_ohm - 1;
  if (Math.abs(off) > REFERENCE_most) return { kind: 'implausible', read, off };
  if (scatter > SCATTER_most) return { kind: 'scattered', scatter };
  const reference_u = Math.hypot(known.within_ohm / Math.sqrt(3), read.u_ohm) / known.ohm;
  return { kind: 'found', change: { reference_ohm: found_ohm, reference_u }, read, moves: known.ohm / mean - 1 };
}
