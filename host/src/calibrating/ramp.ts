/**
 * The widths of the ADC's wide codes, from a slow ramp through all of them: 10 nF that leak through a megohm, from either drive. The
 * fall is that of a resistor and a capacitor, so each wide code shows as a step against it.
 */
import type { Calibration } from '../logic/calibration-page.ts';
import { Survey } from '../logic/layout.generated.ts';
import type { Interview } from '../transport/interview.ts';
import { fallOf } from './falls.ts';
import { leastSquares, type Fit } from './least-squares.ts';
import { inMeanCodes, meanCode, WIDE_PLACES } from './wide-codes.ts';

/** Any clip does. */
export const RAMP_CLIP = 1;
/** 10 nF and a megohm, in samples of 120 kS/s. */
const TIME_samples = 1200;
const WIDE_guess = 9;
/** Beyond these a code is not what the erratum tells of. */
const WIDE_least = 0;
const WIDE_most = 30;
/** Where the fall must begin and end, in codes, to lie on both sides of both. */
const BEGIN_least = WIDE_PLACES[3] + 100;
const END_most = WIDE_PLACES[2] - 100;
/** What the fit may leave of means of 64 samples, in codes. */
const RMS_most = 0.5;
const U_most = 0.1;

export type RampOutcome =
  | { readonly kind: 'found'; readonly change: Pick<Calibration, 'wideCodes'>; readonly u: number }
  /** The ramp does not go through all wide codes. */
  | { readonly kind: 'noRamp' }
  /** It does, and no widths fit it. */
  | { readonly kind: 'misfit' };

/** Takes both ramps. */
export async function readRamps(interview: Interview): Promise<readonly [down: DataView, up: DataView]> {
  return [await interview.survey(Survey.rampDown, RAMP_CLIP), await interview.survey(Survey.rampUp, RAMP_CLIP)];
}

/** The widths that follow from both ramps. */
export function widthsFrom([down, up]: readonly [DataView, DataView]): RampOutcome {
  const positive = fitOf(down, 1);
  const negative = fitOf(up, -1);
  if (positive === 'noRamp' || negative === 'noRamp') return { kind: 'noRamp' };
  if (positive === null || negative === null) return { kind: 'misfit' };
  const [, , , , nearUp, farUp] = positive.parameters as [number, number, number, number, number, number];
  const [, , , , nearDown, farDown] = negative.parameters as [number, number, number, number, number, number];
  const extras = [farDown, nearDown, nearUp, farUp];
  const u = Math.max(...positive.u.slice(4), ...negative.u.slice(4));
  const inRange = extras.every((extra) => extra > WIDE_least && extra < WIDE_most);
  const isSound = inRange && u < U_most && Math.max(positive.rms, negative.rms) < RMS_most;
  return isSound ? { kind: 'found', change: { wideCodes: inMeanCodes(extras) }, u } : { kind: 'misfit' };
}

/** Height, time constant, rest, bend of the fall, and the two widths. */
function fitOf(survey: DataView, sign: 1 | -1): Fit | null | 'noRamp' {
  const fall = fallOf(survey);
  if (fall === null) return 'noRamp';
  const codes = fall.codes.map((code) => sign * code);
  const begin = codes[0]!;
  if (begin < BEGIN_least || codes[codes.length - 1]! > END_most) return 'noRamp';
  const model = ([height, time, rest, sag, near, far]: readonly number[], n: number): number => {
    const share = n / time!;
    return meanCode(rest! + height! * Math.exp(-share) * (1 + sag! * share * share), near!, far!);
  };
  const start = [begin + 2 * WIDE_guess, TIME_samples, 0, 0, WIDE_guess, WIDE_guess];
  return leastSquares(start, [begin, TIME_samples, 10, 0.01, 1, 1], model, codes);
}
