/** Log entries, the one way in for evidence: numbers to the 32 bytes at ENTRY, and applied. */
import { readBlock, writeBlock } from '../logic/fields.ts';
import { ENTRY, LogEntryLayout, NONE } from '../logic/layout.generated.ts';
import type { Logic } from '../logic/module.ts';

/** What an entry holds; see `LogEntry` in the module's layout. Fields left out are 0, an absent place is NONE. */
export interface EntryFields {
  readonly kind: number;
  readonly flags?: number;
  readonly a?: number;
  readonly b?: number;
  readonly c?: number;
  readonly d?: number;
  readonly place?: number;
  readonly count?: number;
  readonly v0?: number;
  readonly v1?: number;
  readonly v2?: number;
  readonly v3?: number;
  readonly extra?: number;
}

/** Writes an entry at ENTRY and applies it to the evidence.
 * @param number - of the entry in its test, from 0
 * @returns 0, or the module's `Refusal`
 */
export function applyFields(logic: Logic, number: number, fields: EntryFields): number {
  const { view, bytes } = logic;
  bytes.fill(0, ENTRY, ENTRY + LogEntryLayout.size);
  writeBlock(view, ENTRY, LogEntryLayout, {
    ...fields,
    number,
    place: fields.place ?? NONE,
    count: Math.min(fields.count ?? 0, 0xffff),
  });
  return logic.calls.applyEntry();
}

/** Applies the 32 bytes of an entry as a tester sent them. @returns 0, or the module's `Refusal` */
export function applyBytes(logic: Logic, entry: Uint8Array): number {
  logic.bytes.set(entry, ENTRY);
  return logic.calls.applyEntry();
}

/** The fields of an entry as a tester sent it. */
export function readEntry(entry: Uint8Array): Required<EntryFields> & { readonly number: number } {
  return readBlock(new DataView(entry.buffer, entry.byteOffset, entry.byteLength), 0, LogEntryLayout);
}

/** Shortest decimal that single precision reads as the same number; what files hold. */
export function shortFloat(value: number): number {
  const single = Math.fround(value);
  for (let digits = 1; digits < 9; digits++) {
    const short = Number(single.toPrecision(digits));
    if (Math.fround(short) === single) return short;
  }
  return Number(single.toPrecision(9));
}
