/** The first proposal of a plan is the best there is: 1,000 random harnesses by brute force. */
import { describe, expect, it } from 'vitest';
import type { Allowance } from '../../host/src/harness/options.ts';
import { planning, planOf, type PlanProgress } from '../../host/src/harness/plan.ts';
import { COMBINATIONS_MOST, PlanSearch, type Combination, type Proposal } from '../../host/src/harness/search.ts';
import { positionsOf } from '../../host/src/harness/positions.ts';
import { bruteForce } from './brute-force.ts';
import { example, load } from './example-harnesses.ts';
import { largeHarness } from './large-harness.ts';
import { randomHarness } from './random-harness.ts';
import { toTheEnd } from './to-the-end.ts';

const HARNESSES = 1000;
const ALLOWED: readonly (readonly Allowance[])[] = [[], [], ['way'], ['magnet']];

const cost = ({ work }: Proposal): number => work.reduce((sum, { change }) => sum + (change === 'flip magnet' ? 5 : 1), 0);

describe('a plan', () => {
  it(`proposes first what no combination beats, of ${HARNESSES} random harnesses by brute force`, () => {
    let [refused, worked] = [0, 0];
    for (let seed = 1; seed <= HARNESSES; seed++) {
      const plain = randomHarness(seed);
      let loaded;
      try {
        loaded = load(plain);
      } catch {
        // No way of some pickup fits: nothing to plan.
        refused += 1;
        continue;
      }
      const allowed = new Set(ALLOWED[seed % ALLOWED.length]!);
      const search = new PlanSearch(loaded, allowed);
      const [best] = toTheEnd(search.best(1)) as [Combination];
      const proposal = search.proposal(best);
      const { sounds, out_of_phase, hum_cancelled } = proposal.count;
      expect({ seed, sounds, out_of_phase, hum_cancelled, cost: cost(proposal), tried: search.combinations })
        .toEqual({ seed, ...bruteForce(plain, allowed) });
      worked += proposal.work.length > 0 ? 1 : 0;
    }
    expect(refused).toBeLessThan(HARNESSES / 10);
    expect(worked).toBeGreaterThan(HARNESSES / 10);
  });

  it('would rather have two settings in phase with hum than one without', () => {
    // Of three fixed singles, two stand right beside the fourth and share its pole; the third stands the wrong way round and would cancel.
    const [, middle] = example('three-singles').maps;
    const single = (pole: 'N' | 'S') => ({ ...middle!, coils: [{ ...middle!.coils[0], pole }] });
    const slot = (name: string) => ({ slot: name, hot: `${name}.hot`, ground: 'gnd', frame: 'gnd' });
    const { minus, plus } = middle!.coils[0];
    const fixed = (name: string) => ({ slot: name, map: 'x', leads: { [minus]: `${name}.low`, [plus]: `${name}.top` } });
    const beside = (name: string, hot: string, ground: string) => ({ name, joins: [[`${name}.${hot}`, 'free.hot', 'bus'], [`${name}.${ground}`, 'gnd']] });
    const harness = {
      ...example('two-singles').harness,
      slots: ['a', 'b', 'c', 'free'].map(slot),
      switches: [{ id: 'selector', positions: [beside('a', 'top', 'low'), beside('b', 'top', 'low'), beside('c', 'low', 'top')] }],
      fitted: [...['a', 'b', 'c'].map(fixed), { slot: 'free', map: 'x', way: { kind: 'alone' as const, coils: ['coil 1'] } }],
    };
    const plan = planOf(load({ harness, maps: [single('N'), single('N'), single('S'), single('N')] }), new Set());
    expect(plan.document.proposals.map(({ count, work }) => [count.out_of_phase, count.hum_cancelled, work.length]))
      .toEqual([[1, 0, 0], [2, 1, 1]]);
  });

  it('lists up to ten proposals, best first, each as it would stand in the file', () => {
    const loaded = load(example('two-pairs-one-split'));
    const { document } = planOf(loaded, new Set(['magnet']));
    expect(document.proposals).toHaveLength(10);
    const ranks = document.proposals.map((one) => [one.count.sounds, -one.count.out_of_phase, one.count.hum_cancelled, -cost(one)]);
    for (const [at, rank] of ranks.slice(1).entries()) {
      const differs = rank.findIndex((value, key) => value !== ranks[at]![key]);
      if (differs >= 0) expect(rank[differs]).toBeLessThan(ranks[at]![differs]!);
    }
    const [best] = document.proposals;
    expect(best!.count).toEqual({ settings: 6, sounds: 6, in_phase: 6, out_of_phase: 0, hum_cancelled: 4 });
    expect(best!.work.map(({ slot, change }) => [slot, change])).toEqual([['rear', 'order']]);
    const soldered = load({ ...example('two-pairs-one-split'), harness: { ...loaded.harness, fitted: best!.fitted } });
    expect(positionsOf(soldered).settings).toEqual(best!.settings);
  });

  it('turns poles and touch senses over with a magnet, and leaves the hum as it was', () => {
    const plain = example('two-singles-phase');
    const search = new PlanSearch(load(plain), new Set(['magnet']));
    const at = (flipped: boolean): Proposal => search.proposal({ options: [0, 0], flipped: [flipped, false] });
    const [before, after] = [at(false), at(true)];
    expect(after.work.map(({ change }) => change)).toEqual(['flip magnet']);
    before.settings.forEach((setting, index) => {
      const turned = after.settings[index]!;
      setting.sounding.forEach(({ slot, share }, coil) => {
        expect(turned.sounding[coil]!.share).toBe(slot === 'front' ? -share : share);
      });
      expect(turned.hum).toBe(setting.hum);
      if (setting.sounding.length > 1) expect(turned.in_phase).toBe(!setting.in_phase);
    });
  });

  it('says why hum stays where both show the same pole, and what would cancel it', () => {
    const { document } = planOf(load(example('two-singles-phase')), new Set());
    const { text } = document.missing.find(({ setting }) => setting.selector === 'both' && setting.phase === 'in')!;
    expect(text).toBe(
      '100 % of the hum is left: front single and rear single both show S. No allowed change gives it; this would: ' +
        'front: exchange its two ends, hot for ground (make sure first that no metal of it is tied to the end that becomes hot); front: turn its magnet over; its plus and minus then exchange, and its wire map is to be taken anew.');
  });

  it('refuses more combinations than can be tried, before it solves anything', () => {
    expect(() => planOf(load(largeHarness(true)), new Set(['magnet']))).toThrow(
      `331776 combinations of changes; expected at most ${COMBINATIONS_MOST}`);
  });

  it('goes step by step, and tells how far it is', () => {
    const steps = planning(load(largeHarness(false)), new Set());
    const first = [1, 2, 3].map(() => steps.next().value as PlanProgress);
    expect(first.map(({ tried }) => tried)).toEqual([0, 1000, 2000]);
    expect(new Set(first.map(({ of }) => of)).size).toBe(1);
    expect(first[0]!.of).toBeGreaterThan(2000);
  });
});
