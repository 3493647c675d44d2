/** What to do to the pickups of a harness so that most settings sound, in phase and without hum (`plan/1`). */
import type { LookAlike } from '../wiremap/look-alikes.ts';
import { fittedLookAlikes } from './findings.ts';
import type { LoadedHarness } from './load-harness.ts';
import { missingOf, type Missing } from './missing.ts';
import { ALLOWANCES, type Allowance } from './options.ts';
import { COMBINATIONS_MOST, PlanSearch, type Combination, type Proposal } from './search.ts';

const PROPOSALS_MOST = 10;

export interface Plan {
  readonly format: 'plan/1';
  readonly title?: string;
  readonly proposals: readonly Proposal[];
  /** What the first proposal lacks, setting by setting, and why it cannot be had. */
  readonly missing: readonly Missing[];
  /** Fitted pickups that their colours do not tell apart and that are wired differently. */
  readonly look_alikes: readonly LookAlike[];
}

/** A plan that would have to try too much; the message says how much. */
export class TooManyCombinations extends Error {
  constructor(combinations: number) {
    super(
      `${combinations} combinations of changes; expected at most ${COMBINATIONS_MOST}: fewer pickups or coils, or fewer kinds of change allowed`,
    );
    this.name = 'TooManyCombinations';
  }
}

/** A plan and what it was drawn from. */
export interface PlanResult {
  readonly document: Plan;
  readonly tried: number;
  readonly search: PlanSearch;
  /** Of each proposal. */
  readonly combinations: readonly Combination[];
}

/** Tries every combination of what is allowed.
 * @param onProgress - called now and then with the combinations tried; returning false ends the search
 * @returns null when it was ended
 * @throws TooManyCombinations
 */
export function planOf(
  loaded: LoadedHarness,
  allowed: ReadonlySet<Allowance>,
  onProgress: (tried: number, of: number) => boolean = () => true,
): PlanResult | null {
  const search = new PlanSearch(loaded, allowed);
  if (search.combinations > COMBINATIONS_MOST) throw new TooManyCombinations(search.combinations);
  const best = search.best(PROPOSALS_MOST, onProgress);
  if (best === null) return null;
  const { title } = loaded.harness;
  const proposals = best.map((combination) => search.proposal(combination));
  const document: Plan = {
    format: 'plan/1',
    ...(title === undefined ? {} : { title }),
    proposals,
    missing: missingOf(search, proposals[0]!, () => new PlanSearch(loaded, new Set(ALLOWANCES))),
    look_alikes: fittedLookAlikes(loaded.pickups),
  };
  return { document, tried: search.combinations, search, combinations: best };
}
