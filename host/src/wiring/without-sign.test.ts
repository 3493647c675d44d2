/** A coil whose plus nobody knows: alone it is wired, with the doubt said; beside another it never is. */
import { describe, expect, it } from 'vitest';
import type { WireMap, WireMapCoil } from '../wiremap/wiremap.ts';
import { wiringLines } from './lines.ts';
import { wiringPlan, type Layout } from './plan.ts';

const coil = (name: string, ends: readonly [number, number], more: Partial<WireMapCoil> = {}): WireMapCoil =>
  ({ name, minus: null, plus: null, ends, ohm: 4000, place: null, pole: null, ...more });
const mapOf = (coils: readonly WireMapCoil[], more: Partial<WireMap> = {}): WireMap => ({
  format: 'wiremap/1', verdict: 'unsure', coils, pairs: [], chassis: [], joined: [], findings: [], unknown: [], ...more,
});
const said = (map: WireMap): string => wiringLines(map, new Map(), null).map(({ text }) => text.trim()).join(' ');
const ways = (map: WireMap): Partial<Layout>[] => wiringPlan(map).layouts.map(
  ({ kind, coils, hot, ground, insulated, unsigned, exchangeable }) => ({ kind, coils, hot, ground, insulated, unsigned, exchangeable }));

const ALONE = coil('coil 1', [1, 2]);
const KNOWN = coil('coil 2', [3, 4], { minus: 3, plus: 4 });

describe('a coil whose plus nobody knows', () => {
  it('has hot and ground at its two ends, either way round, and its phase is called unknown', () => {
    const map = mapOf([ALONE], { chassis: [5] });
    expect(ways(map)).toEqual([
      { kind: 'alone', coils: ['coil 1'], hot: [2], ground: [1, 5], insulated: [], unsigned: true, exchangeable: true },
    ]);
    expect(wiringPlan(map)).toMatchObject({ reversed: null, layouts: [{ number: 1, reversed: false, hum: null }] });
    const text = said(map);
    expect(text).toContain('Way 1: coil 1 - hot (output): clip 2 - ground: clip 1; clip 5');
    expect(text).toContain('Its plus and minus are not known, so whether it is in phase with another coil or pickup is not either; ' +
      'hot and ground may as well be exchanged. No touch has shown for sure what it gives; if it is a single coil, hum stays.');
    expect(text).not.toMatch(/With another pickup|turned over|as with any single coil/);
    // Where no clip sat on the metal it may be on the end that becomes hot.
    expect(said(mapOf([ALONE]))).toContain('hot and ground may as well be exchanged, unless metal of this pickup is tied to one of them.');
  });

  it('has the end at the frame at ground, whichever it is, and gives nothing with both there', () => {
    for (const [framed, free] of [[1, 2], [2, 1]] as const) {
      const map = mapOf([ALONE], { chassis: [framed, 3], joined: [[framed, 3]] });
      expect(ways(map)).toMatchObject([{ hot: [free], ground: [framed, 3], exchangeable: false }]);
      const text = said(map);
      expect(text).toContain('what is joined inside, or to the frame, allows no other way round.');
      expect(text).not.toMatch(/exchanged|turned over/);
    }
    for (const joined of [[], [[1, 2]]]) {
      const map = mapOf([ALONE], { chassis: [1, 2], joined });
      expect(ways(map)).toEqual([]);
      expect(said(map)).toContain('(alone it gives nothing, both its ends being on the frame)');
    }
  });

  it('comes after the coils whose plus is known, and the advice on a partner leaves it out', () => {
    const map = mapOf([ALONE, KNOWN], { chassis: [5] });
    expect(wiringPlan(map).layouts.map(({ number, kind, coils }) => [number, kind, ...coils])).toEqual([[1, 'alone', 'coil 2'], [2, 'alone', 'coil 1']]);
    const text = said(map);
    expect(text).toContain('Way 2: coil 1 alone (split)');
    expect(text).toContain('Of coil 1 alone nobody can say so, since plus is not known.');
    expect(wiringPlan(map).reversed).toBe(false);
    // The mirror case: plus of the other coil on the frame.
    for (const [end, isReversed] of [[3, false], [4, true]] as const) {
      const tied = mapOf([ALONE, KNOWN], { chassis: [end] });
      expect(wiringPlan(tied)).toMatchObject({
        reversed: isReversed, layouts: [{ unsigned: false, reversed: isReversed }, { unsigned: true, reversed: false }],
      });
    }
  });

  it('is wired the one way round that leaves what hangs on it silent', () => {
    // The other coil leads from the shared lead to the frame.
    for (const [minus, plus] of [[2, 3], [3, 2]] as const) {
      const map = mapOf([ALONE, coil('coil 2', [2, 3], { minus, plus })], { chassis: [3, 4], joined: [[3, 4]] });
      expect(ways(map).find(({ unsigned }) => unsigned)).toMatchObject({ hot: [1], ground: [2, 3, 4], exchangeable: false });
      expect(said(map)).toContain('(alone it works with clip 2 at ground)');
    }
  });

  it('is offered in no way where another would sound with it', () => {
    const map = mapOf([ALONE, coil('coil 2', [2, 3], { minus: 2, plus: 3 }), coil('coil 3', [1, 3], { minus: 3, plus: 1 })]);
    expect(ways(map)).toEqual([]);
    expect(said(map)).toContain('(alone it is not possible, since coil 2 and coil 3 would sound as well)');
    const across = mapOf([ALONE, coil('coil 2', [1, 2], { minus: 1, plus: 2 })]);
    expect(ways(across)).toEqual([]);
  });

  it('with a hidden junction is several, which may work against each other: it is not wired until that is known', () => {
    const parts = (sense: 1 | -1 | null) => [{ place: 'upper', pole: null, sense: 1 as const }, { place: 'lower', pole: null, sense }];
    const hidden = (sense: 1 | -1 | null): WireMap => mapOf([{ ...ALONE, hidden_junction: true, parts: parts(sense) }]);
    expect(ways(hidden(null))).toEqual([]);
    expect(said(hidden(null))).toContain('Not possible: coil 1 in any way, since it holds several coils, and whether they work together is not known;');
    expect(ways(hidden(-1))).toEqual([]);
    expect(said(hidden(-1))).toContain('Not possible: coil 1 in any way, since what is inside coil 1 works against itself');
  });

  it('is called a tap where it is a section of a winding', () => {
    const map = mapOf([ALONE, coil('coil 2', [2, 3])], { pairs: [{ a: 'coil 1', b: 'coil 2', poles_differ: false, witnesses: ['one_winding'] }] });
    expect(wiringPlan(map).layouts.map(({ kind, labels, tap, split }) => [kind, labels[0], tap, split]))
      .toEqual([['alone', 'coil 1, a tap', true, false], ['alone', 'coil 2, a tap', true, false]]);
  });
});

