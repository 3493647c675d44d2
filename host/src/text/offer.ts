/** What is offered to whoever wrote a word that is not known. */
import { editDistance } from './edit-distance.ts';

/** `did you mean X?`, or the whole list when nothing is near. */
export function offer(given: string, known: readonly string[]): string {
  const nearest = nearestOf(given, known);
  return nearest === null ? `expected one of ${known.join(', ')}` : `did you mean ${nearest}?`;
}

/** The nearest of some words, or null when all are farther than half of it. */
export function nearestOf(given: string, known: readonly string[]): string | null {
  let best: string | null = null;
  let least = Infinity;
  for (const word of known) {
    const distance = editDistance(given.slice(0, 40), word);
    if (distance < least) [best, least] = [word, distance];
  }
  const letters = best?.replace(/^-+/, '').length ?? 0;
  return least <= Math.max(1, Math.floor(letters / 2)) ? best : null;
}
