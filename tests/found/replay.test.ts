/**
 * Everything that once failed, solved again. `tests/found/NAME.bench.json` (a record) or `NAME.pickup.json` (a pickup,
 * run on the board twin) stands beside `NAME.expect.json`: why it is kept, the seed, and what its map must say
 * (`map`, every field given must be so) or must not get wrong (`without`, the classes of tests/lots/judge.ts).
 */
import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { asBenchRecord } from '../../host/src/files/bench-file.ts';
import { asPickup } from '../../host/src/pickup/pickup-file.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { judge, type Class } from '../lots/judge.ts';
import { solveRecord } from '../lots/solve-record.ts';
import { truthOf } from '../lots/truth.ts';
import { testOnTwin } from '../lots/twin-lot.ts';

interface Expected {
  readonly why: string;
  /** Of the twin, for a pickup. */
  readonly seed?: number;
  readonly map?: Partial<WireMap>;
  readonly without?: readonly Class[];
}

const folder = new URL('.', import.meta.url);
const read = (name: string): unknown => JSON.parse(readFileSync(new URL(name, folder), 'utf8'));
const names = readdirSync(folder)
  .filter((name) => /\.(bench|pickup)\.json$/.test(name))
  .sort();

describe('what was found before', () => {
  it('is kept with its expectation, and nothing is expected of what is not there', () => {
    const stems = names.map((name) => name.replace(/\.(bench|pickup)\.json$/, ''));
    const expectations = readdirSync(folder).filter((name) => name.endsWith('.expect.json'));
    expect(expectations.map((name) => name.replace('.expect.json', '')).sort()).toEqual(stems);
  });

  for (const name of names) {
    const expected = read(name.replace(/\.(bench|pickup)\.json$/, '.expect.json')) as Expected;
    it(`${name}: ${expected.why}`, async () => {
      if (name.endsWith('.bench.json')) {
        expect(solveRecord(createLogic(), asBenchRecord(read(name)))).toMatchObject(
          expected.map ?? {},
        );
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