describe('an inner stacked coil', () => {
  const inner = (more: Partial<WireMapCoil> = {}): WireMapCoil => coil('coil 2', [3, 4], { inner: true, ...more });
  const above = coil('coil 1', [1, 2], { minus: 1, plus: 2, pole: 'N' });
  const measured = (mutual_H: number): Partial<WireMap> =>
    ({ pairs: [{ a: 'coil 1', b: 'coil 2', poles_differ: false, witnesses: ['coupling'], mutual_H, u_H: 0.02 }] });

  it('is never wired by itself, whatever is noted of its plus', () => {
    for (const noted of [{}, { minus: 3, plus: 4 }, { minus: 4, plus: 3 }])
      for (const pairs of [{}, measured(1.2), measured(-1.2)])
        for (const { kind, coils } of wiringPlan(mapOf([above, inner(noted)], pairs)).layouts) expect(`${kind} ${coils.join()}`).not.toBe('alone coil 2');
  });

  it('waits for the plus of the coil above it where their coupling was measured, and for the coupling else', () => {
    expect(said(mapOf([ALONE, inner()], measured(1.2)))).toContain('no steel reaches it, and plus of the coil above it is not known; touch that one firmly with steel.');
    expect(said(mapOf([ALONE, inner()]))).toContain('its coupling with that coil was not measured');
    expect(ways(mapOf([ALONE, inner()], measured(1.2)))).toMatchObject([{ kind: 'alone', coils: ['coil 1'], unsigned: true }]);
  });
});

describe('a map that calls the pickup faulty', () => {
  const fault = (kind: 'bridge' | 'open') => [{ kind, severity: 'fault' as const, clips: [], text: 'x' }];
  it('gets no way, unless a broken coil is what is wrong', () => {
    for (const more of [{ verdict: 'fault' as const }, { verdict: 'good' as const, findings: fault('bridge') }, { verdict: 'fault' as const, findings: fault('bridge') }]) {
      const plan = wiringPlan(mapOf([KNOWN], more));
      expect([plan.layouts, plan.notPossible[0]?.what]).toEqual([[], 'any wiring']);
    }
    const broken = coil('coil 1', [1, 2], { ends: null, ohm: null });
    for (const findings of [fault('open'), []])
      expect(wiringPlan(mapOf([broken, KNOWN], { verdict: 'fault', findings }))).toMatchObject({ isRest: true, layouts: [{ coils: ['coil 2'] }] });
  });
});
