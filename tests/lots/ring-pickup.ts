/** Pickups of plain coils for rings: each on two clips of its own, side by side. */
import { Light } from '../../host/src/logic/layout.generated.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';

export const LIGHT_TOUCH = Light.touch;

export interface RingCoil {
  readonly ohm: number;
  readonly henry: number;
  readonly picofarad: number;
  readonly loss_ohm?: number;
  /** Fraction of its turns that are shorted. */
  readonly shorted?: number;
}

const COLOURS = ['BU', 'YE', 'GY', 'VT', 'PK', 'TQ'];

/** @param k - coupling of any two @param more - fields that differ */
export function ringPickup(coils: readonly RingCoil[], k = 0.1, more: Partial<Pickup> = {}): Pickup {
  const ids = coils.map((_, i) => `c${i}`);
  return {
    format: 'pickup/1',
    temperature_C: 20,
    coils: coils.map(({ ohm, henry, picofarad, loss_ohm }, i) => ({
      id: ids[i]!,
      from: `${ids[i]}a`,
      to: `${ids[i]}b`,
      resistance_ohm_20C: ohm,
      inductance_H: henry,
      capacitance_F: picofarad * 1e-12,
      ...(loss_ohm === undefined ? {} : { loss_ohm }),
      winding: 'cw',
      pole: i % 2 === 0 ? 'N' : 'S',
      place: `place ${i + 1}`,
    })),
    couplings: ids.flatMap((a, i) => ids.slice(i + 1).map((b) => ({ a, b, k }))),
    leads: ids.flatMap((id, i) => [
      { clip: 2 * i + 1, colour: COLOURS[2 * i]!, node: `${id}a` },
      { clip: 2 * i + 2, colour: COLOURS[2 * i + 1]!, node: `${id}b` },
    ]),
    faults: coils.flatMap(({ shorted = 0 }, i) =>
      shorted === 0 ? [] : [{ kind: 'shorted_turns' as const, coil: ids[i]!, fraction: shorted }],
    ),
    touches: ids.map((coil) => ({ coil, flux_Wb: 2e-3, rise_s: 0.004, hold_s: 0.3, fall_s: 0.007 })),
    magnet_readings: false,
    interference: { hum_Hz: 50, hum_V: 0.004, noise_V: 0.0003 },
    ...more,
  };
}
