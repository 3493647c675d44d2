/** What a reading is expected to tell, against SciPy and a worked example. */
import { describe, expect, it } from 'vitest';
import { HearingBelief, SWINGS, type SwingSeen } from '../../host/src/entry/hearing-belief.ts';
import { entropy_bits, information_bits, ohmsInformation_bits, type Expected } from '../../host/src/entry/information.ts';
import { pairIndex, possibleNetworks } from '../../host/src/entry/networks.ts';
import { OhmsBelief, TO_COME, WINDING } from '../../host/src/entry/ohms-belief.ts';
import { typedUncertainty_ohm } from '../../host/src/evidence/hand-meter.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { askPython, pythonObstacle } from '../reference/python.ts';

const obstacle = pythonObstacle();
if (obstacle !== null) console.log(`skipped: expected information by SciPy, because ${obstacle}`);

const chance = new RandomStream(77, 'information');
const some = <T>(count: number, make: () => T): T[] => Array.from({ length: count }, make);
const shares = some(40, () => some(1 + chance.below(8), () => (chance.unit() < 0.2 ? 0 : chance.unit())))
  .filter((list) => list.some((share) => share > 0));
const tables = some(40, () => some(2 + chance.below(4), () => some(3, () => chance.unit() ** 3)));
const mixtures = some(40, (): Expected[] => some(2 + chance.below(6), () => {
  const mean_ohm = chance.betweenLog(1000, 20_000);
  const sd_ohm = chance.unit() < 0.3 ? 4000 : 0.006 * mean_ohm;
  return { weight: chance.unit(), open: chance.unit() < 0.3 ? 0.99 : 0.003, mean_ohm, sd_ohm };
}));

describe('entropy and expected information', () => {
  it('of a fair coin is 1 bit, of four equal cases 2 bits, of a sure one 0, and of 1/2, 1/4, 1/8, 1/8 seven quarters (Cover and Thomas, Elements of Information Theory, example 1.1.2 and section 2.1; from memory)', () => {
    expect([entropy_bits([1, 1]), entropy_bits([3, 3, 3, 3]), entropy_bits([0, 5]), entropy_bits([])]).toEqual([1, 2, 0, 0]);
    expect(entropy_bits([1 / 2, 1 / 4, 1 / 8, 1 / 8])).toBeCloseTo(1.75, 12);
  });
  it('of a binary symmetric channel is 1 - H(p) (the same, section 7.1.4; from memory)', () => {
    for (const p of [0, 0.03, 0.11, 0.5])
      expect(information_bits([[(1 - p) / 2, p / 2], [p / 2, (1 - p) / 2]])).toBeCloseTo(1 - entropy_bits([p, 1 - p]), 12);
  });
  it('of cases that read alike is 0, and of cases that read apart their entropy', () => {
    const at = (mean_ohm: number, weight: number, open = 0): Expected => ({ weight, open, mean_ohm, sd_ohm: 20 });
    expect(ohmsInformation_bits([at(4000, 1), at(4000, 3)])).toBeCloseTo(0, 12);
    expect(ohmsInformation_bits([at(4000, 1), at(8000, 1), at(12_000, 2)])).toBeCloseTo(1.5, 12);
    expect(ohmsInformation_bits([at(4000, 1, 1), at(4000, 1, 0)])).toBeCloseTo(1, 12);
  });
  it.skipIf(obstacle !== null)('is what SciPy computes; of numbers it is a lower bound, near where cases are clearly apart', () => {
    const answer = askPython<Record<'entropies' | 'tables' | 'mixtures', number[]>>('expected_information.py', { shares, tables, mixtures });
    shares.forEach((list, index) => { expect(entropy_bits(list)).toBeCloseTo(answer.entropies[index]!, 9); });
    tables.forEach((table, index) => { expect(information_bits(table)).toBeCloseTo(answer.tables[index]!, 9); });
    const missing = mixtures.map((cases, index) => {
      const bound = ohmsInformation_bits(cases);
      const exact = answer.mixtures[index]!;
      expect(bound).toBeGreaterThanOrEqual(0);
      expect(bound, `mixture ${index}`).toBeLessThan(exact + 1e-6);
      return exact - bound;
    });
    // The gap is largest where a broad case lies over a narrow one.
    expect(Math.max(...missing)).toBeLessThan(0.35);
  });
});

