/** What a plan tells a person to do: its words, read literally and one after the other, give what it says they give. */
import { isDeepStrictEqual } from 'node:util';
import { describe, expect, it } from 'vitest';
import { effortOfAll, type Allowance } from '../../host/src/harness/options.ts';
import { missingOf } from '../../host/src/harness/missing.ts';
import { planOf } from '../../host/src/harness/plan.ts';
import { positionsOf } from '../../host/src/harness/positions.ts';
import { isCancelled, PlanSearch, type Combination } from '../../host/src/harness/search.ts';
import { settingResult, type SettingResult } from '../../host/src/harness/setting-result.ts';
import { Solver } from '../../host/src/harness/solver.ts';
import type { LoadedHarness } from '../../host/src/harness/load-harness.ts';
import { example, load, type PlainHarness } from './example-harnesses.ts';
import { randomHarness } from './random-harness.ts';
import { allCarriedOut, fittedAs, remedied, standsOf } from './read-work.ts';
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

const ALLOWED: readonly (readonly Allowance[])[] = [[], ['way'], ['magnet'], []];

/** What a plan finds missing, with its best combination carried out as far as a remedy leaves it, and the remedy carried out. */
function* remedies(first: number): Generator<{ readonly text: string; readonly seed: number; readonly result: SettingResult }> {
  for (const { seed, plain, loaded } of randomOnes(first)) {
    const { document } = planOf(loaded, new Set(ALLOWED[seed % ALLOWED.length]!));
    const before = standsOf(loaded);
    const above = allCarriedOut(before, document.proposals[0]!.work.map(({ text }) => text));
    for (const { setting, text } of document.missing) {
      const steps = / would: (.*)\.$|lose by it: (.*)\.$/.exec(text);
      if (steps === null && !text.includes('It is so as it stands')) continue;
      const after = steps === null ? before : remedied(before, above, (steps[1] ?? steps[2])!.split(/; (?=(?:front|rear|middle): )/));
      const done = load({ ...plain, harness: { ...plain.harness, fitted: fittedAs(plain.harness.fitted, after) } });
      const solver = new Solver(done.harness, done.pickups);
      const at = positionsOf(done).settings.findIndex((one) => isDeepStrictEqual(one.setting, setting));
      const flipped = done.pickups.map(({ slot: { slot } }) => after.get(slot)!.isFlipped);
      yield { text, seed, result: settingResult(setting, solver, solver.solution(at, solver.wirings(done.pickups)), flipped) };
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
        both += work.filter(({ slot, change }, at) => change === 'exchange' && work[at - 1]?.slot === slot).length;
      }
    }
    expect(both).toBeGreaterThan(HARNESSES / 10);
  });

  it('tells first how a pickup is wired as it stands, then to turn that', () => {
    const plain = example('two-pairs-one-split');
    const [front, rear] = plain.harness.fitted;
    const fitted = [front!, { slot: 'rear', map: rear!.map!, way: { kind: 'series' as const, coils: ['coil 1', 'coil 2'], turned: true } }];
    const { work } = planOf(load({ ...plain, harness: { ...plain.harness, fitted } }), new Set()).document.proposals[0]!;
    expect(work).toEqual([
      {
        slot: 'rear', change: 'order',
        text: 'rear: wire the coils in another order, coil 2 and coil 1 in series, coil 1 at ground and coil 2 at hot, minus hot',
      },
      { slot: 'rear', change: 'exchange', text: 'rear: exchange its hot and ground ends' },
    ]);
    expect(effortOfAll(work)).toBe(2);
  });
});

describe('what a plan cannot give', () => {
  it(`is had by what is told to be done beside the work, word by word, for ${HARNESSES} random harnesses`, () => {
    const told = ['instead of the work above on its leads', 'beside the work above', 'It is so as it stands', 'lose by it'];
    const seen = new Set<string>();
    for (const { text, seed, result } of remedies(30_300)) {
      const kind = /hum is left|against each other|output is shorted|No coil reaches/.exec(text)![0];
      const { state, in_phase } = result;
      const isHad = kind === 'hum is left' ? isCancelled(result) : kind === 'against each other' ? in_phase === true : state === 'sounds';
      expect({ seed, text, isHad }).toEqual({ seed, text, isHad: true });
      for (const words of told) if (text.includes(words)) seen.add(words);
    }
    expect([...seen].sort()).toEqual([...told].sort());
  });

  it('is reckoned from the work above, and says what of it is then left', () => {
    // Two fixed singles of one pole, the rear one the wrong way round.
    const plain = structuredClone(example('two-singles')) as PlainHarness;
    const fitted = plain.harness.fitted.map(({ slot, map }, at) =>
      ({ slot, map: map!, way: { kind: 'alone' as const, coils: ['coil 1'], ...(at === 1 ? { turned: true } : {}) } }));
    for (const map of plain.maps) map.coils[0].pole = 'S';
    plain.maps[0]!.chassis = [6];
    plain.maps[1]!.chassis = [6];
    const { proposals, missing } = planOf(load({ ...plain, harness: { ...plain.harness, fitted } }), new Set()).document;
    const [work] = proposals[0]!.work;
    const other = work!.slot === 'front' ? 'rear' : 'front';
    expect(missing.find(({ setting }) => setting.selector === 'both')!.text).toContain(
      `${work!.slot}: instead of the work above on its leads, leave them as they are`);
    expect(missing.find(({ setting }) => setting.selector === 'both')!.text).toContain(`${other}: turn its magnet over`);
  });

  it('is had by some of the coils where all of them or one alone do not balance', () => {
    const plain = structuredClone(example('one-pickup')) as PlainHarness;
    const { slot, map } = plain.harness.fitted[0]!;
    const coil = plain.maps[0]!.coils[0];
    plain.maps[0]!.coils = ['N', 'S', 'N'].map((pole, at) =>
      ({ ...coil, name: `coil ${at + 1}`, ends: [2 * at + 1, 2 * at + 2], minus: 2 * at + 1, plus: 2 * at + 2, pole, place: `place ${at}` }));
    Object.assign(plain.maps[0]!, { pairs: [], chassis: [], joined: [] });
    const { missing } = planOf(load({ ...plain, harness: { ...plain.harness, fitted: [{ slot, map: map! }] } }), new Set(['way'])).document;
    expect(missing.map(({ text }) => text)).toEqual([expect.stringContaining(
      'No allowed change gives it; this would: ' +
        `${slot}: wire coil 1 and coil 2 in series, coil 1 at ground and coil 2 at hot, coil 3 left out`)]);
  });

  it('is told by the pole that a coil shows once its magnet is turned', () => {
    const plain = structuredClone(example('two-pairs-one-split')) as PlainHarness;
    for (const map of plain.maps) for (const coil of map.coils) coil.pole = 'N';
    for (const map of plain.maps) map.pairs = [];
    const search = new PlanSearch(load(plain), new Set(['magnet']));
    const best: Combination = { options: [0, 0], flipped: [true, true] };
    const texts = missingOf(search, best, search.proposal(best), () => search).map(({ text }) => text);
    expect(texts.filter((text) => text.includes('show N'))).toEqual([]);
    expect(texts.some((text) => text.includes('show S'))).toBe(true);
  });
});
