/** Every setting of the example harnesses, with their own wire maps and six other sets, in the virtual bench's own circuit. */
import { describe, expect, it } from 'vitest';
import { positionsOf } from '../../host/src/harness/positions.ts';
import { benchSettings } from './bench-circuit.ts';
import { example, exampleNames, load, SETS, withSet, type PlainHarness } from './example-harnesses.ts';
import { expectSame } from './same-setting.ts';

function compare(plain: PlainHarness): void {
  const loaded = load(plain);
  const bench = benchSettings(plain, loaded.pickups.map(({ placement }) => placement));
  const { settings } = positionsOf(loaded);
  expect(bench).toHaveLength(settings.length);
  settings.forEach((result, at) => expectSame(result, bench[at]!));
}

describe.each(exampleNames)('%s', (name) => {
  it('gives the shares and ohms of the bench in every setting', () => {
    compare(example(name));
  });
  it.each(Object.keys(SETS))('gives them with %s as well', (set) => {
    compare(withSet(example(name), set));
  });
});
