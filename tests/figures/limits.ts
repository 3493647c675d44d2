/** What can be had from the same touches: by the best possible detector, and by a person with a hand-held meter. */
import { lowerTail, RandomStream } from '../../host/src/virtual-bench/random.ts';
import type { PickupTouch } from '../../host/src/pickup/pickup.ts';
import { positiveAtTo, type LotPickup } from '../lots/generator.ts';
import { LeadNetwork } from '../lots/lead-network.ts';
import { Steel } from '../lots/synthetic-touch.ts';
import type { TrueCoil, Truth } from '../lots/truth.ts';

/** Samples a second of the listening channels, to which `noise_V` refers. */
const RATE_Hz = 1e4;
/** The meter: readings a second, seconds averaged in each, volts of one count, counts that make a swing. */
const METER = { every_s: 0.4, mean_s: 0.2, count_V: 1e-4, counts: 3 } as const;

/** Matched-filter d of a raised-cosine step of flux in white noise: (pi flux / 2T) sqrt(rate T / 2) / noise.
 * @param flux_Wb - at the clips that are listened to
 * @see Kay, Fundamentals of Statistical Signal Processing II: d^2 is the signal's energy over the noise
 */
export function matchedD(flux_Wb: number, rise_s: number, noise_V: number): number {
  return (
    (((Math.PI * Math.abs(flux_Wb)) / (2 * rise_s)) * Math.sqrt((RATE_Hz * rise_s) / 2)) / noise_V
  );
}

/** The touch of a stretch that the person is first asked for, and its flux from minus to plus; null without one. */
export function ownTouch(
  one: LotPickup,
  coil: TrueCoil,
): { touch: PickupTouch; flux_Wb: number; network: LeadNetwork } | null {
  const { pickup } = one;
  const touch = pickup.touches.find((candidate) =>
    coil.own.some((index) => pickup.coils[index]!.id === candidate.coil),
  );
  if (touch === undefined || coil.plus === null || coil.minus === null) return null;
  const network = new LeadNetwork(pickup);
  const gains = network.gains(coil.plus, coil.minus);
  let flux_Wb = 0;
  pickup.coils.forEach((each, index) => {
    const share = each.id === touch.coil ? 1 : (touch.crosstalk ?? 0.08);
    flux_Wb += gains[index]! * share * touch.flux_Wb * (positiveAtTo(each) ? 1 : -1);
  });
  return { touch, flux_Wb, network };
}

/** Chance that the ideal detector of known shape calls a stretch's sign wrong, or null when nothing touches it. */
export function idealWrong(one: LotPickup, coil: TrueCoil): number | null {
  const own = ownTouch(one, coil);
  if (own === null) return null;
  return lowerTail(-matchedD(own.flux_Wb, own.touch.rise_s, one.pickup.interference.noise_V));
}

/** What the first swing of a hand-held meter says of a stretch: its sign, or that it did not move. */
export function meterSays(
  one: LotPickup,
  coil: TrueCoil,
  seed: number,
): 'right' | 'wrong' | 'nothing' | null {
  const own = ownTouch(one, coil);
  if (own === null) return null;
  const chance = new RandomStream(seed + one.number, `meter ${coil.ends}`);
  const steel = new Steel(own.touch, chance, true);
  const { hum_V, hum_Hz, noise_V } = one.pickup.interference;
  // What hum and noise leave in a mean of 0.2 s: nothing of whole mains periods, and white noise by the root.
  const left_V =
    noise_V / Math.sqrt(RATE_Hz * METER.mean_s) +
    (hum_V / (Math.PI * hum_Hz * METER.mean_s)) * 1e-2;
  const end_s = own.touch.rise_s + own.touch.hold_s + own.touch.fall_s + 0.1;
  for (let t = -chance.unit() * METER.every_s; t < end_s; t += METER.every_s) {
    const mean_V =
      (own.flux_Wb * (steel.level(t + METER.mean_s) - steel.level(t))) / METER.mean_s +
      left_V * chance.gaussian();
    const counts = Math.round(mean_V / METER.count_V);
    if (Math.abs(counts) > METER.counts) return counts > 0 ? 'right' : 'wrong';
  }
  return 'nothing';
}

/** Sums both limits over a lot. */
export interface Limits {
  touches: number;
  idealWrong: number;
  meterRight: number;
  meterWrong: number;
  meterNothing: number;
}

export function emptyLimits(): Limits {
  return { touches: 0, idealWrong: 0, meterRight: 0, meterWrong: 0, meterNothing: 0 };
}

/** Adds the stretches of one pickup. */
export function addLimits(limits: Limits, one: LotPickup, truth: Truth, seed: number): void {
  for (const coil of truth.coils) {
    const wrong = idealWrong(one, coil);
    const says = meterSays(one, coil, seed);
    if (wrong === null || says === null || coil.outOfReach) continue;
    limits.touches += 1;
    limits.idealWrong += wrong;
    if (says === 'right') limits.meterRight += 1;
    else if (says === 'wrong') limits.meterWrong += 1;
    else limits.meterNothing += 1;
  }
}
