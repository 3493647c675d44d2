/** A pickup whose magnet was turned over, as its wire map then is; its leads stay where they are. */
import type { Fitted } from '../harness/harness.ts';
import type { MapWithColours } from '../harness/fitted-pickup.ts';

/**
 * All poles turn over, and with them which end is plus (file-formats.md, "Sign conventions"); the sense of a winding from
 * minus to plus turns with its pole. Mutual inductances, taken at both plus, stay as they are.
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
  return { map: { ...map, coils }, colours };
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
