/** Kept tests solved again: the module that made a map makes the same bytes of the same evidence, and a newer one says what it makes otherwise. */
import { asBenchRecord } from '../files/bench-file.ts';
import type { BenchRecord } from '../files/bench-record.ts';
import { FieldError } from '../files/field-walk.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { keptMap } from './kept-map.ts';
import { mapChanges } from './map-changes.ts';
import type { ReadEvidence } from './searching.ts';

export type Again =
  | { readonly kind: 'same' }
  /** Another module than the one that made the kept map. */
  | { readonly kind: 'changed'; readonly changes: readonly string[] }
  /** The very module that made the kept map: a fault of the program, or somebody has changed the file. */
  | { readonly kind: 'differs'; readonly changes: readonly string[] }
  | { readonly kind: 'damaged'; readonly reason: string };

/** @param solve - what this program makes of a record @param module - SHA-256 of its module */
export function solvedAgain(
  kept: ReadEvidence | { readonly damaged: string }, solve: (record: BenchRecord) => WireMap, module: string,
): Again {
  if ('damaged' in kept) return { kind: 'damaged', reason: kept.damaged };
  const before = keptMap(kept.map);
  if ('damaged' in before) return { kind: 'damaged', reason: before.damaged };
  try {
    const after = solve(asBenchRecord(kept.record));
    if (JSON.stringify(after) === kept.map) return { kind: 'same' };
    return { kind: kept.module === module ? 'differs' : 'changed', changes: mapChanges(before.map, after) };
  } catch (error) {
    if (error instanceof FieldError) return { kind: 'damaged', reason: error.message };
    throw error;
  }
}
