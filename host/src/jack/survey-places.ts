/** What can be touched on a guitar whose pickups nobody knows: the person names it. */
import type { Slot } from '../harness/harness.ts';
import { describe } from '../files/field-walk.ts';
import { printable } from '../text/printable.ts';

/** Names that are proposed: a slot with a link is one for a pickup of two coils. */
export function proposedPlaces(slots: readonly Slot[]): string {
  return slots.flatMap(({ slot, link }) => (link === undefined ? [slot] : [`${slot} upper`, `${slot} lower`])).join(', ');
}

/** Places that a guitar may have at most, 8 slots of 3 coils. */
const PLACES_most = 24;
const NAME_most = 100;

/** What is wrong with them, in a sentence; null when nothing is. */
export function placesProblem(places: readonly string[], slots: readonly Slot[]): string | null {
  if (places.length === 0 || places.length > PLACES_most) return `${places.length} places; expected 1 to ${PLACES_most}.`;
  for (const place of places) {
    const shown = describe(printable(place, 60));
    if (place.length > NAME_most) return `${shown} is too long; expected ${NAME_most} letters at most.`;
    if (slots.length > 0 && !slots.some(({ slot }) => place === slot || place.startsWith(`${slot} `)))
      return `${shown} is no place; expected SLOT PLACE, with a slot of ${slots.map(({ slot }) => slot).join(', ')}.`;
  }
  return null;
}
