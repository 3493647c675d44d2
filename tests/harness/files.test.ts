/** Harness files: what is refused and in which words, and what the fine print of the format says of those that are not. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { exampleRecord } from '../../host/src/files/example-files.ts';
import { loadHarness } from '../../host/src/harness/load-harness.ts';
import { ALLOWANCES } from '../../host/src/harness/options.ts';
import { planText } from '../../host/src/harness/plan-text.ts';
import { planOf } from '../../host/src/harness/plan.ts';
import { positionsText } from '../../host/src/harness/positions-text.ts';
import type { HarnessFindingKind } from '../../host/src/harness/findings.ts';
import { positionsOf } from '../../host/src/harness/positions.ts';
import { EXAMPLES, example, exampleNames, load, SETS, withSet, type PlainHarness, type PlainMap } from './example-harnesses.ts';
import { tapstone } from '../program/run-program.ts';

const folder = mkdtempSync(join(tmpdir(), 'tapstone-'));
afterAll(() => rmSync(folder, { recursive: true }));

type Spoil = (harness: Record<string, any>, maps: PlainMap[]) => void;

/** The example with one split for both, as two plain documents that a test spoils. */
function spoilt(spoil: Spoil): PlainHarness {
  const plain = structuredClone(example('two-pairs-one-split')) as PlainHarness;
  spoil(plain.harness as unknown as Record<string, any>, plain.maps as PlainMap[]);
  return plain;
}

function place(name: string, document: unknown): string {
  const path = join(folder, name);
  writeFileSync(path, typeof document === 'string' ? document : JSON.stringify(document));
  return path;
}

