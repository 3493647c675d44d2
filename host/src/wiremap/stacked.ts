/** Stacked coils: the inner one is wired by its coupling with the one above it, since no steel reaches it. */
import type { WireMap } from './wiremap.ts';

/** Times its uncertainty that a mutual inductance has to have. */
const CLEAR_u = 4;

/** What is asked of a map. */
export type Stackable = Pick<WireMap, 'coils'> & { readonly pairs?: WireMap['pairs'] };

/** A map in which every coil that can be wired has two ends to tell apart. */
export interface Wireable<Map extends Stackable = WireMap> {
  readonly map: Map;
  /** Names of inner coils: their "plus" and "minus" are those that take hum off the coil above. */
  readonly inner: ReadonlySet<string>;
}

/**
 * Names the ends of inner stacked coils.
 *
 * Stacked, current into one plus raises the other plus exactly when the poles are equal (file-formats.md, "Sign
 * conventions"), and both coils stand on one magnet. In series plus to plus the inner coil then gives the hum that the outer
 * one gives, but turned over, and of the string what little reaches it. So "plus" here is the end with a negative mutual
 * inductance to the outer coil's plus, and the pair counts as one whose poles differ.
 */
export function wireable<Map extends Stackable>(map: Map): Wireable<Map> {
  const inner = new Set<string>();
  let { pairs = [] } = map;
  const coils = map.coils.map((coil) => {
    if (coil.inner !== true || coil.ends === null) return coil;
    const above = map.coils.filter(({ plus, inner: isInner }) => plus !== null && isInner !== true);
    const pair = above.length === 1 ? pairs.find(({ a, b }) => isPair([a, b], [coil.name, above[0]!.name])) : undefined;
    if (pair?.mutual_H === undefined || !(Math.abs(pair.mutual_H) > CLEAR_u * (pair.u_H ?? 0))) return coil;
    inner.add(coil.name);
    pairs = pairs.map((one) => (one === pair ? { ...pair, poles_differ: true, mutual_H: -Math.abs(pair.mutual_H!) } : one));
    const [first, second] = [coil.minus ?? coil.ends[0], coil.plus ?? coil.ends[1]];
    return { ...coil, ...(pair.mutual_H > 0 ? { minus: second, plus: first } : { minus: first, plus: second }), pole: null };
  });
  return { map: { ...map, coils, pairs }, inner };
}

function isPair(names: readonly string[], wanted: readonly string[]): boolean {
  return wanted.every((name) => names.includes(name));
}
