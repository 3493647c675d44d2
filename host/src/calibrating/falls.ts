/** What a survey saw fall to 0 V, sample by sample, in codes from the middle. */
import { OVERRANGE, SURVEY_LEAD } from '../logic/layout.generated.ts';

/** One code of the x1 input in units of 2^-20 V. */
const UNITS_PER_CODE = 768;
/** The first sample after the cut may still show it. */
const SKIP = 1;
const BURSTS_least = 16;

export type Fall = {
  /** Samples after the cut of the first of them. */
  readonly first: number;
  readonly codes: readonly number[];
};

/** @returns null when too few bursts came through, or all was over range */
export function fallOf(survey: DataView): Fall | null {
  const bursts = survey.getUint32(0, true);
  if (bursts < BURSTS_least) return null;
  const count = survey.byteLength / 4 - 1;
  const sumAt = (k: number): number => survey.getInt32(4 + 4 * k, true);
  let first = SURVEY_LEAD + SKIP;
  for (let k = first; k < count; k++) if (sumAt(k) === OVERRANGE) first = k + 1;
  const codes: number[] = [];
  for (let k = first; k < count; k++) codes.push(sumAt(k) / (bursts * UNITS_PER_CODE));
  return codes.length === 0 ? null : { first: first - SURVEY_LEAD, codes };
}
