/** Coils that no touch tells: an inner stacked one is wired as its own map advises, and nobody is sent to it with steel. */
import { describe, expect, it } from 'vitest';
import { asWireMap } from '../../host/src/files/wiremap-file.ts';
import { turnedFitted, turnedMap } from '../../host/src/fitting/turned-magnet.ts';
import { planOf } from '../../host/src/harness/plan.ts';
import { positionsOf } from '../../host/src/harness/positions.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { wiringPlan } from '../../host/src/wiring/plan.ts';
import { renderWireMap, verdictLine } from '../../host/src/wiring/render-text.ts';
import { example, load, type PlainHarness, type PlainMap } from './example-harnesses.ts';

const PLUS = [[3, 4], [4, 3], null] as const;

/** One pickup of two stacked coils behind a volume pot. @param plus - and minus of the inner one, if they are noted */
function stacked(mutual_H: number | undefined, plus: readonly [number, number] | null): PlainHarness {
  const plain = example('one-pickup');
  const { slot, map } = plain.harness.fitted[0]!;
  const coil = { ohm: 4100, u_ohm: 1, inductance_H: 2.3 };
  const stack: PlainMap = {
    format: 'wiremap/1', verdict: 'good', chassis: [5], joined: [], findings: [], unknown: [],
    coils: [
      { ...coil, name: 'coil 1', minus: 1, plus: 2, ends: [1, 2], place: 'top', pole: 'N' },
      { ...coil, name: 'coil 2', minus: plus?.[1] ?? null, plus: plus?.[0] ?? null, ends: [3, 4], place: null, pole: null, inner: true },
    ],
    pairs: [{ a: 'coil 1', b: 'coil 2', poles_differ: false, witnesses: ['coupling'], ...(mutual_H === undefined ? {} : { mutual_H, u_H: 0.02 }) }],
  };
  return { harness: { ...plain.harness, fitted: [{ slot, map: map! }] }, maps: [stack] };
}

/** The same map with another confidence of each coil's plus. */
const likelyAt = (map: PlainMap, confidenceOf: (name: unknown) => number): PlainMap =>
  ({ ...map, coils: (map.coils as PlainMap[]).map((coil) => ({ ...coil, confidence: confidenceOf(coil.name) })) });

const lacks = (plain: PlainHarness): string => {
  const loaded = load(plain);
  return [...planOf(loaded, new Set()).document.missing, ...positionsOf(loaded).findings].map(({ text }) => text).join(' ');
};

