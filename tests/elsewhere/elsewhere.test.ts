/**
 * Records made elsewhere: simulators that share nothing with our own bench or with the solver, written from the file
 * formats and the physics alone, and the judge that counts by their truth. The figures come from `npm run figures -- elsewhere`.
 */
import { describe, expect, it } from 'vitest';
import { placesOf } from '../../host/src/evidence/load-record.ts';
import type { BenchRecord } from '../../host/src/files/bench-record.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import type { WireMap, WireMapCoil } from '../../host/src/wiremap/wiremap.ts';
import { solveRecord } from '../lots/solve-record.ts';
import { Tally } from './judge.ts';
import { judgeSet, makeSet, recordsOf, SIMULATORS } from './sets.ts';
import type { Truth } from './truth.ts';
import { askPython, pythonObstacle } from '../reference/python.ts';

const RECORDS = 20;
const SEED = 12;
const obstacle = pythonObstacle();
if (obstacle !== null) console.log(`skipped: records made elsewhere, because ${obstacle}`);

/** The same evidence in another order: readings from last to first, leads of a reading and ends of a coupling exchanged. */
function reordered(record: BenchRecord): BenchRecord {
  const reversed = <Item>(list: readonly Item[] | undefined): Item[] => [...(list ?? [])].reverse();
  return {
    ...record,
    // Parts of a coil are listed as their places are.
    places: placesOf(record),
    resistances: reversed(record.resistances).map(({ a, b, ...rest }) => ({ ...rest, a: b, b: a })),
    inductances: reversed(record.inductances),
    couplings: reversed(record.couplings).map(({ drive, sense, ...rest }) => ({ ...rest, drive: sense, sense: drive })),
    magnets: reversed(record.magnets),
  };
}

describe.skipIf(obstacle !== null).each(SIMULATORS)('%s', (simulator) => {
  const set = obstacle === null ? makeSet(simulator, RECORDS, SEED) : { bench: '', truths: [] };

  it('tells the truth of every record, in the clips of the record', () => {
    const records = recordsOf(set);
    expect(records).toHaveLength(RECORDS);
    // A record may name its clips in any order.
    expect(set.truths.map(({ clips }) => clips)).toEqual(records.map(({ clips }) => clips.map(({ clip }) => clip).sort((a, b) => a - b)));
    for (const { id, coils, potential, verdict_ok } of set.truths) {
      expect(verdict_ok.length, id).toBeGreaterThan(0);
      for (const { plus, minus, place, mixed } of coils) {
        expect(plus === null, id).toBe(mixed);
        if (plus !== null && minus !== null && place !== null)
          expect(potential[place]![plus]! - potential[place]![minus]!, id).toBeGreaterThan(0);
      }
    }
  });
  it('gives the same bytes again', () => {
    expect(makeSet(simulator, 3, SEED).bench).toBe(set.bench.split('\n').slice(0, 3).join('\n') + '\n');
  });
  it('draws records that the program solves, all of them', async () => {
    const tally = await judgeSet(set);
    expect(tally.malformed, tally.notes.join('\n')).toBe(0);
    expect(tally.records).toBe(RECORDS);
    expect(tally.claims).toBeGreaterThan(RECORDS / 2);
    // The aims are for a thousand records; of twenty a coin's worth of signs would be a dozen wrong.
    expect(tally.wrong, tally.notes.join('\n')).toBeLessThanOrEqual(2);
    expect(tally.silent).toBeLessThan(tally.known / 2);
  });
  it('draws records that a module which solved others answers as one that solved none', () => {
    const used = createLogic();
    recordsOf(set).forEach((record, index) => {
      expect(solveRecord(used, record), `record ${index}`).toEqual(solveRecord(createLogic(), record));
    });
  });
  it('draws records in which the order of the readings changes nothing', () => {
    // Sums of numbers in another order differ by their rounding.
    const rounded = (_: string, value: unknown): unknown => typeof value === 'number' ? Number(value.toPrecision(4)) : value;
    const answer = (record: BenchRecord): unknown => JSON.parse(JSON.stringify(solveRecord(createLogic(), record), rounded));
    recordsOf(makeSet(simulator, 2 * RECORDS, SEED)).forEach((record, index) => {
      expect(answer(reordered(record)), `record ${index}`).toEqual(answer(record));
    });
  });
});

