/** Pickups that their colours do not tell apart and that are to be wired differently. */
import { colourInWords } from './colours.ts';
import type { LeadColours } from './lead-words.ts';
import type { WireMapCoil } from './wiremap.ts';

/** A pickup by the name that a person knows it by. */
export interface NamedPickup {
  readonly name: string;
  readonly map: { readonly coils: readonly WireMapCoil[] };
  readonly colours: LeadColours;
}

/** In what two of them differ: which end is plus, the magnetic pole, which coil lies where, which leads are a coil. */
export type LookAlikeDifference = 'plus' | 'pole' | 'order' | 'pairs';

export interface LookAlike {
  readonly pickups: readonly [string, string];
  readonly differs: readonly LookAlikeDifference[];
  /** One sentence or several: what is alike, what is not, what to do. */
  readonly text: string;
}

/** Coils of one set, front and rear, differ by up to a third in resistance: common practice, no published source. */
const LIKE_ratio = 1.5;

/** A coil as its colours name it. */
interface Colouring {
  readonly coil: WireMapCoil;
  /** The colours of both ends, in alphabetical order. */
  readonly pair: string;
  readonly words: string;
  readonly plus: string | null;
}

/** Each two of some pickups that have the same colours and like coils and yet differ. */
export function lookAlikes(pickups: readonly NamedPickup[]): LookAlike[] {
  return pickups.flatMap((one, at) => pickups.slice(at + 1).flatMap((other) => {
    const found = compared(one, other);
    return found === null ? [] : [found];
  }));
}

function compared(one: NamedPickup, other: NamedPickup): LookAlike | null {
  const [a, b] = [colourings(one), colourings(other)];
  if (a === null || b === null || a.length !== b.length || colourSet(a) !== colourSet(b)) return null;
  const sentences: string[] = [];
  const differs = new Set<LookAlikeDifference>();
  const isPaired = a.every(({ pair }) => b.some((each) => each.pair === pair));
  if (!isPaired) {
    if (!isLike([...a].map(ohm).sort(rising), [...b].map(ohm).sort(rising))) return null;
    differs.add('pairs');
    const pairs = (some: readonly Colouring[]): string => some.map(({ pair }) => pair.split(',').map(colourInWords).join(' with ')).join(', ');
    sentences.push(`the coils of ${one.name} are ${pairs(a)}, those of ${other.name} are ${pairs(b)}`);
  } else {
    const partners = a.map(({ pair }) => b.find((each) => each.pair === pair)!);
    if (!isLike(a.map(ohm), partners.map(ohm))) return null;
    const turned = a.filter(({ plus }, at) => plus !== null && partners[at]!.plus !== null && plus !== partners[at]!.plus);
    if (turned.length > 0) {
      differs.add('plus');
      for (const coil of turned) {
        const partner = partners[a.indexOf(coil)]!;
        sentences.push(`of ${coil.words} plus is ${colourInWords(coil.plus!)} in ${one.name} and ${colourInWords(partner.plus!)} in ${other.name}`);
      }
    }
    a.forEach((coil, at) => {
      const [mine, theirs] = [coil.coil, partners[at]!.coil];
      if (mine.pole !== null && theirs.pole !== null && mine.pole !== theirs.pole) {
        differs.add('pole');
        sentences.push(`${coil.words} shows ${mine.pole} in ${one.name} and ${theirs.pole} in ${other.name}`);
      }
      if (a.length > 1 && mine.place !== null && theirs.place !== null && mine.place !== theirs.place &&
        b.some(({ coil: { place } }) => place === mine.place)) {
        differs.add('order');
        sentences.push(`${coil.words} is the coil "${mine.place}" in ${one.name} and "${theirs.place}" in ${other.name}`);
      }
    });
  }
  if (differs.size === 0) return null;
  return {
    pickups: [one.name, other.name],
    differs: [...differs],
    text: `${one.name} and ${other.name} look alike, with the same colours and like coils, but are not: ${sentences.join('; ')}. ` +
      'Mark them before you solder, and go by this list, not by what you know of the other one.',
  };
}

/** Null where a colour of an end is missing or stands twice: colours then name nothing. */
function colourings({ map, colours }: NamedPickup): Colouring[] | null {
  const coils = map.coils.filter(({ ends, ohm }) => ends !== null && ohm !== null);
  if (coils.length === 0) return null;
  const clips = [...new Set(coils.flatMap(({ ends }) => ends as readonly [number, number]))];
  const known = clips.map((clip) => colours.get(clip));
  if (known.includes(undefined) || new Set(known).size < clips.length) return null;
  return coils.map((coil) => {
    const ends = (coil.ends as readonly [number, number]).map((clip) => colours.get(clip)!).sort();
    return { coil, pair: ends.join(), words: ends.map(colourInWords).join(' and '), plus: coil.plus === null ? null : colours.get(coil.plus)! };
  });
}

function colourSet(coils: readonly Colouring[]): string {
  return [...new Set(coils.flatMap(({ pair }) => pair.split(',')))].sort().join();
}

function ohm({ coil }: Colouring): number {
  return coil.ohm!;
}

function rising(a: number, b: number): number {
  return a - b;
}

function isLike(some: readonly number[], others: readonly number[]): boolean {
  return some.every((value, at) => Math.max(value, others[at]!) <= LIKE_ratio * Math.min(value, others[at]!));
}
