/** Whatever a valid record holds, extremes included, it is solved: no trap, no code unknown to the host, no NaN. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { loadRecord } from '../../host/src/evidence/load-record.ts';
import { solveEvidence } from '../../host/src/evidence/read-result.ts';
import { asBenchRecord } from '../../host/src/files/bench-file.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import { renderWireMap } from '../../host/src/wiring/render-text.ts';

/** A number from a range, with its ends and what is tiny beside it. */
function within(least: number, most: number): fc.Arbitrary<number> {
  const some = [least, most, 0, 1e-300, 1e-9, 1, 4000].filter((n) => n >= least && n <= most);
  return fc.oneof(fc.constantFrom(...some), fc.double({ min: least, max: most, noNaN: true }));
}

const place = fc.option(fc.constantFrom('upper', 'lower', 'middle'), { nil: undefined });
const pairOf = (clips: readonly number[]): fc.Arbitrary<[number, number]> =>
  fc.shuffledSubarray([...clips], { minLength: 2, maxLength: 2 }) as fc.Arbitrary<[number, number]>;
const meter = (clips: readonly number[]): fc.Arbitrary<{ plus: number; minus: number }> =>
  pairOf(clips).map(([plus, minus]) => ({ plus, minus }));
const few = <T>(one: fc.Arbitrary<T>, maxLength: number): fc.Arbitrary<readonly T[]> =>
  fc.oneof(
    { weight: 3, arbitrary: fc.constant([]) },
    { weight: 5, arbitrary: fc.array(one, { maxLength }) },
  );

function touch(clips: readonly number[]): fc.Arbitrary<object> {
  return fc
    .record({
      at: place,
      rate_Hz: fc.constantFrom(1000, 8000, 10_000, 44_100, 100_000),
      start_s: fc.constantFrom(-3600, -0.1, 0, 0.05, 3600),
      length: fc.constantFrom(1, 2, 7, 200, 5000, 30_000),
      channels: fc.array(meter(clips), { minLength: 1, maxLength: 6 }),
      shape: fc.constantFrom('none', 'rail', 'step', 'sine', 'silence', 'spike'),
      size_V: within(1e-7, 1000),
    })
    .map(({ length, channels, shape, size_V, ...rest }) => ({
      ...rest,
      channels: channels.map((pair, index) => ({
        ...pair,
        volts_V: samples(shape, length, size_V, index),
      })),
    }));
}

function samples(
  shape: string,
  length: number,
  size_V: number,
  channel: number,
): (number | null)[] {
  return Array.from({ length }, (_, at) => {
    if (shape === 'none') return null;
    if (shape === 'rail') return at % 3 === channel % 3 ? null : size_V;
    if (shape === 'step') return at < length / 2 ? 0 : size_V;
    if (shape === 'sine') return size_V * Math.sin(at / (3 + channel));
    if (shape === 'spike') return at === Math.floor(length / 3) ? -size_V : 0;
    return 0;
  });
}

function recordOf(clips: readonly number[]): fc.Arbitrary<object> {
  const base = {
    format: fc.constant('bench/1'),
    clips: fc.constant(
      clips.map((clip) => ({ clip, ...(clip === clips.at(-1) ? { colour: 'BARE' } : {}) })),
    ),
    temperature_C: fc.option(within(-60, 150), { nil: undefined }),
    kind: fc.option(fc.constantFrom('single', 'side_by_side', 'three', 'stacked'), {
      nil: undefined,
    }),
  };
  if (clips.length < 2) return fc.record({ ...base, resistances: fc.constant([]) });
  const ab = pairOf(clips).map(([a, b]) => ({ a, b }));
  const reading = fc
    .tuple(
      ab,
      fc.option(within(0, 1e12)),
      within(1e-6, 1e12),
      fc.option(within(0, 1e12), { nil: undefined }),
    )
    .map(([pair, ohm, above_ohm, u_ohm]) => ({
      ...pair,
      ohm,
      ...(ohm === null ? { above_ohm } : {}),
      ...(u_ohm === undefined ? {} : { u_ohm }),
    }));
  const coupling = fc.record({
    drive: meter(clips),
    sense: meter(clips),
    mutual_H: within(-1e4, 1e4),
    u_H: within(0, 1e4),
  });
  const inductance = fc
    .tuple(meter(clips), within(0, 1e4), within(0, 1e4))
    .map(([pair, henry_H, u_H]) => ({ ...pair, henry_H, u_H }));
  const swing = fc.constantFrom('positive', 'negative', 'none');
  return fc.record({
    ...base,
    resistances: fc.array(reading, { maxLength: 40 }),
    touches: few(touch(clips), 3),
    inductances: few(inductance, 30),
    couplings: few(coupling, 60),
    magnets: few(
      fc.record({ at: place, pole: fc.constantFrom('N', 'S'), field_T: within(0, 100) }),
      30,
    ),
    observed: few(
      fc
        .tuple(place, meter(clips), swing)
        .map(([at, pair, seen]) => ({ at, ...pair, swing: seen })),
      60,
    ),
    live: few(
      fc.tuple(ab, within(-1000, 1000)).map(([pair, volt_V]) => ({ ...pair, volt_V })),
      3,
    ),
  });
}

