/** Every setting of the example harnesses, with their own wire maps and six other sets, against ngspice. */
import { describe, expect, it } from 'vitest';
import { positionsOf } from '../../host/src/harness/positions.ts';
import { example, exampleNames, load, SETS, withSet, type PlainHarness } from './example-harnesses.ts';
import { expectSame, WITHIN } from './same-setting.ts';
import { spiceSettings } from './spice-deck.ts';

function compare(plain: PlainHarness): void {
  const loaded = load(plain);
  const { settings } = positionsOf(loaded);
  const all = loaded.pickups.flatMap(({ coils }) => coils);
  const byInductance = all.every(({ inductance_H }) => inductance_H !== undefined);
  const size = (coil: (typeof all)[number]): number => (byInductance ? coil.inductance_H! : (coil.ohm_20C ?? coil.ohm!));
  const most = Math.max(...all.map(size));
  const weight = (slot: string, name: string): number => {
    const coil = loaded.pickups.find((one) => one.slot.slot === slot)!.coils.find((one) => one.name === name)!;
    return byInductance ? Math.sqrt(size(coil) / most) : size(coil) / most;
  };
  const spice = spiceSettings(plain, loaded.pickups.map(({ placement }) => placement), weight);
  settings.forEach((result, at) => {
    const { peak } = spice[at]!;
    expectSame(result, spice[at]!);
    const isHeardThrough = result.sounding.every(({ slot, coil }) =>
      loaded.pickups.find((one) => one.slot.slot === slot)!.coils.find((one) => one.name === coil)!.inductance_H !== undefined);
    if (result.resonance_Hz !== null) {
      expect(Math.abs(result.resonance_Hz / peak.hertz - 1)).toBeLessThan(WITHIN);
      expect(Math.abs(result.resonance_dB! - peak.dB)).toBeLessThan(0.05);
    } else if (result.sounding.length > 0 && isHeardThrough) expect(peak.isEnd || peak.dB < 0.11).toBe(true);
  });
}

describe.each(exampleNames)('%s', (name) => {
  it('gives the shares, ohms and peaks of ngspice in every setting', () => {
    compare(example(name));
  });
  it.each(Object.keys(SETS))('gives them with %s as well', (set) => {
    compare(withSet(example(name), set));
  });
});
