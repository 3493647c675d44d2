/** A pickup whose magnet was turned over, as its wire map then is; its leads stay where they are. */
import type { Fitted } from '../harness/harness.ts';
import type { MapWithColours } from '../harness/fitted-pickup.ts';

/**
 * All poles turn over, and with them which end is plus (file-formats.md, "Sign conventions"); the sense of a winding from
 * minus to plus turns with its pole. Mutual inductances, taken at both plus, stay as they are; where the
 * plus of just one coil is known they turn over, since the other is taken at an end that stays.
 */
export function turnedMap({ map, colours }: MapWithColours): MapWithColours {
  const over = (pole: 'N' | 'S' | null): 'N' | 'S' | null => (pole === null ? null : pole === 'N' ? 'S' : 'N');
  const coils = map.coils.map((coil) => ({
    ...coil,
    minus: coil.plus,
    plus: coil.minus,
    pole: over(coil.pole ?? null),
    ...(coil.winding === undefined ? {} : { winding: coil.winding === 'cw' ? ('ccw' as const) : ('cw' as const) }),
    ...(coil.parts === undefined ? {} : { parts: coil.parts.map((part) => ({ ...part, pole: over(part.pole) })) }),
  }));
  const isKnown = (name: string): boolean => map.coils.some((coil) => coil.name === name && coil.plus !== null);
  const pairs = map.pairs?.map(({ mutual_H, ...pair }) => ({
    ...pair, ...(mutual_H === undefined ? {} : { mutual_H: isKnown(pair.a) === isKnown(pair.b) ? mutual_H : -mutual_H }),
  }));
  return { map: { ...map, coils, ...(pairs === undefined ? {} : { pairs }) }, colours };
}

/** The same leads on the same nodes, in the words of the turned map. */
export function turnedFitted(fitted: Fitted): Fitted {
  const { way } = fitted;
  if (way === undefined) return fitted;
  const { turned = false, kind, coils } = way;
  const order = kind === 'series' ? [...coils].reverse() : coils;
  return { ...fitted, way: { kind, coils: order, ...(turned ? {} : { turned: true }) } };
}

/** What is still to be done where magnets are turned here only. @param turned - slots */
export function turnedWords(turned: readonly string[]): string {
  return turned.length === 0
    ? '' : ` Its wire map of ${turned.join(', ')} is still that of before: once the magnet is turned, test it anew.`;
}
