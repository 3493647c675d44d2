/**
 * The fixture's own capacitance at each clip, from how it falls through the bleed when nothing hangs on it. The port's own part and
 * that of the A- common are read alone and taken off: what is left is what a ring has across it, the clip with the A+ common on it.
 * Of the fall only its rate counts, so neither a gain nor the drive's voltage does.
 */
import type { Calibration } from '../logic/calibration-page.ts';
import { BURST_RATE_Hz, CLIP_COUNT, CLIP_PATH_ohm, Survey } from '../logic/layout.generated.ts';
import type { Interview } from '../transport/interview.ts';
import { fallOf } from './falls.ts';
import { leastSquares } from './least-squares.ts';
import { inNarrowCodes, meanCode } from './wide-codes.ts';

/** The bleed is 1 %. */
const BLEED_ohm = 1e5;
const BLEED_most_off = 0.03;
/** An open clip holds no less and no more; anything else has something on it. */
const OPEN_least_F = 1.2e-10;
const OPEN_most_F = 6e-10;
/** Resistors of 1 %, and what a fall is worth beside its noise. */
const LEAST_U_F = 4e-13;

export type OpenLooks = {
  /** Volts of the converter's zero, at the reference and at the bleed. */
  readonly zero_V: number; readonly current_V: number; readonly bleed_V: number;
  /** The A- common with the port on it. */
  readonly common: DataView;
  /** Clips 1 to 6 with both A commons and the port on them. */
  readonly clips: readonly DataView[];
};

export type OpenOutcome =
  | { readonly kind: 'found'; readonly change: Pick<Calibration, 'fixture_F' | 'fixture_u_F'> }
  /** The bleed is not what it should be, or the A- common is not. */
  | { readonly kind: 'faulty' }
  /** Clips that something hangs on. */
  | { readonly kind: 'occupied'; readonly clips: readonly number[] };

/** Takes all looks. @param tell - told of each clip before it is looked at */
export async function readOpenClips(interview: Interview, tell: (clip: number) => void = () => undefined): Promise<OpenLooks> {
  const volts = async (what: number): Promise<number> => (await interview.survey(what, 1)).getFloat32(0, true);
  const zero_V = await volts(Survey.zero);
  const current_V = await volts(Survey.current);
  const bleed_V = await volts(Survey.bleed);
  const common = await interview.survey(Survey.common, 1);
  const clips: DataView[] = [];
  for (let clip = 1; clip <= CLIP_COUNT; clip++) {
    tell(clip);
    clips.push(await interview.survey(Survey.clip, clip));
  }
  return { zero_V, current_V, bleed_V, common, clips };
}

/** The capacitances that follow. @param values - of the calibration in use: reference and wide codes */
export function fixtureFrom({ zero_V, current_V, bleed_V, common, clips }: OpenLooks, values: Calibration): OpenOutcome {
  const bleed_ohm = ((bleed_V - zero_V) / (current_V - zero_V)) * values.reference_ohm;
  const alone = timeOf(common, values.wideCodes);
  if (alone === null || !(Math.abs(bleed_ohm / BLEED_ohm - 1) < BLEED_most_off)) return { kind: 'faulty' };
  const common_F = alone.time_s / bleed_ohm;
  const found = clips.map((survey) => {
    const fall = timeOf(survey, values.wideCodes);
    if (fall === null) return null;
    const charged_F = fall.time_s / bleed_ohm;
    // What lies behind the clip's resistors takes a little longer; before them lie the A- common with the port, and A+, half as much.
    const behind = Math.max(0, 1 - (1.5 * common_F) / charged_F);
    const farad = charged_F * (1 - (CLIP_PATH_ohm / bleed_ohm) * behind * behind) - common_F;
    return { farad, u: Math.hypot(fall.u_s, alone.u_s, 1e-4 * fall.time_s) / bleed_ohm };
  });
  const occupied = found.flatMap((one, i) => (one === null || !(one.farad > OPEN_least_F && one.farad < OPEN_most_F) ? [i + 1] : []));
  if (occupied.length > 0) return { kind: 'occupied', clips: occupied };
  return {
    kind: 'found',
    change: { fixture_F: found.map((one) => one!.farad), fixture_u_F: Math.max(LEAST_U_F, ...found.map((one) => one!.u)) },
  };
}

/** Time constant of a fall, seconds, and its standard uncertainty; null when it is none. */
function timeOf(survey: DataView, wideCodes: readonly number[]): { time_s: number; u_s: number } | null {
  const fall = fallOf(survey);
  if (fall === null) return null;
  const [, , near, far] = inNarrowCodes(wideCodes) as [number, number, number, number];
  const { codes } = fall;
  const begin = codes[0]!;
  const half = codes.findIndex((code) => code < begin / 2);
  if (begin < 500 || half < 1) return null;
  const model = ([height, rate, rest]: readonly number[], n: number): number => meanCode(rest! + height! * Math.exp(-n * rate!), near, far);
  const fit = leastSquares([begin, Math.LN2 / half, 0], [begin, Math.LN2 / half, 10], model, codes);
  if (fit === null || !(fit.parameters[1]! > 0) || fit.rms > 3) return null;
  const time_s = 1 / (fit.parameters[1]! * BURST_RATE_Hz);
  return { time_s, u_s: (fit.u[1]! / fit.parameters[1]!) * time_s };
}
