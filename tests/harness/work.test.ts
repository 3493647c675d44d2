/** What a plan tells a person to do: its words, read literally and one after the other, give what it says they give. */
import { describe, expect, it } from 'vitest';
import { effortOf, type Allowance } from '../../host/src/harness/options.ts';
import { planOf } from '../../host/src/harness/plan.ts';
import { positionsOf } from '../../host/src/harness/positions.ts';
import { PlanSearch } from '../../host/src/harness/search.ts';
import type { LoadedHarness } from '../../host/src/harness/load-harness.ts';
import { example, load, type PlainHarness } from './example-harnesses.ts';
import { randomHarness } from './random-harness.ts';
import { allCarriedOut, fittedAs, standsOf } from './read-work.ts';
import { toTheEnd } from './to-the-end.ts';

const HARNESSES = 300;
const PROPOSALS = 3;

/** The random harnesses of some seeds that can be wired at all. */
function* randomOnes(first: number): Generator<{ seed: number; plain: PlainHarness; loaded: LoadedHarness }> {
  for (let seed = first; seed < first + HARNESSES; seed++) {
    const plain = randomHarness(seed);
    try {
      yield { seed, plain, loaded: load(plain) };
    } catch {
      // No way of some pickup fits.
    }
  }
}

describe('the work of a plan', () => {
  it(`carried out word by word gives what each proposal says, for ${HARNESSES} random harnesses`, () => {
    let both = 0;
    for (const { seed, plain, loaded } of randomOnes(20_000)) {
      const search = new PlanSearch(loaded, new Set<Allowance>(seed % 2 === 0 ? ['way'] : []));
      for (const combination of toTheEnd(search.best(PROPOSALS))) {
        const { work, settings } = search.proposal(combination);
        const stands = allCarriedOut(standsOf(loaded), work.map(({ text }) => text));
        const done = load({ ...plain, harness: { ...plain.harness, fitted: fittedAs(plain.harness.fitted, stands) } });
        expect({ seed, work, settings: positionsOf(done).settings }).toEqual({ seed, work, settings });
        both += work.filter(({ turned }) => turned === true).length;
      }
    }
    expect(both).toBeGreaterThan(HARNESSES / 10);
  });

  it('tells of one pickup in one step how it is wired in the end', () => {
    const plain = example('two-pairs-one-split');
    const [front, rear] = plain.harness.fitted;
    const fitted = [front!, { slot: 'rear', map: rear!.map!, way: { kind: 'series' as const, coils: ['coil 1', 'coil 2'], turned: true } }];
    const { work } = planOf(load({ ...plain, harness: { ...plain.harness, fitted } }), new Set()).document.proposals[0]!;
    expect(work).toEqual([{
      slot: 'rear', change: 'order', turned: true,
      text: 'rear: wire the coils anew, coil 2 and coil 1 in series, coil 2 at ground and coil 1 at hot, plus hot',
    }]);
    expect(work.map(effortOf)).toEqual([2]);
  });
});
