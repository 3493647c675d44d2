/** What is still to be minded of a test whose verdict is good, as it is kept beside the verdict, so that a list reads no map. */
import { doubtOf, type Doubt } from '../wiremap/doubt.ts';
import { keptMap } from './kept-map.ts';
import { DamagedEvidence, unpackText } from './packing.ts';
import { rows, type Steps } from './work.ts';

/** `untold`: nobody can read the map, or a program that knew of no doubts kept it when the column was there already. */
export const DOUBTS = ['', 'warning', 'likely', 'untold'] as const satisfies readonly (Doubt | 'untold')[];
export type KeptDoubt = (typeof DOUBTS)[number];

/** Tests that are looked at in one go. */
const PAGE = 100;

/** The doubt as it stands in a database; a word of a newer program is not told here. */
export function readDoubt(stood: unknown): KeptDoubt {
  return DOUBTS.find((doubt) => doubt === stood) ?? 'untold';
}

/** Of a map as it lies in the stock. */
function doubtOfPacked(packed: Uint8Array): KeptDoubt {
  try {
    const kept = keptMap(unpackText(packed));
    return 'damaged' in kept ? 'untold' : doubtOf(kept.map);
  } catch (error) {
    if (error instanceof DamagedEvidence) return 'untold';
    throw error;
  }
}

/** Tells the doubts of tests that were kept before there was a column for them. */
export function* tellDoubts(): Steps<void> {
  for (let after = 0; ;) {
    const found = yield* rows(
      `SELECT t.id, e.map FROM tests t JOIN evidence e ON e.test = t.id WHERE t.id > ? AND t.doubt = 'untold' ORDER BY t.id LIMIT ?`, after, PAGE);
    for (const { id, map } of found) {
      after = Number(id);
      const doubt = doubtOfPacked(map as Uint8Array);
      if (doubt !== 'untold') yield* rows('UPDATE tests SET doubt = ? WHERE id = ?', doubt, after);
    }
    if (found.length < PAGE) return;
  }
}
