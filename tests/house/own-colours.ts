/**
 * The colours of our own pickups: no two of red, white, black and green in one of them. What makers print in their
 * tables is mostly made of these four, and a lead of ours shall never be read as one of theirs.
 */

/** Codes of IEC 60757 of which a pickup of ours has one at most. */
const TELLING = ['RD', 'WH', 'BK', 'GN'] as const;

/** Which of the four stand among the leads of a pickup; of two colours on one wire the first counts.
 * @param colours - codes, or `BARE`; undefined where none was noted
 */
export function tellingColours(colours: readonly (string | undefined)[]): string[] {
  return TELLING.filter((code) => colours.some((colour) => colour !== 'BARE' && colour?.startsWith(code)));
}

/** The colours of a shuffled list that one pickup may have together, in their order. */
export function ownColours(shuffled: readonly string[]): string[] {
  const kept: string[] = [];
  for (const colour of shuffled) if (tellingColours([...kept, colour]).length <= 1) kept.push(colour);
  return kept;
}

/** The colours of each pickup that a parsed document holds: of every list whose entries have a `colour`. */
export function pickupsIn(document: unknown): string[][] {
  if (typeof document !== 'object' || document === null) return [];
  const inside = Object.values(document).flatMap(pickupsIn);
  if (!Array.isArray(document)) return inside;
  const colours = document.map((entry) => (entry as { colour?: unknown } | null)?.colour)
    .filter((colour) => typeof colour === 'string');
  return colours.length > 0 ? [colours, ...inside] : inside;
}