interface Check {
  readonly tables: readonly (readonly (readonly (number | null)[])[])[];
  readonly hb4: readonly { ohm_20C: number; temperature_C: number; leads_ohm: [number, number]; ohm: number }[];
  readonly signs: readonly { winding: 'cw' | 'ccw'; pole: 'N' | 'S'; swing: number }[];
  readonly d: readonly number[];
}

/** Edges of a cube of 1 ohm resistors: corners differ in one bit. */
const CUBE = Array.from({ length: 8 }, (_, a) => [1, 2, 4].map((bit) => [a, a ^ bit, 1] as const)).flat().filter(([a, b]) => a < b);
/** A bridge of five unlike resistors, with a node that hangs on nothing. */
const BRIDGE = [[0, 1, 1000], [1, 2, 2200], [0, 3, 4700], [3, 2, 680], [1, 3, 1500]] as const;

describe.skipIf(obstacle !== null)('the physics of clip_bench', () => {
  const check = obstacle === null
    ? askPython<Check>('../elsewhere/clip_check.py', {
        networks: [{ nodes: 8, edges: CUBE }, { nodes: 5, edges: BRIDGE }],
        seed: SEED,
        pickups: 12,
        touches: [0.002, 0.004, 0.01, 0.02].map((rise_s) => ({ flux_Wb: 6e-4, rise_s, noise_V: 3e-4, rate_Hz: 10_000 })),
      })
    : null!;

  it('gives 7/12, 3/4 and 5/6 ohm between corners of a cube of 1 ohm (the textbook problem; from memory)', () => {
    for (let a = 0; a < 8; a++)
      for (let b = 0; b < 8; b++) {
        const apart = [1, 2, 4].filter((bit) => ((a ^ b) & bit) !== 0).length;
        expect(check.tables[0]![a]![b]).toBeCloseTo([0, 7 / 12, 3 / 4, 5 / 6][apart]!, 12);
      }
  });
  it('sums to n - 1 over the resistors of a network, each resistance by its conductance (theorem of Foster, 1949; from memory)', () => {
    const sum = BRIDGE.reduce((total, [a, b, ohm]) => total + check.tables[1]![a]![b]! / ohm, 0);
    expect(sum).toBeCloseTo(3, 10);
    expect(check.tables[1]![4]).toEqual([null, null, null, null, 0]);
  });
  it('reads a coil on four leads as its copper at the bench and the two leads (IEC 60028: 0.00393 per kelvin at 20 C)', () => {
    expect(check.hb4.length).toBeGreaterThan(8);
    for (const { ohm_20C, temperature_C, leads_ohm: [a, b], ohm } of check.hb4)
      expect(ohm).toBeCloseTo(ohm_20C * (1 + 0.00393 * (temperature_C - 20)) + a + b, 6);
  });
  it('lifts the end of (cw, N) and (ccw, S), lowers that of (ccw, N) and (cw, S): the sign conventions of the file formats', () => {
    expect(new Set(check.signs.map(({ winding, pole }) => `${winding} ${pole}`)).size).toBe(4);
    for (const { winding, pole, swing } of check.signs) expect(swing).toBeCloseTo((winding === 'cw') === (pole === 'N') ? 1 : -1, 6);
  });
  it('gives the ideal detector the sigmas of the formula for a raised cosine, (pi F / 2T) sqrt(fs T / 2) / sigma', () => {
    [0.002, 0.004, 0.01, 0.02].forEach((rise_s, i) => {
      const ideal = ((Math.PI * 6e-4) / (2 * rise_s)) * Math.sqrt((10_000 * rise_s) / 2) / 3e-4;
      // Averaging within a sample and the unknown mains take a little, never add.
      expect(check.d[i]! / ideal, `${rise_s} s`).toBeGreaterThan(0.94);
      expect(check.d[i]! / ideal, `${rise_s} s`).toBeLessThan(1.001);
    });
  });
});

