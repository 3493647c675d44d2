/** Places that a person can touch on a guitar, named `SLOT PLACE`, and the coils that lie there. */
import type { FittedPickup } from '../harness/fitted-pickup.ts';

/** A coil, or a part of one, that steel at a place drives. */
export interface PlaceCoil {
  readonly pickup: number;
  readonly coil: number;
  /** Share of the touch's flux, 0 to 1: sections of one winding have theirs by their turns. */
  readonly weight: number;
  /** -1 for a part inside a stretch whose plus a touch there lowers. */
  readonly sense: 1 | -1;
}

/** A place of a pickup in its slot. */
export interface Place {
  /** `SLOT PLACE`. */
  readonly name: string;
  readonly pickup: number;
  readonly coils: readonly PlaceCoil[];
  /** Whether it is known which way the coils swing. */
  readonly isSignKnown: boolean;
}

/** All places of what is fitted, in the order of the slots and of their coils. */
export function placesOf(pickups: readonly FittedPickup[]): Place[] {
  return pickups.flatMap(({ slot, coils, map }, pickup) => {
    const places = new Map<string, PlaceCoil[]>();
    const unsigned = new Set<string>();
    const add = (place: string, coil: PlaceCoil): void => void places.set(place, [...(places.get(place) ?? []), coil]);
    const ohms = new Map<string, number>();
    for (const { place, ohm } of coils) if (place !== null && place !== undefined) ohms.set(place, (ohms.get(place) ?? 0) + (ohm ?? 0));
    coils.forEach((one, coil) => {
      const { name, place = null, plus, ohm, parts = [], inner } = one;
      // No steel reaches the lower one of two stacked coils.
      if (inner === true) return;
      const heard: { at: string; sense: 1 | -1 }[] = parts.length > 0
        ? parts.map((part) => ({ at: part.place, sense: part.sense === -1 ? -1 : 1 }))
        : [{ at: place ?? name, sense: 1 }];
      for (const { at, sense } of heard) {
        const whole = ohms.get(at) ?? 0;
        add(at, { pickup, coil, sense, weight: parts.length > 0 || whole <= 0 ? 1 : (ohm ?? 0) / whole });
        if (plus === null) unsigned.add(at);
      }
    });
    // Steel at a broken coil drives nothing, and can be laid there all the same.
    for (const { ohm, place } of map.coils)
      if (ohm === null && place !== null && place !== undefined && !places.has(place)) places.set(place, []);
    return [...places].map(([place, some]) => ({
      name: `${slot.slot} ${place}`, pickup, coils: some, isSignKnown: !unsigned.has(place),
    }));
  });
}

/** The place that a text means: its name, the slot and a coil's name, or the slot alone where there is one place; null for none. */
export function placeNamed(text: string, places: readonly Place[], pickups: readonly FittedPickup[]): Place | null {
  const exact = places.find(({ name }) => name === text);
  if (exact !== undefined) return exact;
  for (const [at, { slot, coils }] of pickups.entries()) {
    const own = places.filter(({ pickup }) => pickup === at);
    if (text === slot.slot && own.length === 1) return own[0]!;
    const coil = coils.findIndex(({ name }) => `${slot.slot} ${name}` === text);
    const found = own.filter(({ coils: some }) => some.some((one) => one.coil === coil));
    if (coil >= 0 && found.length === 1) return found[0]!;
  }
  return null;
}
