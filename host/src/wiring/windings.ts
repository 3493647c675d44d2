/** What a person wires: whole windings and their taps, by the names that the trade has for them. */
import { printable } from '../text/printable.ts';
import { listInWords } from '../wiremap/lead-words.ts';
import { sectionsOf } from '../wiremap/sections.ts';
import type { WireMap, WireMapCoil } from '../wiremap/wiremap.ts';

/** A winding that can be wired: one coil, or the sections of a tapped one. */
export interface Winding {
  /** `upper`, `coil 2`; `the whole winding` where there is no other. */
  readonly label: string;
  /** Names of the sections from minus to plus. */
  readonly chain: readonly string[];
  /** What each section is called by itself. */
  readonly sections: readonly string[];
  readonly isTapped: boolean;
}

/** The windings whose ends can be told apart, those that a place names in the order in which they stand in the map. */
export function windingsOf({ coils, pairs, joined }: WireMap): Winding[] {
  const usable = coils.filter(({ plus, minus, ohm }) => plus !== null && minus !== null && ohm !== null && ohm > 0);
  const groups = sectionsOf(usable, pairs);
  const places = groups.map(([first]) => first!.place);
  return groups.map((group, at) => {
    const place = places[at] ?? null;
    const isPlaceOwn = place !== null && places.filter((other) => other === place).length === 1;
    const chain = fromMinusToPlus(group, joined).map(({ name }) => name);
    const isTapped = chain.length > 1;
    const label = groups.length === 1
      ? isTapped ? 'the whole winding' : chain[0]!
      : isPlaceOwn ? printable(place) : isTapped ? `the winding of ${listInWords(chain)}` : chain[0]!;
    return { label, chain, sections: isTapped ? chain.map((name) => `${name}, a tap${groups.length === 1 ? '' : ` of ${label}`}`) : [label], isTapped };
  });
}

/** Whether a coil is a section of a winding that has more. */
export function isSectionOfMore({ name }: WireMapCoil, { coils, pairs }: WireMap): boolean {
  return sectionsOf(coils, pairs).some((group) => group.length > 1 && group.some((coil) => coil.name === name));
}

/** Sections of one winding, each plus on the next minus. */
function fromMinusToPlus(sections: readonly WireMapCoil[], joined: WireMap['joined']): WireMapCoil[] {
  const node = (clip: number): number => Math.min(clip, ...(joined.find((group) => group.includes(clip)) ?? []));
  const left = [...sections];
  const isLowest = ({ minus }: WireMapCoil): boolean => !sections.some(({ plus }) => node(plus!) === node(minus!));
  const start = Math.max(0, left.findIndex(isLowest));
  const chain = left.splice(start, 1);
  while (left.length > 0) {
    const next = left.findIndex(({ minus }) => node(minus!) === node(chain.at(-1)!.plus!));
    chain.push(...left.splice(Math.max(0, next), 1));
  }
  return chain;
}
