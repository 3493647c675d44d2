/** What two tests of one pickup must have in common: every word and every lead exactly, each figure within its own uncertainty. */
import { expect } from 'vitest';
import type { WireMap, WireMapCoil, WireMapPair } from '../../host/src/wiremap/wiremap.ts';

/** Figures of a coil that stand with their uncertainty. */
const COIL_FIGURES = [
  ['ohm', 'u_ohm'],
  ['capacitance_F', 'u_capacitance_F'],
  ['loss_ohm', 'u_loss_ohm'],
  ['loss_s', 'u_loss_s'],
] as const satisfies readonly (readonly [keyof WireMapCoil, keyof WireMapCoil])[];
/** Figures that follow from those, or that no map gives an uncertainty for. */
const DERIVED = ['ohm_20C', 'inductance_H', 'resonance_Hz', 'q', 'confidence'] as const satisfies readonly (keyof WireMapCoil)[];
/** Five times the uncertainty of the difference of two independent readings. */
const MOST_SIGMAS = 5 * Math.SQRT2;

/** Fails where two tests of one pickup say different things: noise may change a figure, and nothing else.
 * @param map - of the one test
 * @param other - of the other
 * @param which - said when it fails
 */
export function expectSameMap(map: WireMap, other: WireMap, which = ''): void {
  expect(words(map), which).toEqual(words(other));
  map.coils.forEach((coil, i) => {
    for (const [figure, u] of COIL_FIGURES) near(coil, other.coils[i]!, figure, u, which);
    // A resonance goes with the root of the capacitance, and so does the quality of a coil that its eddy loss damps.
    const share = (coil.u_capacitance_F ?? 0) / (coil.capacitance_F ?? 1);
    for (const figure of ['resonance_Hz', 'q'] as const) {
      const [a, b] = [coil[figure] ?? 0, other.coils[i]![figure] ?? 0];
      expect(Math.abs(a - b), `${which} ${coil.name} ${figure}`).toBeLessThanOrEqual(MOST_SIGMAS * share * a);
    }
  });
  map.pairs.forEach((pair, i) => near(pair, other.pairs[i]!, 'mutual_H', 'u_H', which));
}

function near<T extends WireMapCoil | WireMapPair>(one: T, two: T, figure: keyof T, u: keyof T, which: string): void {
  const [a, b] = [Number(one[figure] ?? 0), Number(two[figure] ?? 0)];
  expect(Math.abs(a - b), `${which} ${String(figure)}`).toBeLessThanOrEqual(MOST_SIGMAS * Number(one[u] ?? 0));
}

/** A map with `true` where a figure stood: whether it is told at all must not differ. */
function words({ coils, pairs, ...map }: WireMap): unknown {
  const figures: readonly string[] = [...COIL_FIGURES.flat(), ...DERIVED, 'mutual_H', 'u_H'];
  const without = (one: object): object =>
    Object.fromEntries(Object.entries(one).map(([key, value]) => [key, figures.includes(key) && value !== null ? true : value]));
  return { ...map, coils: coils.map(without), pairs: pairs.map(without) };
}
