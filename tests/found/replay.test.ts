/**
 * Everything that once failed, solved again. `tests/found/NAME.bench.json` (a record) or `NAME.pickup.json` (a pickup,
 * run on the board twin) stands beside `NAME.expect.json`: why it is kept, the seed, and what its map must say
 * (`map`, every field given must be so) or must not get wrong (`without`, the classes of tests/lots/judge.ts).
 */
import { readdirSync, readFileSync } from 'node:fs';
import { gunzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { asBenchRecord } from '../../host/src/files/bench-file.ts';
import { asPickup } from '../../host/src/pickup/pickup-file.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import type { LotPickup } from '../lots/generator.ts';
import { judge, type Class, type Expectation } from '../lots/judge.ts';
import { solveRecord } from '../lots/solve-record.ts';
import { truthOf } from '../lots/truth.ts';
import { testOnTwin } from '../lots/twin-lot.ts';

interface Expected {
  readonly why: string;
  /** Of the twin, for a pickup. */
  readonly seed?: number;
  readonly map?: Partial<WireMap>;
  /** A pattern of what the map says to be unknown. */
  readonly says?: string;
  readonly without?: readonly Class[];
  /** The most that any plus may be sure of; the solver gives one of two coils inside for both, as often as pairs work together. */
  readonly surest?: number;
  /** For a record: what lay there, how it was touched, and what such evidence allows to be known. */
  readonly of?: Omit<LotPickup, 'number'> & { readonly expected: Expectation };
}

const folder = new URL('.', import.meta.url);
const read = (name: string): unknown => {
  const bytes = readFileSync(new URL(name, folder));
  return JSON.parse((name.endsWith('.gz') ? gunzipSync(bytes) : bytes).toString());
};
const CASE = /\.(bench\.json(\.gz)?|pickup\.json)$/;
const names = readdirSync(folder).filter((name) => CASE.test(name)).sort();

describe('what was found before', () => {
  it('is kept with its expectation, and nothing is expected of what is not there', () => {
    const stems = names.map((name) => name.replace(CASE, '')).sort();
    const expectations = readdirSync(folder).filter((name) => name.endsWith('.expect.json'));
    expect(expectations.map((name) => name.replace('.expect.json', '')).sort()).toEqual(stems);
  });

  for (const name of names) {
    const expected = read(name.replace(CASE, '.expect.json')) as Expected;
    it(`${name}: ${expected.why}`, async () => {
      if (!name.endsWith('.pickup.json')) {
        const map = solveRecord(createLogic(), asBenchRecord(read(name)));
        expect(map).toMatchObject(expected.map ?? {});
        expect(map.unknown.join(' ')).toMatch(new RegExp(expected.says ?? ''));
        const { of, without, surest = 1 } = expected;
        for (const { name: coil, confidence } of map.coils) expect(confidence ?? 0, coil).toBeLessThanOrEqual(surest);
        if (of === undefined) return;
        const { disagreements } = judge({ number: 0, ...of }, truthOf(of.pickup), map, of.expected);
        expect(disagreements.filter((item) => without?.includes(item.class))).toEqual([]);
        return;
      }
      const pickup = asPickup(read(name));
      const { outcome } = await testOnTwin(pickup, expected.seed ?? 1, createLogic());
      if (expected.map !== undefined) expect(outcome.map).toMatchObject(expected.map);
      const truth = truthOf(pickup);
      const one = {
        number: 0,
        family: familyOf(pickup.title),
        pickup,
        faults: [],
        slip: 'wrong place',
      } as const;
      const { disagreements } = judge(one, truth, outcome.map, {
        signs: true,
        places: false,
        poles: false,
        inductance: true,
        complete: false,
      });
      expect(disagreements.filter((item) => expected.without?.includes(item.class))).toEqual([]);
    });
  }
});

/** The generator writes the family into the title. */
function familyOf(title: string | undefined): 'stacked' | 'single' {
  return title === 'invented: stacked' ? 'stacked' : 'single';
}
