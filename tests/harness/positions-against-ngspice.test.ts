/** Every setting of the example harnesses, with their own wire maps and six other sets, against ngspice. */
import { describe, expect, it } from 'vitest';
import { besideNgspice } from './beside-ngspice.ts';
import { example, exampleNames, SETS, withSet, type PlainHarness } from './example-harnesses.ts';
import { expectSame, WITHIN } from './same-setting.ts';

function compare(plain: PlainHarness): void {
  const { loaded, settings } = besideNgspice(plain);
  for (const { ours: result, spice } of settings) {
    const { peak } = spice;
    expectSame(result, spice);
    const isHeardThrough = result.sounding.every(({ slot, coil }) =>
      loaded.pickups.find((one) => one.slot.slot === slot)!.coils.find((one) => one.name === coil)!.inductance_H !== undefined);
    if (result.resonance_Hz !== null) {
      expect(Math.abs(result.resonance_Hz / peak.hertz - 1)).toBeLessThan(WITHIN);
      expect(Math.abs(result.resonance_dB! - peak.dB)).toBeLessThan(0.05);
    } else if (result.sounding.length > 0 && isHeardThrough) expect(peak.isEnd || peak.dB < 0.11).toBe(true);
  }
}

describe.each(exampleNames)('%s', (name) => {
  it('gives the shares, ohms and peaks of ngspice in every setting', () => {
    compare(example(name));
  });
  it.each(Object.keys(SETS))('gives them with %s as well', (set) => {
    compare(withSet(example(name), set));
  });
});
