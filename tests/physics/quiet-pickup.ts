/** A pickup of bare coils for checks of the virtual bench: each coil on two clips, no touch, hum or noise. */
import type { Pickup, PickupCoil } from '../../host/src/pickup/pickup.ts';

/** @param more - fields that differ */
export function quietPickup(coils: readonly PickupCoil[], more: Partial<Pickup> = {}): Pickup {
  return {
    format: 'pickup/1',
    temperature_C: 20,
    coils,
    couplings: [],
    leads: coils.flatMap(({ from, to }, i) => [
      { clip: 2 * i + 1, colour: 'BU', node: from },
      { clip: 2 * i + 2, colour: 'YE', node: to },
    ]),
    faults: [],
    touches: [],
    magnet_readings: false,
    interference: { hum_Hz: 50, hum_V: 0, noise_V: 0 },
    ...more,
  };
}
