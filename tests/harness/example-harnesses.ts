/** The harnesses that ship as examples, and other sets of wire maps to put into them. */
import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { asWireMap } from '../../host/src/files/wiremap-file.ts';
import { fitPickups } from '../../host/src/harness/fitted-pickup.ts';
import { asHarness } from '../../host/src/harness/harness-file.ts';
import type { Fitted, Harness } from '../../host/src/harness/harness.ts';
import type { LoadedHarness } from '../../host/src/harness/load-harness.ts';

export const EXAMPLES = fileURLToPath(new URL('../../hardware-notes/examples/harness/', import.meta.url));

export const exampleNames: readonly string[] = readdirSync(EXAMPLES)
  .filter((name) => name.endsWith('.harness.json'))
  .map((name) => name.replace('.harness.json', ''));

/** A wire map as plain data, to be spoilt. */
export type PlainMap = Record<string, any>;

/** A harness and its wire maps as plain data. */
export interface PlainHarness {
  readonly harness: Harness;
  readonly maps: readonly PlainMap[];
}

export function example(name: string): PlainHarness {
  const harness = JSON.parse(readFileSync(`${EXAMPLES}${name}.harness.json`, 'utf8')) as Harness;
  const maps = harness.fitted.map(({ map }) => JSON.parse(readFileSync(`${EXAMPLES}${map}`, 'utf8')) as PlainMap);
  return { harness, maps };
}

/** A harness from plain data, its leads without colours. */
export function load(plain: PlainHarness): LoadedHarness {
  return loadWith(plain, () => new Map());
}

/** The same as `loadHarness` gives, from plain data. */
export function loadInColour(plain: PlainHarness): LoadedHarness {
  return loadWith(plain, ({ clips = [] }) => new Map(clips.map(({ clip, colour }: PlainMap) => [clip, colour])));
}

function loadWith({ harness, maps }: PlainHarness, coloursOf: (map: PlainMap) => Map<number, string>): LoadedHarness {
  const checked = asHarness(harness);
  return { harness: checked, pickups: fitPickups(checked, maps.map((map) => ({ map: asWireMap(map), colours: coloursOf(map) }))) };
}

/** Leads of clips that a wire map has; a way is left to the program. */
function refit(fitted: Fitted, map: PlainMap): Fitted {
  const { leads, way: _, ...rest } = fitted;
  if (leads === undefined) return rest;
  const clips = new Set<number>([...map.coils.flatMap((coil: PlainMap) => coil.ends ?? []), ...map.chassis]);
  return { ...rest, leads: Object.fromEntries(Object.entries(leads).filter(([clip]) => clips.has(Number(clip)))) };
}

/** The other sets of wire maps, by what is done to the first pickup. */
export const SETS: Readonly<Record<string, (map: PlainMap) => void>> = {
  'a reversed twin': (map) => {
    for (const coil of map.coils) {
      [coil.plus, coil.minus] = [coil.minus, coil.plus];
      coil.pole = coil.pole === 'N' ? 'S' : 'N';
    }
  },
  'equal poles': (map) => {
    for (const coil of map.coils) coil.pole = 'N';
    for (const pair of map.pairs) [pair.poles_differ, pair.mutual_H] = [false, -pair.mutual_H];
  },
  'a frame tied to plus': (map) => {
    const [coil] = map.coils;
    map.chassis = [...new Set([...map.chassis, coil.plus])];
    map.joined = map.chassis.length > 1 ? [map.chassis] : [];
  },
  'a tapped coil': (map) => {
    const tap = map.coils[0].plus;
    map.coils = [
      { ...map.coils[0], ohm: 5200, ohm_20C: 5157, inductance_H: 2.3 },
      { ...map.coils[0], name: 'coil 2', minus: tap, plus: 6, ends: [tap, 6], ohm: 1900, ohm_20C: 1884, inductance_H: 0.31 },
    ];
    map.pairs = [{ a: 'coil 1', b: 'coil 2', poles_differ: false, witnesses: ['one_winding'], mutual_H: 0.82 }];
  },
  'a broken coil': (map) => {
    map.verdict = 'fault';
    if (map.coils.length > 1) Object.assign(map.coils[1], { ends: null, plus: null, minus: null, ohm: null });
    else Object.assign(map.coils[0], { plus: null, minus: null, pole: null });
    map.pairs = [];
  },
  'nothing known but ohms': (map) => {
    for (const coil of map.coils) {
      Object.assign(coil, { plus: null, minus: null, pole: null });
      delete coil.inductance_H;
      delete coil.winding;
    }
    map.pairs = [];
  },
};

/** A harness with another set of wire maps; each set touches a copy of the first pickup alone. */
export function withSet(plain: PlainHarness, set: string): PlainHarness {
  const maps = structuredClone(plain.maps) as PlainMap[];
  SETS[set]!(maps[0]!);
  const fitted = plain.harness.fitted.map((one, at) => (at === 0 ? refit(one, maps[0]!) : one));
  return { harness: { ...plain.harness, fitted }, maps };
}