describe('an inner stacked coil', () => {
  it('is wired in a harness as the advice on its map wires it, whatever is noted of its plus and minus', () => {
    for (const mutual_H of [1.2, -1.2]) {
      for (const plus of PLUS) {
        const plain = stacked(mutual_H, plus);
        const [layout] = wiringPlan(asWireMap(plain.maps[0]) as WireMap).layouts;
        const loaded = load(plain);
        const { way, placement } = loaded.pickups[0]!;
        const { hot, ground } = loaded.pickups[0]!.slot;
        const on = (node: string): number[] => [...placement].filter(([, nodes]) => nodes.includes(node)).map(([clip]) => clip);
        expect({ way, hot: on(hot), ground: on(ground) })
          .toEqual({ way: { kind: 'series', coils: layout!.coils }, hot: layout!.hot, ground: layout!.ground });
        const { proposals, missing } = planOf(loaded, new Set(['way'])).document;
        expect(proposals[0]).toMatchObject({ work: [], count: { in_phase: 1, hum_cancelled: 1 } });
        expect(missing).toEqual([]);
        expect(proposals.filter(({ fitted }) => fitted[0]!.way?.coils.join() === 'coil 2')).toEqual([]);
      }
    }
  });

  it('is not asked to be touched where its coupling is not known', () => {
    const text = lacks(stacked(undefined, null));
    expect(text).toContain('no steel reaches');
    expect(text).toContain('measure the coupling with the coil above');
    expect(text).not.toMatch(/test it again|with steel/);
    expect(wiringPlan({ ...asWireMap(stacked(1.2, [3, 4]).maps[0]), coils: (stacked(1.2, [3, 4]).maps[0]!.coils as PlainMap[])
      .map((coil) => ({ ...coil, confidence: 0.9 })) } as unknown as WireMap).unsure.map(({ name }) => name)).toEqual(['coil 1']);
  });

  it('counts among the coils whose plus is only likely where a touch wires it, and not where its coupling does, alike in every text', () => {
    for (const [mutual_H, likely] of [[1.2, ['coil 1']], [undefined, ['coil 1', 'coil 2']]] as const) {
      const plain = stacked(mutual_H, [3, 4]);
      const doubted = { ...plain, maps: plain.maps.map((map) => likelyAt(map, () => 0.9)) };
      const map = asWireMap(doubted.maps[0]) as WireMap;
      expect(wiringPlan(map).unsure.map(({ name }) => name)).toEqual(likely);
      const said = positionsOf(load(doubted)).findings.flatMap(({ kind, text }) => (kind === 'map' ? [text] : [])).join();
      expect(said).toContain(`Plus and minus of ${likely.map((name) => `${name} (90.00 %)`).join(' and ')} of `);
      expect(renderWireMap(map, new Map(), null).match(/touch it again before you solder/g)).toHaveLength(likely.length);
    }
    // Of an inner coil alone that its coupling wires there is nothing to touch again.
    const plain = stacked(1.2, [3, 4]);
    const inner = likelyAt(plain.maps[0]!, (name) => (name === 'coil 2' ? 0.9 : 0.9999));
    expect(verdictLine(asWireMap(inner) as WireMap)).toBe('GOOD: nothing speaks against fitting this pickup.');
  });

  it('is told of where it is at the output by itself, and not beside the coil above it', () => {
    const plain = stacked(1.2, null);
    const told = (coils: readonly string[]): string[] => {
      const [fitted] = plain.harness.fitted;
      const way = coils.length === 1 ? { kind: 'alone' as const, coils } : { kind: 'series' as const, coils };
      const loaded = load({ ...plain, harness: { ...plain.harness, fitted: [{ ...fitted!, way }] } });
      return positionsOf(loaded).findings.flatMap(({ kind, text }) => (kind === 'silent' ? [text] : []));
    };
    expect(told(['coil 2']).join()).toMatch(/^Of a stacked pickup only the inner coil, which no steel reaches, is at the output/);
    for (const coils of [['coil 1'], ['coil 1', 'coil 2']]) expect(told(coils).join()).not.toContain('inner coil');
  });

  it('takes the hum off as before once the magnet is turned over, its leads where they were', () => {
    for (const plus of PLUS) {
      const plain = stacked(1.2, plus);
      const before = load(plain).pickups[0]!;
      const { map } = turnedMap({ map: asWireMap(plain.maps[0]), colours: new Map() });
      const fitted = turnedFitted({ ...before.fitted, way: before.way! });
      const after = load({ maps: [map], harness: { ...plain.harness, fitted: [fitted] } });
      expect([...after.pickups[0]!.placement].filter(([clip]) => [1, 4].includes(clip)))
        .toEqual([...before.placement].filter(([clip]) => [1, 4].includes(clip)));
      expect(positionsOf(after).settings[0]!.hum).toBeLessThan(0.15);
    }
  });
});

describe('a junction that is hidden', () => {
  it('between coils that fight is to be mended, not touched again', () => {
    const plain = stacked(undefined, null);
    const [, inner] = plain.maps[0]!.coils as PlainMap[];
    delete inner!.inner;
    Object.assign(inner!, { hidden_junction: true, parts: [{ place: 'a', pole: 'N', sense: 1 }, { place: 'b', pole: 'N', sense: -1 }] });
    const text = lacks(plain);
    expect(text).toContain('works against itself');
    expect(text).not.toMatch(/test it again|with steel/);
  });
});
