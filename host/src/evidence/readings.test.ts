/** What a record holds goes into entries and comes back the same, whatever the reading says. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { BenchRecord } from '../files/bench-record.ts';
import { EntryKind, NONE } from '../logic/layout.generated.ts';
import { voltsChannel } from './capture.ts';
import { shortFloat, type EntryFields } from './entry.ts';
import { coverCode, keepBegin, kindCode, loadBegin, NOBODY_SENDS, READINGS, type List, type Told } from './readings.ts';

const PLACES = ['neck', 'bridge'];

/** Numbers as files hold them: of single precision, 0 left out since 0 stands for what is not known. */
const number = fc.float({ noNaN: true, noDefaultInfinity: true, min: Math.fround(1e-12), max: 1e9 }).map(shortFloat);
const clip = fc.integer({ min: 1, max: 6 });
const pair = fc.record({ plus: clip, minus: clip });
const at = fc.option(fc.constantFrom(...PLACES), { nil: undefined }).map((name) => (name === undefined ? {} : { at: name }));
const known = <T extends object>(fields: fc.Arbitrary<T>): fc.Arbitrary<Partial<T>> => fc.oneof(fc.constant({}), fc.constant({}), fields);
const joined = (...parts: fc.Arbitrary<object>[]): fc.Arbitrary<object> => fc.tuple(...parts).map((all) => Object.assign({}, ...all));
/** Multiples of 2^-20 V, as the converter gives them. */
const volts = fc.option(fc.integer({ min: -(2 ** 22), max: 2 ** 22 }).map((count) => Math.round((count / 2 ** 20) * 1e7) / 1e7));

const GIVEN: { readonly [L in Exclude<List, 'observed'>]: fc.Arbitrary<unknown> } = {
  live: fc.record({ a: clip, b: clip, volt_V: number }),
  resistances: fc.oneof(
    fc.record({ a: clip, b: clip, ohm: fc.constant(null), above_ohm: number }),
    joined(fc.record({ a: clip, b: clip, ohm: number }), known(fc.record({ u_ohm: number }))),
  ),
  potentials: fc.record({ driven: pair, sensed: clip, ratio: number, u_ratio: number }),
  inductances: joined(pair, fc.record({ henry_H: number, u_H: number }), known(fc.record({ loss_ohm: number, u_loss_ohm: number }))),
  couplings: fc.record({ drive: pair, sense: pair, mutual_H: number, u_H: number }),
  rings: joined(
    pair,
    fc.record({ grounded: fc.uniqueArray(clip).map((clips) => clips.sort()) }),
    fc.record({ natural_Hz: number, u_Hz: number, loss_s: number, u_s: number }),
    fc.record({ misfit: number, fixture_F: number, u_fixture_F: number, series_ohm: number }),
    fc.oneof(fc.constant({ total_F: null }), fc.record({ total_F: number, u_F: number })),
  ),
  touches: joined(
    at, fc.record({ rate_Hz: number, start_s: number }),
    fc.integer({ min: 1, max: 8 }).chain((length) => fc.array(
      joined(pair, fc.record({ volts_V: fc.array(volts, { minLength: length, maxLength: length }) })), { minLength: 1, maxLength: 2 },
    )).map((channels) => ({ channels })),
  ),
  magnets: joined(at, fc.record({ pole: fc.constantFrom('N', 'S') }), known(fc.record({ field_T: number }))),
  notes: fc.constantFrom('cancelled', 'timed_out', 'asks_exhausted', 'converter_failed', 'capture_overrun', 'self_test_failed'),
};

const told = (kind: number, fields: Omit<EntryFields, 'kind'>): Told => ({
  kind, flags: 0, a: 0, b: 0, c: 0, d: 0, place: NONE, count: 0, v0: 0, v1: 0, v2: 0, v3: 0, extra: 0, ...fields,
});
const numbered = { places: new Map(PLACES.map((name, index) => [name, index])), tester: { scale_u: 0.0006 } };
const row = (list: List): (typeof READINGS)[number][1] => READINGS.find(([name]) => name === list)![1];

/** The channels of a touch as they arrive beside its entry. */
function countsOf(reading: unknown): { plus: number; minus: number; counts: Int32Array }[] {
  const { channels = [] } = reading as { channels?: { plus: number; minus: number; volts_V: (number | null)[] }[] };
  return channels.map(({ plus, minus, volts_V }) => {
    const counts = new Int32Array(volts_V.length);
    voltsChannel(plus, minus, volts_V).write(0, volts_V.length, counts, 0);
    return { plus, minus, counts };
  });
}

describe('a reading', () => {
  for (const [list, given] of Object.entries(GIVEN) as [List, fc.Arbitrary<unknown>][]) {
    it(`of ${list} comes back from its entries`, () => {
      const { kinds, load, keep } = row(list);
      fc.assert(fc.property(given, (reading) => {
        const entries = load(reading, numbered).map((fields, index) => told(kinds[index]!, fields));
        expect(entries).toHaveLength(kinds.length);
        expect(keep(entries, { places: PLACES, channels: countsOf(reading) })).toEqual(reading);
      }), { seed: 1 });
    });
  }
  it('by eye is loaded and never sent', () => {
    const { kinds, load, keep } = row('observed');
    const [fields] = load({ at: 'bridge', plus: 1, minus: 2, swing: 'negative', peak_V: 0.1 }, numbered);
    expect(fields).toMatchObject({ a: 1, b: 2, place: 1, v0: 0.1 });
    expect(keep([told(kinds[0]!, fields!)], { places: PLACES, channels: [] })).toBe(NOBODY_SENDS);
  });
  it('has kinds of its own, and with none, begin and end the table knows every kind of entry', () => {
    const kinds = READINGS.flatMap(([, one]) => one.kinds);
    const { none, begin, end } = EntryKind;
    expect(new Set([none, begin, end, ...kinds])).toEqual(new Set(Object.values(EntryKind)));
    expect(new Set(kinds).size).toBe(kinds.length);
  });
});

it('a place beyond those asked for is kept by its number, and an unknown name is none', () => {
  const magnet = row('magnets');
  expect(magnet.keep([told(EntryKind.magnet, { a: 1, place: 7 })], { places: PLACES, channels: [] })).toEqual({ at: 'place 8', pole: 'N' });
  expect(magnet.load({ at: 'elsewhere', pole: 'S' }, numbered)).toMatchObject([{ place: NONE }]);
});

it('the first entry says what lies there, and a record keeps the conditions', () => {
  const record: BenchRecord = {
    format: 'bench/1', clips: [{ clip: 2, colour: 'BU' }, { clip: 5, colour: 'BARE' }], resistances: [],
    temperature_C: 21.5, kind: 'stacked', covered: false, tester: { scale_u: 3e-4 },
  };
  const entry = loadBegin(record, 2);
  expect(entry).toMatchObject({ a: 0b010010, b: 0b010000, c: kindCode('stacked'), d: coverCode(false), place: 2 });
  expect(keepBegin(told(EntryKind.begin, entry))).toEqual({ temperature_C: 21.5, tester: { scale_u: 3e-4 } });
  expect(keepBegin(told(EntryKind.begin, loadBegin({ format: 'bench/1', clips: [], resistances: [] }, 0)))).toEqual({});
});
