/** Two pickups that a person would take for the same are pointed out wherever something is soldered by it. */
import { describe, expect, it } from 'vitest';
import { harnessSheet } from '../../host/src/drawing/sheet.ts';
import { svgOf } from '../../host/src/drawing/svg.ts';
import { planText } from '../../host/src/harness/plan-text.ts';
import { planOf } from '../../host/src/harness/plan.ts';
import { positionsOf } from '../../host/src/harness/positions.ts';
import { positionsText } from '../../host/src/harness/positions-text.ts';
import { example, loadInColour, type PlainHarness, type PlainMap } from './example-harnesses.ts';

/** The example with two pairs, both of them the front one. @param spoil - done to the one at the rear */
function twins(spoil: (rear: PlainMap) => void): PlainHarness {
  const { harness, maps: [front] } = example('two-pairs');
  const maps = [front!, structuredClone(front!)] as PlainMap[];
  spoil(maps[1]!);
  return { harness: { ...harness, fitted: harness.fitted.map(({ slot }) => ({ slot, map: 'x' })) }, maps };
}

const found = (plain: PlainHarness) => planOf(loadInColour(plain), new Set()).document.look_alikes;
const swapped = (rear: PlainMap, of: number): void => {
  const coil = rear.coils[of];
  [coil.plus, coil.minus] = [coil.minus, coil.plus];
};

describe('look-alikes', () => {
  it('are none where nothing differs, nor where colours, resistances or numbers of coils tell them apart', () => {
    expect(found(twins(() => undefined))).toEqual([]);
    expect(found(twins((rear) => {
      swapped(rear, 0);
      rear.clips[0].colour = 'OG';
    }))).toEqual([]);
    expect(found(twins((rear) => {
      swapped(rear, 0);
      for (const coil of rear.coils) coil.ohm *= 2;
    }))).toEqual([]);
    expect(found(twins((rear) => {
      swapped(rear, 0);
      rear.coils.pop();
      rear.pairs = [];
    }))).toEqual([]);
  });

  it('are not guessed where a plus, a pole or a place is not known', () => {
    expect(found(twins((rear) => {
      for (const coil of rear.coils) Object.assign(coil, { plus: null, minus: null, pole: null, place: null });
      for (const pair of rear.pairs) pair.poles_differ = null;
    }))).toEqual([]);
  });

  it.each<[string, (rear: PlainMap) => void, string[], string]>([
    ['plus', (rear) => swapped(rear, 1), ['plus'], 'of grey (GY) and violet (VT) plus is grey (GY) in front and violet (VT) in rear'],
    ['poles', (rear) => rear.coils.forEach((coil: PlainMap) => (coil.pole = coil.pole === 'N' ? 'S' : 'N')), ['pole'],
      'blue (BU) and yellow (YE) shows N in front and S in rear; grey (GY) and violet (VT) shows S in front and N in rear'],
    ['places', (rear) => rear.coils.forEach((coil: PlainMap) => (coil.place = coil.place === 'upper' ? 'lower' : 'upper')), ['order'],
      'blue (BU) and yellow (YE) is the coil "upper" in front and "lower" in rear'],
    ['pairs', (rear) => {
      const [one, other] = rear.coils;
      [one.plus, other.plus] = [other.plus, one.plus];
      for (const coil of rear.coils) coil.ends = [coil.minus, coil.plus].sort();
    }, ['pairs'], 'the coils of front are blue (BU) with yellow (YE), grey (GY) with violet (VT), those of rear are'],
  ])('whose %s differ are told in the plan, in the table of settings and on the drawing', (_, spoil, differs, words) => {
    const loaded = loadInColour(twins(spoil));
    const plan = planOf(loaded, new Set());
    expect(plan.document.look_alikes).toEqual([{ pickups: ['front', 'rear'], differs, text: expect.stringContaining(words) }]);
    const plain = (text: string): string => text.replace(/<[^>]*>/g, ' ').replace(/&quot;/g, '"').replace(/\s+/g, ' ');
    for (const text of [planText(loaded, plan, new Set()), positionsText(loaded, positionsOf(loaded)), svgOf(harnessSheet(loaded))])
      expect(plain(text)).toContain(words);
  });
});
