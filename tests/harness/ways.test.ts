/** The ways of one pickup are one list: text and drawing offer the same, by the same numbers and names, and each is drawn as the circuit that was solved. */
import { describe, expect, it } from 'vitest';
import { NothingToDraw, pickupSheet } from '../../host/src/drawing/sheet.ts';
import { wiredAs } from '../../host/src/drawing/wired-as.ts';
import { asWireMap, filledMap } from '../../host/src/files/wiremap-file.ts';
import { positionsOf } from '../../host/src/harness/positions.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { wiringPlan, type Layout } from '../../host/src/wiring/plan.ts';
import { renderWireMap } from '../../host/src/wiring/render-text.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { example, exampleNames, SETS, withSet, type PlainMap } from './example-harnesses.ts';
import { wiredTogether, wordsOf } from './picture-geometry.ts';
import { randomHarness } from './random-harness.ts';

const NONE: ReadonlyMap<number, undefined> = new Map();

/** What may be odd about a pickup. */
const TWISTS: readonly ((map: PlainMap) => void)[] = [
  () => {},
  // Plus and minus exchanged in all.
  (map) => { for (const coil of map.coils) [coil.plus, coil.minus] = [coil.minus, coil.plus]; },
  (map) => { for (const coil of map.coils) coil.pole = 'N'; },
  (map) => Object.assign(map.coils[0], { plus: null, minus: null }),
  (map) => { for (const coil of map.coils) Object.assign(coil, { plus: null, minus: null }); },
  (map) => Object.assign(map.coils[0], { hidden_junction: true, place: null, pole: null }),
  (map) => Object.assign(map.coils[0], { hidden_junction: true, place: null, pole: null, plus: null, minus: null }),
  (map) => {
    const [inner, other] = [map.coils.at(-1), map.coils[0]];
    if (map.coils.length !== 2) return;
    Object.assign(inner, { inner: true, pole: null });
    Object.assign(map.pairs[0], { a: other.name, b: inner.name, mutual_H: 1.1, u_H: 0.02 });
    Object.assign(other, { inductance_H: 2.3 });
    Object.assign(inner, { inductance_H: 2.3 });
  },
  (map) => Object.assign(map.coils.at(-1), { inner: true, plus: null, minus: null, pole: null }),
  // Sections of one winding, where the first two share a lead.
  (map) => { if (map.pairs.length === 1) Object.assign(map.pairs[0], { witnesses: ['one_winding'], poles_differ: false }); },
  // A lead that two coils share.
  (map) => {
    if (map.coils.length < 2) return;
    const [one, two] = map.coils;
    map.joined = [...map.joined, [one.ends[0], two.ends[1]]];
  },
  // The frame on an end.
  (map) => Object.assign(map, { chassis: [map.coils[0].ends[1]], joined: [] }),
  (map) => Object.assign(map, { chassis: [map.coils[0].ends[0]], joined: [] }),
  (map) => Object.assign(map, { chassis: map.coils[0].ends, joined: [] }),
  // A ring.
  (map) => { if (map.coils.length === 3) map.joined = [0, 1, 2].map((at) => [map.coils[at].ends[1], map.coils[(at + 1) % 3].ends[0]]); },
  (map) => {
    Object.assign(map.coils[0], { ends: null, plus: null, minus: null, ohm: null });
    Object.assign(map, { verdict: 'fault', findings: [{ kind: 'open', severity: 'fault', clips: [], text: 'Broken.' }] });
  },
  (map) => Object.assign(map, { verdict: 'fault', findings: [{ kind: 'bridge', severity: 'fault', clips: [], text: 'A bridge.' }] }),
  (map) => Object.assign(map, { verdict: 'fault' }),
];

/** Maps with two things odd about each. */
function oddMaps(count: number): WireMap[] {
  return Array.from({ length: count }, (_, seed) => {
    const random = new RandomStream(seed, 'ways');
    const map = structuredClone(randomHarness(seed).maps[0]!) as PlainMap;
    const which = [0, 1].map(() => Math.floor(random.unit() * TWISTS.length));
    // In the order of the list: what is broken has no ends to do more with.
    for (const twist of TWISTS.filter((_, at) => which.includes(at))) twist(map);
    return filledMap(asWireMap(map));
  });
}

const examples = exampleNames.flatMap((name) => [example(name), ...Object.keys(SETS).map((set) => withSet(example(name), set))])
  .flatMap(({ maps }) => maps.map((map) => filledMap(asWireMap(map))));

