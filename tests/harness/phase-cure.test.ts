/** What is offered against coils that fight cures them, and shorts nothing: every cure is carried out and solved again. */
import { describe, expect, it } from 'vitest';
import type { Fitted } from '../../host/src/harness/harness.ts';
import { pickupOptions } from '../../host/src/harness/options.ts';
import { planOf } from '../../host/src/harness/plan.ts';
import { positionsOf } from '../../host/src/harness/positions.ts';
import { example, load, type PlainHarness, type PlainMap } from './example-harnesses.ts';
import { randomHarness } from './random-harness.ts';

const HARNESSES = 400;

const refitted = (plain: PlainHarness, at: number, fitted: Fitted): PlainHarness =>
  ({ ...plain, harness: { ...plain.harness, fitted: plain.harness.fitted.with(at, fitted) } });

const cureOf = (plain: PlainHarness): string | undefined => {
  const { settings, findings } = positionsOf(load(plain));
  expect(settings.some(({ in_phase }) => in_phase === false)).toBe(findings.some(({ kind }) => kind === 'out_of_phase'));
  return findings.find(({ kind }) => kind === 'out_of_phase')?.text.split('weak: ')[1]!.replace(/^[^.]*\. /, '');
};

/** The example with two singles, front the wrong way round; a tie puts that end of a pickup on its frame, which has a lead. */
function twoSingles(frontTie: 'plus' | 'minus' | null, rearTie: 'plus' | 'minus' | null): PlainHarness {
  const plain = structuredClone(example('two-singles')) as PlainHarness;
  const fitted = plain.harness.fitted.map(({ slot, map }, at): Fitted =>
    ({ slot, map: map!, way: { kind: 'alone', coils: ['coil 1'], ...(at === 0 ? { turned: true } : {}) } }));
  [frontTie, rearTie].forEach((tie, at) => {
    const map = plain.maps[at] as PlainMap;
    map.chassis = tie === null ? [6] : [map.coils[0][tie], 6].sort();
    map.joined = tie === null ? [] : [map.chassis];
  });
  return { maps: plain.maps, harness: { ...plain.harness, fitted } };
}

const EXCHANGE = (slot: string): string => `${slot}: exchange its two ends, hot for ground`;
const MAGNET = (slot: string): string => `${slot}: turn its magnet over; its plus and minus then exchange, and its wire map is to be taken anew`;
const TIED = ' Do not exchange the ends of front: its frame is tied to the one at ground and would be hot, or short the output.';

describe('coils that work against each other', () => {
  it('of two pickups with free frames either may be exchanged', () => {
    expect(cureOf(twoSingles(null, null))).toBe(`Any one of these cures it: ${EXCHANGE('front')}; or ${EXCHANGE('rear')}.`);
  });

  it('with a frame tied to the end at ground the other one alone is exchanged, since this one would short the output', () => {
    const plain = twoSingles('plus', null);
    expect(cureOf(plain)).toBe(`This cures it: ${EXCHANGE('rear')}.${TIED}`);
    // The way is refused, so the leads are put there by hand.
    const { minus, plus } = plain.maps[0]!.coils[0];
    const leads = { [minus]: 'gnd', [plus]: plain.harness.slots[0]!.hot, 6: 'gnd' };
    const shorted = positionsOf(load(refitted(plain, 0, { slot: 'front', map: plain.harness.fitted[0]!.map!, leads })));
    expect(shorted.settings[0]!.state).toBe('shorted');
  });

  it('with both frames tied a magnet is turned, and no lead', () => {
    expect(cureOf(twoSingles('plus', 'minus'))).toBe(
      `No exchange of one pickup's two ends, hot for ground, cures it; this does: ${MAGNET('front')}; or ${MAGNET('rear')}.` +
        `${TIED}${TIED.replace('front', 'rear')}`);
  });

  it('where leads have to stay on nodes that are not the slot\'s the two of a coil are exchanged there, and what was left is told', () => {
    const plain = example('two-pairs-series-parallel');
    const coilTurned = (from: PlainHarness, at: number): PlainHarness => {
      const { minus, plus } = plain.maps[at]!.coils[0];
      const { slot, map, leads } = plain.harness.fitted[at]!;
      return refitted(from, at, { slot, map: map!, leads: { ...leads, [minus]: leads![plus]!, [plus]: leads![minus]! } });
    };
    const { minus, plus } = plain.maps[1]!.coils[0];
    const exchange = `rear: exchange, where they are, the two leads of coil 1 with each other (clip ${minus} and clip ${plus})`;
    const one = coilTurned(plain, 1);
    expect(cureOf(one)).toBe(`This cures it: ${exchange}.`);
    const missing = planOf(load(one), new Set()).document.missing.map(({ text }) => text);
    expect(missing).not.toEqual([]);
    expect(missing.filter((text) => !text.includes(exchange))).toEqual([]);
    const left = (slot: string): string =>
      `The leads of ${slot} were left where they are, only the two of a coil exchanged with each other, since some are on ` +
      `${slot}.2 and ${slot}.3 and not on the slot's own nodes: look at these first.`;
    expect(cureOf(coilTurned(one, 0))).toMatch(/^No change of one pickup alone that was tried/);
    expect(cureOf(coilTurned(one, 0))).toContain(`${left('front')} ${left('rear')}`);
  });

  it('behind a phase switch nothing is offered', () => {
    expect(cureOf(example('two-singles-phase'))).toMatch(/^No change of one pickup alone/);
  });

  it(`what is offered for ${HARNESSES} random harnesses leaves nothing out of phase, shorted, silent or off ground that was not so`, () => {
    let offered = 0;
    for (let seed = 5000; seed < 5000 + HARNESSES; seed++) {
      const plain = randomHarness(seed);
      let loaded;
      try {
        loaded = load(plain);
      } catch {
        continue;
      }
      const cure = cureOf(plain);
      if (cure === undefined) continue;
      const before = positionsOf(loaded).findings;
      loaded.pickups.forEach((pickup, at) => {
        for (const { work, fitted } of pickupOptions(loaded.harness, pickup, new Set())) {
          if (work.length !== 1 || !cure.includes(work[0]!.text)) continue;
          offered += 1;
          const after = positionsOf(load(refitted(plain, at, fitted))).findings.filter(({ kind }) => kind !== 'lone_node');
          const kinds = new Set(before.map(({ kind }) => kind));
          expect(after.filter(({ kind }) => kind === 'out_of_phase' || !kinds.has(kind))).toEqual([]);
        }
      });
    }
    expect(offered).toBeGreaterThan(20);
  });
});
