/** What a setting is, from the shares of the coils: what sounds, in phase or not, how loud, how much hum is left. */
import { coilOhm, type FittedPickup } from './fitted-pickup.ts';
import { missingPlus, type MissingPlus } from './missing-plus.ts';
import { areTied, poleSigns, type PoleSign } from './poles.ts';

/** A coil whose share is smaller than this does not sound. */
export const SOUNDING_share = 0.02;

/** A coil of a fitted pickup, as what it gives at the output is judged. */
export interface JudgedCoil {
  readonly pickup: number;
  /** Index among the pickup's coils. */
  readonly coil: number;
  readonly slot: string;
  readonly name: string;
  readonly place: string | null;
  readonly isPlusKnown: boolean;
  /** What would tell plus and minus; null where they are known. */
  readonly missingPlus: MissingPlus | null;
  readonly isHidden: boolean;
  readonly hasInductance: boolean;
  /** Weight: sqrt(L/Lmax), or R/Rmax where an inductance is missing. */
  readonly weight: number;
  readonly pole: PoleSign;
}

/** All coils of what is fitted. */
export function judgedCoils(pickups: readonly FittedPickup[]): JudgedCoil[] {
  const all = pickups.flatMap(({ coils }) => coils);
  const byInductance = all.every(({ inductance_H }) => inductance_H !== undefined && inductance_H > 0);
  const size = byInductance ? all.map((coil) => coil.inductance_H as number) : all.map(coilOhm);
  const most = Math.max(...size);
  const signs = poleSigns(pickups);
  return pickups.flatMap(({ slot, coils }, pickup) =>
    coils.map((coil, at) => ({
      pickup,
      coil: at,
      slot: slot.slot,
      name: coil.name,
      place: coil.place ?? null,
      isPlusKnown: coil.plus !== null,
      missingPlus: missingPlus(coil),
      isHidden: coil.hidden_junction === true,
      hasInductance: coil.inductance_H !== undefined,
      weight: byInductance ? Math.sqrt((coil.inductance_H as number) / most) : coilOhm(coil) / most,
      pole: signs[pickup]![at]!,
    })),
  );
}

export interface Judgement {
  /** Indices of the coils that sound. */
  readonly sounding: readonly number[];
  readonly in_phase: boolean | null;
  readonly string: number | null;
  readonly hum: number | null;
}

/** Judges the shares.
 * @param shares - of all coils, in volts at the output for one volt that lifts the coil's plus
 * @param flipped - by pickup, whether its magnet was turned after it was wired: its touch senses turn over, hum stays
 */
export function judge(coils: readonly JudgedCoil[], shares: ArrayLike<number>, flipped: readonly boolean[]): Judgement {
  const sounding: number[] = [];
  for (let at = 0; at < coils.length; at++) if (Math.abs(shares[at]!) > SOUNDING_share) sounding.push(at);
  if (sounding.length === 0) return { sounding, in_phase: null, string: null, hum: null };
  let rising = 0;
  let falling = 0;
  let isPlusMissing = false;
  let string = 0;
  let hum = 0;
  let size = 0;
  for (const at of sounding) {
    const { pickup, isPlusKnown, isHidden, weight, pole } = coils[at]!;
    const share = flipped[pickup] === true ? -shares[at]! : shares[at]!;
    if (!isPlusKnown) isPlusMissing ||= sounding.length > 1 || isHidden;
    else if (share > 0) rising++;
    else falling++;
    string += share * weight;
    // The wire did not turn with the magnet: both signs change and the product stays.
    hum += shares[at]! * weight * pole.h;
    size += Math.abs(share) * weight;
  }
  return {
    sounding,
    in_phase: rising > 0 && falling > 0 ? false : isPlusMissing ? null : true,
    string: isPlusMissing ? null : Math.abs(string),
    hum: isPlusMissing || !areTied(coils, sounding) ? null : Math.abs(hum) / size,
  };
}