const CLIPS = '1, 2, 3, 4, 5';
const BAD: [string, Spoil, string][] = [
  ['another format', (h) => (h.format = 'bench/1'), 'format: "bench/1"; expected "harness/1"'],
  ['no output', (h) => delete h.output, 'output: missing; expected an object with hot and ground'],
  ['no switches', (h) => delete h.switches, 'switches: missing; expected a list of switches, at most 1000'],
  ['a slot without a ground', (h) => delete h.slots[0].ground, 'slots[0].ground: missing; expected the name of a node'],
  ['two slots of one name', (h) => (h.slots[1].slot = 'front'), 'slots[1].slot: "front" names an earlier slot; expected a name of its own'],
  ['nine slots', (h) => (h.slots = Array.from({ length: 9 }, (_, at) => ({ ...h.slots[0], slot: `s${at}` }))),
    'slots: a list of 9; expected a list of slots, at most 8'],
  ['a join of one node', (h) => (h.joins = [['gnd']]), 'joins[0]: a list of 1; expected a list of 2 to 200 nodes'],
  ['a strange part', (h) => (h.parts[0].kind = 'transformer'),
    'parts[0].kind: "transformer" is not known here; expected one of "pot", "resistor", "capacitor"'],
  ['two parts of one name', (h) => (h.parts[1].id = 'volume'), 'parts[1].id: "volume" names an earlier part; expected a name of its own'],
  ['a pot of nothing', (h) => (h.parts[0].ohm = 0), 'parts[0].ohm: 0 is not above 0; expected ohms above 0'],
  ['a pot turned too far', (h) => (h.parts[0].turn = 1.1), 'parts[0].turn: 1.1 is more than 1; expected a share, 0 to 1'],
  ['a pot with no word of an end', (h) => delete h.parts[1].a,
    'parts[1].a: missing; expected the name of a node, or null for an end that is not connected'],
  ['a capacitor on nothing', (h) => (h.parts[2].a = null), 'parts[2].a: null is not a text; expected the name of a node'],
  ['a capacity in words', (h) => (h.parts[2].farad_F = '22n'), 'parts[2].farad_F: "22n" is not a number; expected farads above 0'],
  ['two positions of one name', (h) => (h.switches[1].positions[1].name = 'off'),
    'switches[1].positions[1].name: "off" names an earlier position of this switch; expected a name of its own'],
  ['too many settings', (h) => h.switches.push({ id: 'more', positions: Array.from({ length: 43 }, (_, at) => ({ name: `${at}`, joins: [] })) }),
    'switches: 258 settings; expected at most 256 settings in all'],
  ['too many nodes', (h) => (h.joins = [Array.from({ length: 193 }, (_, at) => `n${at}`)]), '201 nodes; expected at most 200 nodes'],
  ['a name with an escape', (h) => (h.slots[0].slot = 'fr\x1b[2Jont'),
    'slots[0].slot: "fr\\x1b[2Jont" holds characters that cannot be seen; expected a name of its own, without control characters'],
  ['a title over two lines', (h) => (h.title = 'a\nb'),
    'title: "a\\nb" holds characters that cannot be seen; expected a text, without control characters'],
  ['a node that runs backwards', (h) => (h.output.hot = 'out\u202e'),
    'output.hot: "out\\u{202e}" holds characters that cannot be seen; expected the name of a node, without control characters'],
  ['a load of nothing', (h) => (h.load.ohm = 0), 'load.ohm: 0 is not above 0; expected ohms above 0'],
  ['an unknown slot', (h) => (h.fitted[0].slot = 'cellar'), 'fitted[0].slot: "cellar" is not a slot here; expected one of front, rear'],
  ['a slot fitted twice', (h) => (h.fitted[1].slot = 'front'), 'fitted[1].slot: "front" is fitted twice; expected one pickup in each slot'],
  ['no map', (h) => delete h.fitted[0].map,
    'fitted[0].map: missing; expected the path of a wire map, or "record" with that of a bench record'],
  ['a map and a record', (h) => (h.fitted[0].record = 'x'), 'fitted[0].record: stands beside "map"; expected one of the two'],
  ['leads and a way', (h) => (h.fitted[0].leads = {}), 'fitted[0].way: stands beside "leads"; expected one of the two'],
  ['an unknown way', (h) => (h.fitted[0].way.kind = 'sideways'),
    'fitted[0].way.kind: "sideways" is not known here; expected one of "series", "parallel", "alone"'],
  ['one coil in series', (h) => h.fitted[0].way.coils.pop(), 'fitted[0].way.coils: a list of 1; expected a list of 2 to 1000 coils'],
  ['two coils alone', (h) => (h.fitted[0].way.kind = 'alone'), 'fitted[0].way.coils: a list of 2; expected a list of 1 coil'],
  ['a coil twice', (h) => (h.fitted[0].way.coils[1] = 'coil 1'), 'fitted[0].way.coils[1]: "coil 1" is named twice; expected each coil once'],
  ['an unknown coil', (h) => (h.fitted[0].way.coils[1] = 'coil 9'),
    'fitted[0].way.coils[1]: "coil 9" is not a coil of this wire map; expected one of coil 1, coil 2'],
  ['a broken coil', (_, [map]) => Object.assign(map!.coils[1], { ohm: null }),
    'fitted[0].way.coils[1]: the winding of "coil 2" is broken; expected one of coil 1'],
  ['an eighth clip', (h) => (h.fitted[0] = { slot: 'front', map: 'm', leads: { 8: 'gnd' } }),
    'fitted[0].leads.8: not a clip; expected a clip, "1" to "6"'],
  ['a clip that the map lacks', (h) => (h.fitted[0] = { slot: 'front', map: 'm', leads: { 6: 'gnd' } }),
    `fitted[0].leads.6: the wire map names no clip 6; expected one of ${CLIPS}`],
  ['a common link in parallel', (h, [map]) => {
    h.fitted[0].way.kind = 'parallel';
    map!.coils[1].minus = 2;
    map!.coils[1].ends = [2, 3];
  }, 'fitted[0].way: coil 1, coil 2 in parallel would need clip 2 at two nodes; expected a way that this pickup allows'],
  ['a coupling in millihenries', (_, [map]) => {
    for (const coil of map!.coils) coil.inductance_H = 2.5;
    map!.pairs = [{ a: 'coil 1', b: 'coil 2', poles_differ: true, witnesses: [], mutual_H: -90, u_H: 5 }];
  }, 'fitted[0].map: mutual_H of "coil 1" and "coil 2" is -90, which their inductances (2.5 and 2.5) do not allow;' +
    ' expected henries, at most 2.5 either way'],
  ['ends that are one inside', (_, [map]) => (map!.joined = [[1, 2]]),
    'fitted[0].way: coil 1, coil 2 in series would need clip 2 at two nodes; expected a way that this pickup allows'],
  ['a frame on both ends', (h, [map]) => {
    delete h.fitted[0].way;
    Object.assign(map!, { coils: [map!.coils[0]], pairs: [], joined: [[1, 2, 5]] });
  }, 'fitted[0]: neither "leads" nor "way", and no way of wiring this pickup fits; expected leads, written out clip by clip'],
];