const anyRecord = fc
  .integer({ min: 1, max: 6 })
  .chain((count) => recordOf([1, 2, 3, 4, 5, 6].slice(0, count)));

describe('any valid record', () => {
  const logic = createLogic();

  it('that holds more than the evidence block is solved with what fits, and says so', () => {
    const volts_V = Array.from({ length: 3000 }, (_, at) => (at > 1500 && at < 1540 ? 0.2 : 0));
    const touches = Array.from({ length: 45 }, (_, at) => ({
      at: `place ${at}`,
      rate_Hz: 10_000,
      start_s: -0.15,
      channels: [{ plus: 2, minus: 1, volts_V }],
    }));
    const document = {
      format: 'bench/1',
      clips: [{ clip: 1 }, { clip: 2 }],
      resistances: Array.from({ length: 500 }, () => ({ a: 1, b: 2, ohm: 6000 })),
      touches,
      magnets: touches.map(({ at }) => ({ at, pole: 'N' })),
    };
    const map = solveEvidence(logic, loadRecord(logic, asBenchRecord(document)));
    expect(map.coils.map(({ ends }) => ends)).toEqual([[1, 2]]);
    expect(map.unknown.join()).toMatch(/more was measured than the solver holds/);
  });

  it('with a spike beyond all ranges is solved: a trap stopped the module where the differences left the table of sizes', () => {
    const volts_V = Array.from({ length: 5000 }, (_, at) => (at === 1666 ? -1000 : 0));
    const touches = [{ rate_Hz: 10_000, start_s: -0.1, channels: [{ plus: 2, minus: 1, volts_V }] }];
    const record = asBenchRecord({ format: 'bench/1', clips: [{ clip: 1 }, { clip: 2 }], resistances: [{ a: 1, b: 2, ohm: 6000 }], touches });
    expect(solveEvidence(logic, loadRecord(logic, record)).coils).toHaveLength(1);
  });

  it('with six silent channels after a faint one is solved: a place in the longer capture lay beyond the end of the last channel', () => {
    const still = Array.from({ length: 30_000 }, () => 0);
    const faint = Array.from({ length: 5000 }, (_, at) => 0.0001 * Math.sin(at / 3));
    const touches = [
      { rate_Hz: 1000, start_s: -3600, channels: [{ plus: 2, minus: 1, volts_V: faint }] },
      { rate_Hz: 44_100, start_s: -3600, channels: Array.from({ length: 6 }, () => ({ plus: 2, minus: 1, volts_V: still })) },
    ];
    const record = asBenchRecord({ format: 'bench/1', clips: [{ clip: 1 }, { clip: 2 }], resistances: [{ a: 1, b: 2, ohm: 6000 }], touches });
    expect(solveEvidence(logic, loadRecord(logic, record)).coils).toHaveLength(1);
  });

  it('does not tell how many times the resistance of nothing a coil has', () => {
    const resistances = [{ a: 1, b: 6, ohm: 4000, u_ohm: 4000 }, { a: 4, b: 6, ohm: 4000 }, { a: 6, b: 2, ohm: 0 }];
    const inductances = [{ plus: 4, minus: 2, henry_H: 0, u_H: 0 }];
    const record = asBenchRecord({ format: 'bench/1', clips: [1, 2, 3, 4, 5, 6].map((clip) => ({ clip })), resistances, inductances });
    expect(renderWireMap(solveEvidence(logic, loadRecord(logic, record)), new Map(), null)).not.toMatch(/Infinity/);
  });

  it('is solved into a map without a gap, and the map can be read by people', () => {
    fc.assert(
      fc.property(anyRecord, (document) => {
        const record = asBenchRecord(JSON.parse(JSON.stringify(document)));
        const map = solveEvidence(logic, loadRecord(logic, record));
        // JSON has no word for NaN: it would come back as null where the map has no null.
        expect(JSON.parse(JSON.stringify(map))).toEqual(map);
        expect(renderWireMap(map, new Map(), null)).not.toMatch(/NaN|undefined|Infinity/);
      }),
      { numRuns: 400 },
    );
  });
});
