/** What can be done where the plus and minus of a coil are not known. */
import { listInWords } from '../wiremap/lead-words.ts';
import type { WireMapCoil } from '../wiremap/wiremap.ts';

/** What would tell them: a touch, the coupling of an inner stacked coil, or nothing as long as what is inside works against itself. */
export type MissingPlus = 'touch' | 'coupling' | 'mending';

/** Null where plus is known. */
export function missingPlus({ plus, inner, parts = [] }: WireMapCoil): MissingPlus | null {
  if (plus !== null) return null;
  if (inner === true) return 'coupling';
  return parts.some(({ sense }) => sense === 1) && parts.some(({ sense }) => sense === -1) ? 'mending' : 'touch';
}

const SAID: Readonly<Record<MissingPlus, (names: string, it: 'it' | 'them') => string>> = {
  touch: (names, it) => `test ${it} again and touch ${names} with steel`,
  coupling: (names, it) =>
    `no steel reaches ${names}, which ${it === 'it' ? 'is' : 'are'} stacked inside: measure the coupling with the coil above`,
  mending: (names, it) =>
    `what is inside ${names} works against itself, and no touch and no exchange of leads changes that: mend ${it} inside, as the wire map says`,
};

/** What to do about it, a clause for each kind. @param open - names of coils, and what is missing of each */
export function missingPlusInWords(open: readonly { readonly name: string; readonly missing: MissingPlus }[]): string {
  return (['touch', 'coupling', 'mending'] as const).flatMap((kind) => {
    const names = open.filter(({ missing }) => missing === kind).map(({ name }) => name);
    return names.length === 0 ? [] : [SAID[kind](listInWords(names), names.length === 1 ? 'it' : 'them')];
  }).join('; ');
}