describe('a harness is refused in one sentence', () => {
  it.each(BAD)('with %s', (_, spoil, sentence) => {
    const plain = spoilt(spoil);
    expect(() => load(plain)).toThrow(new RegExp(`^${sentence.replace(/[.*+?^${}()|[\]\\]/g, '\\$&')}$`));
  });

  it.each([
    ['two leads on one clip', '"leads": { "1": "gnd", "1": "front.hot" }', 'fitted[0].leads.1: stands twice; expected each name once', 65],
    ['a map that is not there', '"assume": {}', 'fitted[0].map: nowhere.json: no such file; expected the path of a wire map, from the folder of the harness', 66],
    ['a map that is a record', '"assume": { "loss_ohm": 1 }', 'fitted[0].map: record.json: format: "bench/1"; expected "wiremap/1"', 65],
  ])('by the program, with %s', async (_, field, sentence, exit) => {
    place('record.json', exampleRecord());
    const map = exit === 65 ? 'record.json' : 'nowhere.json';
    const [slot] = example('two-pairs').harness.slots;
    const path = place('bad.harness.json', JSON.stringify({ ...example('two-pairs').harness, slots: [slot], fitted: [] })
      .replace('"fitted":[]', `"fitted":[{ "slot": "front", "map": "${map}", ${field} }]`));
    for (const command of exit === 66 ? ['positions', 'plan'] : ['positions'])
      expect(await tapstone([command, path, '--json'])).toMatchObject({ code: exit, out: '', err: `${path}: ${sentence}\n` });
  });

  it('by the program, with too much to try', async () => {
    const { harness } = example('two-pairs');
    const leads = { coils: [1, 3, 5].map((minus, at) => ({
      name: `coil ${at}`, minus, plus: minus + 1, ends: [minus, minus + 1], ohm: 4000, place: null, pole: null })) };
    place('three.json', { format: 'wiremap/1', verdict: 'good', ...leads, chassis: [], joined: [] });
    const slots = ['a', 'b', 'c', 'd'].map((slot) => ({ ...harness.slots[0], slot, hot: `${slot}.hot` }));
    const fitted = slots.map(({ slot }) => ({ slot, map: 'three.json' }));
    const path = place('large.harness.json', { ...harness, switches: [], slots, fitted });
    const { code, err } = await tapstone(['plan', path, '--allow', 'way']);
    expect([code, err.split(';')[0]]).toEqual([65, `${path}: 160000 combinations of changes`]);
  });
});