/** `Way 1: coil 1 in series ...`, as the printed map has them, in its order. */
const told = (map: WireMap): string[] =>
  [...renderWireMap(map, NONE, null).replace(/\s+/g, ' ').matchAll(/Way \d+: .*?(?= - hot \(output\))/g)].map(([title]) => title);
const denied = (words: string): string[] =>
  [...words.matchAll(/Not possible: .*?\.(?= Not possible| \+ and|$)/g)].map(([sentence]) => sentence);

/** What stands in a drawing, or in the sentence that says why there is none. */
function drawn(map: WireMap): { readonly titles: string[]; readonly words: string; readonly wired: string[][] } {
  try {
    const scene = pickupSheet('a pickup', { map, colours: NONE });
    const words = wordsOf(scene);
    const drawings = scene.blocks.filter(({ shapes }) => shapes.some((shape) => shape.kind === 'text' && shape.text === 'output'));
    return {
      titles: [...words.matchAll(/Way \d+: .*?(?= pickup clip)/g)].map(([title]) => title),
      words,
      wired: drawings.map(({ shapes }) => wiredTogether(shapes).sort()),
    };
  } catch (error) {
    if (!(error instanceof NothingToDraw)) throw error;
    // The faults come after what is not possible.
    const faults = map.findings.filter(({ severity }) => severity === 'fault').map(({ text }) => ` ${text}`).join('');
    expect(error.message.endsWith(faults)).toBe(true);
    return { titles: [], words: error.message.slice(0, error.message.length - faults.length), wired: [] };
  }
}

/** Joints by their numbers, as a layout puts them together: leads in the order of the clips, then hot and ground of the output. */
function jointsOf({ hot, ground, links }: Layout, clips: readonly number[]): string[] {
  const numbers = (some: readonly number[], ...more: number[]): string =>
    [...some.map((clip) => clips.indexOf(clip) + 1), ...more].sort((a, b) => a - b).join();
  const used = new Set([...hot, ...ground, ...links.flat()]);
  return [
    numbers(hot, clips.length + 1), numbers(ground, clips.length + 2), ...links.map((link) => numbers(link)),
    ...clips.filter((clip) => !used.has(clip)).map((clip) => numbers([clip])),
  ].sort();
}

describe('the ways of a pickup', () => {
  const maps = [...examples, ...oddMaps(300)];
  it('bear the same numbers and names in text and drawing, and what is not possible is said in the same words', () => {
    let count = 0;
    for (const map of maps) {
      const titles = told(map);
      const sheet = drawn(map);
      expect(sheet.titles, JSON.stringify(map)).toEqual(titles);
      expect(titles.map((title) => Number(/\d+/.exec(title)![0]))).toEqual(titles.map((_, at) => at + 1));
      const sentences = denied(renderWireMap(map, NONE, null).split('\nCautions\n')[0]!.replace(/\s+/g, ' ').trim());
      expect(denied(sheet.words)).toEqual(sentences);
      count += titles.length;
    }
    expect(count).toBeGreaterThan(500);
  });

  it('are drawn as the circuit that the plan has solved, wire by wire', () => {
    for (const map of maps) {
      const { layouts } = wiringPlan(map);
      const { wired } = drawn(map);
      layouts.forEach((layout, at) => {
        const loaded = wiredAs(layout, { map, colours: NONE });
        expect(wired[at], JSON.stringify([map, layout])).toEqual(jointsOf(layout, loaded.pickups[0]!.leads.clips));
        const { state, sounding, in_phase, hum, ohm } = positionsOf(loaded).settings[0]!;
        expect([state, sounding.map(({ coil }) => coil).sort(), ohm]).toEqual(['sounds', [...layout.coils].sort(), layout.ohm]);
        // A coil whose plus nobody knows is never beside another.
        const isUnsigned = map.coils.some(({ name, plus, inner }) => plus === null && inner !== true && layout.coils.includes(name));
        expect(layout.unsigned).toBe(isUnsigned);
        if (isUnsigned) {
          expect([layout.kind, layout.coils.length, layout.hum]).toEqual(['alone', 1, null]);
          return;
        }
        expect([in_phase, hum]).toEqual([true, layout.hum]);
        for (const { sense } of sounding) expect(sense).toBe(layout.reversed ? -1 : 1);
      });
    }
  });
});
