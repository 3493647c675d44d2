/** Leads and lists as a person reads them. */
import { colourInWords } from './colours.ts';

/** Colour code by clip; a clip without one is named by its number alone. */
export type LeadColours = ReadonlyMap<number, string | undefined>;

/** A lead as a person finds it: `clip 2, yellow (YE)`. */
export function leadInWords(clip: number, colours: LeadColours): string {
  const colour = colours.get(clip);
  return colour === undefined ? `clip ${clip}` : `clip ${clip}, ${colourInWords(colour)}`;
}

/** Several of them: `clip 1, blue (BU); clip 2, yellow (YE)`. */
export function leadsInWords(clips: readonly number[], colours: LeadColours): string {
  return clips.map((clip) => leadInWords(clip, colours)).join('; ');
}

/** Why a coil with `hidden_end` cannot be wired, and has no ohms of its own. */
export const HIDDEN_END = 'one of its ends lies inside, at a point that no lead reaches';

/** `a`, `a and b`, `a, b and c`. */
export function listInWords(items: readonly (string | number)[]): string {
  return items.length < 2 ? items.join('') : `${items.slice(0, -1).join(', ')} and ${items.at(-1)}`;
}
