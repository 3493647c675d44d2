/** What to do to the pickups of a harness so that most settings sound, in phase and without hum (`plan/1`). */
import type { LookAlike } from '../wiremap/look-alikes.ts';
import { fittedLookAlikes } from './findings.ts';
import type { LoadedHarness } from './load-harness.ts';
import { missingOf, type Missing } from './missing.ts';
import type { Allowance } from './options.ts';
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

/** How far a search is. */
export interface PlanProgress {
  readonly tried: number;
  readonly of: number;
}

/** Tries every combination of what is allowed.
 * @param onProgress - called now and then with the combinations tried
 * @throws TooManyCombinations
 */
export function planOf(
  loaded: LoadedHarness,
  allowed: ReadonlySet<Allowance>,
  onProgress: (progress: PlanProgress) => void = () => {},
): PlanResult {
  const search = planning(loaded, allowed);
  for (;;) {
    const { done, value } = search.next();
    if (done === true) return value;
    onProgress(value);
  }
}

/** The same step by step: whoever does not ask for the next step has stopped it. @throws TooManyCombinations at the first step */
export function* planning(loaded: LoadedHarness, allowed: ReadonlySet<Allowance>): Generator<PlanProgress, PlanResult> {
  const search = new PlanSearch(loaded, allowed);
  const { combinations } = search;
  if (combinations > COMBINATIONS_MOST) throw new TooManyCombinations(combinations);
  const steps = search.best(PROPOSALS_MOST);
  let step = steps.next();
  for (; step.done !== true; step = steps.next()) yield { tried: step.value, of: combinations };
  const best = step.value;
  const { title } = loaded.harness;
  const proposals = best.map((combination) => search.proposal(combination));
  const document: Plan = {
    format: 'plan/1',
    ...(title === undefined ? {} : { title }),
    proposals,
    missing: missingOf(search, best[0]!, proposals[0]!, () => new PlanSearch(loaded, 'anything')),
    look_alikes: fittedLookAlikes(loaded.pickups),
  };
  return { document, tried: combinations, search, combinations: best };
}