describe('the judge', () => {
  const truth: Truth = {
    id: 'T', kind: 'hb4', fault_class: null, behaviour: ['normal', 'normal'], clips: [1, 2, 3, 4, 5],
    coils: [
      { ends: [1, 2], plus: 2, minus: 1, mixed: false, place: 'upper', place_known: true, known: true, d: 100 },
      { ends: [3, 4], plus: 3, minus: 4, mixed: false, place: 'lower', place_known: true, known: true, d: 100 },
    ],
    potential: { upper: { 1: 0, 2: 1, 3: 0, 4: 0.1, 5: 1 }, lower: { 1: 0.1, 2: 0, 3: 1, 4: 0, 5: 0 } },
    component: { 1: 1, 2: 1, 3: 3, 4: 3, 5: 1 }, group_of: { 1: 1, 2: 2, 3: 3, 4: 4, 5: 2 },
    verdict_ok: ['good'], expect: [], clean: true,
  };
  const coil = (plus: number | null, minus: number | null, more: Partial<WireMapCoil> = {}): WireMapCoil =>
    ({ name: 'coil', plus, minus, ends: [1, 2], ohm: 4000, place: null, pole: null, confidence: 0.9, ...more });
  const map = (coils: readonly WireMapCoil[], more: Partial<WireMap> = {}): WireMap =>
    ({ format: 'wiremap/1', verdict: 'good', coils, pairs: [], chassis: [], joined: [], findings: [], unknown: [], ...more });
  const counted = (coils: readonly WireMapCoil[], more: Partial<WireMap> = {}, other: Partial<Truth> = {}): Tally => {
    const tally = new Tally();
    tally.add(map(coils, more), { ...truth, ...other });
    return tally;
  };
  const right = [coil(2, 1), coil(3, 4, { ends: [3, 4] })];

  it('takes any clip of a joined group for the coil, and both signs for right', () => {
    expect(counted([coil(5, 1), right[1]!])).toMatchObject({ claims: 2, wrong: 0, known: 2, silent: 0, verdictOk: 1, cleanNotGood: 0 });
  });
  it('counts a swapped coil, and whether it was sure', () => {
    const tally = counted([coil(1, 2, { confidence: 0.995 }), right[1]!]);
    expect(tally).toMatchObject({ claims: 2, wrong: 1, wrongSure: 1 });
    expect(tally.brier).toBeCloseTo((0.995 ** 2 + 0.1 ** 2) / 2, 10);
  });
  it('counts a claim between clips with no coil between them as wrong', () => {
    expect(counted([coil(2, 4)])).toMatchObject({ wrong: 1, silent: 2 });
  });
  it('hears a hidden pair at every place unless the map names one', () => {
    const fights: Partial<Truth> = { potential: { upper: { 1: 0, 2: 1 }, lower: { 1: 1, 2: 0 } } };
    expect(counted([coil(2, 1)], {}, fights)).toMatchObject({ wrong: 1 });
    expect(counted([coil(2, 1, { place: 'upper' })], {}, fights)).toMatchObject({ wrong: 0 });
  });
  it('counts silence, a wrong verdict and an alarm of a sound pickup', () => {
    const finding = { kind: 'weak_touch', severity: 'warning', clips: [], text: '' } as const;
    expect(counted([coil(null, null), right[1]!], { verdict: 'unsure', findings: [finding] }))
      .toMatchObject({ claims: 1, silent: 1, verdictOk: 0, cleanNotGood: 1, cleanAlarm: 1 });
  });
  it('counts what was told of what the record shows, and a lost contact that was called good', () => {
    const lost: Partial<Truth> = { clean: false, expect: [{ class: 'intermittent', kinds: ['intermittent'], identifiable: true }] };
    const silent = counted(right, {}, lost);
    expect(silent).toMatchObject({ lostCalledGood: 1 });
    expect(silent.expected.get('intermittent')).toEqual({ all: 1, found: 0, shown: 1, shownFound: 0 });
  });
  it('refuses a map with half a sign, a strange clip or no confidence', () => {
    for (const bad of [coil(2, null), coil(2, 6), coil(2, 1, { confidence: 2 })]) expect(counted([bad]).malformed).toBe(1);
    expect(counted(right, { chassis: [6] }).malformed).toBe(1);
  });
});