describe('a harness', () => {
  it('believes a coupling that lies above what is possible by no more than it may be off', () => {
    const coupled = (u_H: number) => spoilt((_, [map]) => {
      for (const coil of map!.coils) coil.inductance_H = 2.5;
      map!.pairs = [{ a: 'coil 1', b: 'coil 2', poles_differ: true, witnesses: [], mutual_H: 3, u_H }];
    });
    expect(() => load(coupled(0.2))).not.toThrow();
    expect(() => load(coupled(0.05))).toThrow(/do not allow/);
  });

  const kinds = (plain: PlainHarness): HarnessFindingKind[] => [...new Set(positionsOf(load(plain)).findings.map(({ kind }) => kind))];
  const setting = (plain: PlainHarness, at = 0) => positionsOf(load(plain)).settings[at]!;

  it('takes a bench record in place of a map, with the colours of its leads', async () => {
    place('meters.bench.json', exampleRecord());
    const { harness } = example('one-pickup');
    const path = place('record.harness.json', { ...harness, fitted: [{ slot: 'only', record: 'meters.bench.json', leads: { 1: 'gnd', 2: 'only.hot', 5: 'gnd' } }] });
    const { code, out } = await tapstone(['positions', path]);
    expect(code).toBe(0);
    expect(out).toContain('clip 2, yellow (YE): to hot (only.hot)');
  });

  it.each(exampleNames)('is told in 80 columns, with its soldering list and the cautions: %s', async (name) => {
    const loaded = await loadHarness(`${EXAMPLES}${name}.harness.json`);
    const allowed = new Set(ALLOWANCES);
    for (const text of [positionsText(loaded, positionsOf(loaded)), planText(loaded, planOf(loaded, allowed), allowed)]) {
      expect(text.split('\n').filter((line) => line.length > 80)).toEqual([]);
      expect(text).toMatch(/\nsetting +sounds[^]*\nSoldering list\n[^]*clip 1, [^]*\nCautions\n/);
    }
  });

  it('has one setting and no finding where there is no switch', () => {
    expect(setting(example('one-pickup')).setting).toEqual({});
    expect(exampleNames.filter((name) => kinds(example(name)).some((kind) => kind !== 'out_of_phase'))).toEqual([]);
  });

  it('is shorted with the volume at 0, and silent with nothing fitted', () => {
    const down = spoilt((h) => (h.parts[0].turn = 0));
    expect(setting(down)).toMatchObject({ state: 'shorted', ohm: 0, in_phase: null, string: null, hum: null, resonance_Hz: null });
    const nearly = spoilt((h) => (h.parts[0].turn = 1e-6));
    expect(setting(nearly)).toMatchObject({ state: 'shorted' });
    expect(setting(nearly).ohm).toBeCloseTo(0.5, 4);
    const empty = { ...spoilt((h) => (h.fitted = [])), maps: [] };
    expect(setting(empty)).toMatchObject({ state: 'silent', ohm: 500000 });
    expect(kinds(empty)).toEqual(['silent']);
  });

  it('says unknown where plus is missing, and no phase beside another coil', () => {
    const plain = spoilt((_, [map]) => Object.assign(map!.coils[0], { plus: null, minus: null }));
    expect(kinds(plain)).toContain('unknown');
    const [both, split] = positionsOf(load(plain)).settings;
    expect(both).toMatchObject({ in_phase: null, string: null, hum: null });
    expect(both!.sounding[0]).toMatchObject({ coil: 'coil 1', sense: null });
    expect(split).toMatchObject({ in_phase: true });
  });

  it('takes the mean of what is inside a stretch with a hidden junction, and tells nothing without it', () => {
    const hide = (parts: unknown): PlainHarness => spoilt((h, [map]) => {
      h.fitted[0].way = { kind: 'alone', coils: ['coil 1'] };
      Object.assign(map!, { coils: [{ ...map!.coils[0], pole: null, hidden_junction: true, parts }], pairs: [] });
    });
    const parts = (...poles: (string | null)[]): unknown => poles.map((pole, at) => ({ place: `${at}`, pole }));
    expect(setting(hide(parts('N', 'S'))).hum).toBe(0);
    expect(setting(hide(parts('N', 'S', 'N'))).hum).toBeCloseTo(1 / 3, 12);
    expect(setting(hide(parts('N', null))).hum).toBeNull();
    expect(setting(hide(undefined)).hum).toBeNull();
  });

  it('ties poles by pairs, also by way of a coil that does not sound', () => {
    const coil = (number: number, minus: number): PlainMap => ({
      name: `coil ${number}`, minus, plus: minus + 1, ends: [minus, minus + 1], ohm: 4000, place: null, pole: null, inductance_H: 2 });
    const plain = spoilt((h, maps) => {
      maps[0] = { format: 'wiremap/1', verdict: 'good', coils: [coil(1, 1), coil(2, 3), coil(3, 5)], chassis: [], joined: [],
        pairs: [['coil 1', 'coil 3', true], ['coil 3', 'coil 2', false]].map(([a, b, poles_differ]) => ({ a, b, poles_differ, witnesses: [] })) };
    });
    expect(setting(plain).hum).toBeCloseTo(0, 2);
  });

  it('finds a frame that is not on ground, a map that is not good, and a node named once', () => {
    expect(kinds(spoilt((h) => (h.slots[0].frame = 'cover')))).toEqual(['frame', 'lone_node']);
    expect(kinds(spoilt((_, [map]) => (map!.verdict = 'unsure')))).toEqual(['map']);
    expect(kinds(spoilt((h) => (h.parts[2].b = 'ground')))).toEqual(['lone_node']);
    expect(kinds(spoilt((h) => (h.slots[1].link = 'nobody')))).toEqual(['lone_node']);
    expect(kinds(spoilt((h) => {
      h.slots[1].link = 'nobody';
      h.switches[1].positions[1].joins.pop();
    }))).toEqual([]);
  });

  it('keeps what its names say: one of them may be that of a prototype', () => {
    const plain = spoilt((h) => (h.switches[0].id = '__proto__'));
    expect(Object.keys(setting(plain).setting)).toEqual(['__proto__', 'split']);
  });
});

