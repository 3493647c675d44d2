/** Which coils of a wire map are sections of one winding, a lead in between. */
import type { WireMap, WireMapCoil } from './wiremap.ts';

/** Coils by the winding that they are sections of, both in the order of the map. @param coils - those that are asked about */
export function sectionsOf(coils: readonly WireMapCoil[], pairs: WireMap['pairs']): WireMapCoil[][] {
  const groups: WireMapCoil[][] = [];
  for (const coil of coils) {
    const own = groups.find((group) => group.some(({ name }) =>
      pairs.some(({ a, b, witnesses }) => witnesses.includes('one_winding') && [a, b].includes(name) && [a, b].includes(coil.name))));
    if (own === undefined) groups.push([coil]);
    else own.push(coil);
  }
  return groups;
}

/** Whether two sections of one winding meet at a clip, or at what is joined to it inside. */
export function isTap({ coils, pairs, joined }: Pick<WireMap, 'coils' | 'pairs' | 'joined'>, clip: number): boolean {
  const node = joined.find((group) => group.includes(clip)) ?? [clip];
  const here = coils.filter(({ ends }) => node.some((one) => ends?.includes(one))).map(({ name }) => name);
  return pairs.some(({ a, b, witnesses }) => witnesses.includes('one_winding') && here.includes(a) && here.includes(b));
}

/**
 * Inductance of a winding from end to end; null where a section's is not known. What one section makes runs through the turns of the
 * next as well: each two add twice their mutual inductance, which is the root of their product where it was not measured.
 */
export function windingHenry(sections: readonly WireMapCoil[], pairs: WireMap['pairs']): number | null {
  let henry = 0;
  for (const [at, { name, inductance_H: own }] of sections.entries()) {
    if (own === undefined) return null;
    henry += own;
    for (const { name: other, inductance_H: before = 0 } of sections.slice(0, at)) {
      const pair = pairs.find(({ a, b }) => [a, b].includes(name) && [a, b].includes(other));
      henry += 2 * Math.abs(pair?.mutual_H ?? Math.sqrt(own * before));
    }
  }
  return henry;
}

/** All windings of a map in series, the coupling between windings left out; null unless each is known. */
export function wholeHenry({ coils, pairs }: WireMap): number | null {
  if (coils.length === 0) return null;
  let henry = 0;
  for (const sections of sectionsOf(coils, pairs)) {
    const own = windingHenry(sections, pairs);
    if (own === null || !Number.isFinite(own)) return null;
    henry += own;
  }
  return henry;
}
