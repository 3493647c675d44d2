/** Every setting of a harness, as the program tells it and as ngspice has it. */
import type { LoadedHarness } from '../../host/src/harness/load-harness.ts';
import { positionsOf } from '../../host/src/harness/positions.ts';
import type { SettingResult } from '../../host/src/harness/setting-result.ts';
import { load, type PlainHarness } from './example-harnesses.ts';
import { spiceSettings, type SpiceSetting } from './spice-deck.ts';

export interface BesideNgspice {
  readonly loaded: LoadedHarness;
  readonly settings: readonly { readonly ours: SettingResult; readonly spice: SpiceSetting }[];
}

export function besideNgspice(plain: PlainHarness): BesideNgspice {
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
  return { loaded, settings: settings.map((ours, at) => ({ ours, spice: spice[at]! })) };
}