describe('with another set of wire maps', () => {
  const bare = (plain: PlainHarness) => positionsOf(load(plain)).settings;

  it.each(exampleNames)('%s keeps what the leads do not change', (name) => {
    const before = bare(withSet(example(name), 'a reversed twin'));
    // The same leads, only told apart: nothing but senses and what follows from them may change.
    const plain = withSet(example(name), 'nothing known but ohms');
    const after = bare(plain);
    expect(after.map(({ setting }) => setting)).toEqual(before.map(({ setting }) => setting));
    for (const { sounding, string, hum, resonance_Hz } of after) {
      for (const { slot, sense, share } of sounding)
        if (slot === plain.harness.fitted[0]!.slot) expect([sense, share > 0]).toEqual([null, true]);
      if (sounding.length > 1 && sounding.some(({ sense }) => sense === null)) expect([string, hum]).toEqual([null, null]);
      if (sounding.some(({ slot }) => slot === plain.harness.fitted[0]!.slot)) expect(resonance_Hz).toBeNull();
    }
    for (const set of Object.keys(SETS)) {
      for (const { sounding, state, hum } of bare(withSet(example(name), set))) {
        expect(state === 'sounds').toBe(sounding.length > 0);
        for (const { share } of sounding) expect(Math.abs(share)).toBeLessThanOrEqual(1.0001);
        if (hum !== null) expect(hum >= 0 && hum <= 1 + 1e-12).toBe(true);
      }
    }
  });

  it('a reversed twin in the same leads turns the sound over and leaves hum, ohms and peak', () => {
    const plain = example('two-pairs-series-parallel');
    const turned = withSet(plain, 'a reversed twin');
    bare(turned).forEach((after, at) => {
      const before = bare(plain)[at]!;
      expect(after.ohm).toBeCloseTo(before.ohm!, 6);
      expect(after.resonance_Hz! / before.resonance_Hz!).toBeCloseTo(1, 4);
      after.sounding.forEach(({ slot, share }, coil) => expect(share / before.sounding[coil]!.share).toBeCloseTo(slot === 'front' ? -1 : 1, 9));
      expect(after.hum).toBeCloseTo(before.hum!, 9);
    });
  });

  it('equal poles cancel nothing that differs in a pair, and a frame on plus is kept at ground', () => {
    const equal = bare(withSet(example('two-pairs'), 'equal poles'));
    expect(equal[0]).toMatchObject({ hum: 1, in_phase: true });
    const tied = load(withSet(example('two-singles'), 'a frame tied to plus'));
    expect(tied.pickups[0]!.way!.turned).toBe(true);
    expect(positionsOf(tied).settings[1]).toMatchObject({ in_phase: false });
    expect(positionsOf(tied).findings.map(({ kind }) => kind)).toEqual(['out_of_phase']);
  });
});
