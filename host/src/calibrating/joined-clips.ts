/**
 * The ohms of each clip's lead, with all six clips joined: between two clips lie the leads of both, so fifteen readings give six
 * ohms by least squares, and what they leave says how well the clips were joined.
 */
import type { Calibration } from '../logic/calibration-page.ts';
import { CLIP_COUNT } from '../logic/layout.generated.ts';
import { pairName, type Interview, type Resistance } from '../transport/interview.ts';
import { leastSquares } from './least-squares.ts';

const CLIPS = Array.from({ length: CLIP_COUNT }, (_, i) => i + 1);
const PAIRS = CLIPS.flatMap((low) => CLIPS.filter((high) => high > low).map((high) => [low, high] as const));
const READINGS = 4;
/** A metre or two of lead has less, and none has less than nothing. */
const LEAD_most_ohm = 2;
const LEAD_least_ohm = -0.01;
/** What the fifteen may leave, rms: more is a clip that hangs loosely. */
const SCATTER_most_ohm = 0.02;
const U_least_ohm = 0.003;

export type JoinedOutcome =
  | { readonly kind: 'found'; readonly change: Pick<Calibration, 'zero_ohm' | 'zero_u_ohm'> }
  /** Pairs that are open. */
  | { readonly kind: 'open'; readonly pairs: readonly (readonly [number, number])[] }
  /** Pair with more ohms than leads have. */
  | { readonly kind: 'notJoined'; readonly pair: readonly [number, number]; readonly ohm: number }
  /** Ohms, rms, that the readings differ from any six leads by. */
  | { readonly kind: 'scattered'; readonly scatter_ohm: number };

export type JoinedReadings = ReadonlyMap<string, Resistance | null>;

/** Reads all pairs several times. */
export async function readJoined(interview: Interview): Promise<readonly JoinedReadings[]> {
  const readings: JoinedReadings[] = [];
  for (let i = 0; i < READINGS; i++) readings.push(await interview.resistances(CLIPS, true));
  return readings;
}

/** The leads that follow from readings of all pairs. */
export function leadsFrom(readings: readonly JoinedReadings[]): JoinedOutcome {
  const of = ([low, high]: readonly [number, number]): (Resistance | null)[] => readings.map((one) => one.get(pairName(low, high)) ?? null);
  const open = PAIRS.filter((pair) => of(pair).includes(null));
  if (open.length > 0) return { kind: 'open', pairs: open };
  const means = PAIRS.map((pair) => of(pair).reduce((sum, one) => sum + one!.ohm, 0) / readings.length);
  const worst = means.indexOf(Math.max(...means));
  if (means[worst]! > 2 * LEAD_most_ohm) return { kind: 'notJoined', pair: PAIRS[worst]!, ohm: means[worst]! };
  const ones = CLIPS.map(() => 1);
  const fit = leastSquares(ones, ones, (leads, n) => leads[PAIRS[n]![0] - 1]! + leads[PAIRS[n]![1] - 1]!, means);
  if (fit === null || fit.rms > SCATTER_most_ohm || fit.parameters.some((ohm) => ohm < LEAD_least_ohm)) {
    return { kind: 'scattered', scatter_ohm: fit?.rms ?? Infinity };
  }
  return { kind: 'found', change: { zero_ohm: fit.parameters, zero_u_ohm: Math.max(U_least_ohm, Math.SQRT2 * Math.max(...fit.u)) } };
}