describe.skipIf(obstacle !== null)('what readings say of windings', () => {
  it('is what the closed form of a linear model says (numpy), for three in a row read in sums', () => {
    const row = possibleNetworks([false, false, false, false], 3).find(({ paths }) =>
      paths[pairIndex(0, 1)] === 1 && paths[pairIndex(0, 2)] === 3 && paths[pairIndex(0, 3)] === 7)!;
    const read = [{ i: 0, j: 1, ohm: 4100 }, { i: 0, j: 2, ohm: 9460 }, { i: 1, j: 3, ohm: 8830 }];
    const belief = read.reduce((known, reading) => known.after(reading), OhmsBelief.before([{ ...row, weight: 1 }]));
    const wanted = [[2, 3], [0, 3], [1, 2]] as const;
    const through = (i: number, j: number): number[] => [0, 1, 2].map((winding) => (row.paths[pairIndex(i, j)]! >> winding) & 1);
    const { windings } = askPython<{ windings: [number, number][] }>('expected_information.py', {
      shares: [], tables: [], mixtures: [],
      windings: wanted.map(([i, j]) => ({
        mean: WINDING.mean_ohm, common: WINDING.sdCommon_ohm, own: WINDING.sdOwn_ohm, wanted: through(i, j),
        paths: read.map((one) => through(one.i, one.j)), ohms: read.map(({ ohm }) => ohm),
        u: read.map(({ ohm }) => typedUncertainty_ohm(ohm)),
      })),
    });
    wanted.forEach(([i, j], index) => {
      const { ohm, sd_ohm } = belief.outlook(i, j).predictions.find((one) => one.ohm !== null)!;
      const [mean_ohm, known_ohm] = windings[index]!;
      expect(ohm!).toBeCloseTo(mean_ohm, 4);
      // With the uncertainty of the reading to come.
      expect(sd_ohm).toBeCloseTo(Math.hypot(known_ohm, TO_COME.share * mean_ohm + TO_COME.ohm), 4);
    });
  });
});

describe('what swings say', () => {
  const coils = [{ ends: [1, 2] }, { ends: [3, 4] }] as const;
  const places = ['upper', 'lower'];
  const seen = (at: string, plus: number, minus: number, swing: SwingSeen['swing']): SwingSeen => ({ at, plus, minus, swing });

  it('after a swing of one coil its own second look tells little, and the other coil at the other place much', () => {
    const belief = new HearingBelief(coils, places, [seen('upper', 2, 1, 'positive')]);
    expect(belief.information_bits('upper', 2, 1)).toBeLessThan(0.3);
    expect(belief.information_bits('lower', 4, 3)).toBeGreaterThan(1);
    const [plus] = belief.predictions('upper', 2, 1);
    expect(plus).toMatchObject({ swing: 'positive' });
    expect(plus!.probability).toBeGreaterThan(0.85);
    // The mirror: the leads exchanged.
    expect(belief.predictions('upper', 1, 2)[1]!.probability).toBeCloseTo(plus!.probability, 12);
  });
  it('a share repeats its direction: looks at one coil alone leave it open which coil is touched, one look at the other settles it', () => {
    const once = [seen('upper', 2, 1, 'positive'), seen('lower', 4, 3, 'negative')];
    const moves = (facts: readonly SwingSeen[]): number => 1 - new HearingBelief(coils, places, facts).predictions('upper', 4, 3)[2]!.probability;
    expect(moves([...once, ...once, ...once])).toBeGreaterThan(0.6 * moves(once));
    const belief = new HearingBelief(coils, places, [...once, ...once]);
    expect(belief.information_bits('upper', 4, 3)).toBeGreaterThan(belief.information_bits('upper', 2, 1));
    expect(new HearingBelief(coils, places, [...once, seen('upper', 4, 3, 'none')]).information_bits('lower', 2, 1))
      .toBeLessThan(new HearingBelief(coils, places, once).information_bits('lower', 2, 1));
  });
  it('a size that is small, or far below what the same hand makes elsewhere, may be a share: the other coil is worth a look, and else is not', () => {
    const told = (upper_V: number, lower_V: number): number => new HearingBelief(coils, places, [
      { ...seen('upper', 2, 1, 'positive'), peak_V: upper_V }, { ...seen('lower', 4, 3, 'negative'), peak_V: lower_V },
    ]).information_bits('upper', 4, 3);
    expect(told(0.07, 0.08)).toBeLessThan(0.2);
    expect(told(0.009, 0.009)).toBeGreaterThan(2 * told(0.07, 0.08));
    expect(told(0.005, 0.08)).toBeGreaterThan(2 * told(0.07, 0.08));
  });
  it('probabilities of what may be seen sum to 1, whatever was seen', () => {
    const chances = new RandomStream(5, 'swings');
    for (let n = 0; n < 50; n++) {
      const facts = some(chances.below(8), () => {
        const [plus, minus] = chances.unit() < 0.5 ? [2, 1] as const : [3, 4] as const;
        return seen(places[chances.below(2)]!, plus, minus, SWINGS[chances.below(3)]!);
      });
      const belief = new HearingBelief(coils, places, facts);
      for (const at of places) for (const { ends: [minus, plus] } of coils) {
        expect(belief.predictions(at, plus, minus).reduce((sum, { probability }) => sum + probability, 0)).toBeCloseTo(1, 9);
        expect(belief.information_bits(at, plus, minus)).toBeGreaterThanOrEqual(0);
      }
    }
  });
});
