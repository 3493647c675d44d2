/** Log entries, the one way in for evidence: numbers to the 32 bytes at ENTRY, and applied. */
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
  view.setUint16(ENTRY + LogEntryLayout.number.at, number, true);
  bytes[ENTRY + LogEntryLayout.kind.at] = fields.kind;
  bytes[ENTRY + LogEntryLayout.flags.at] = fields.flags ?? 0;
  bytes[ENTRY + LogEntryLayout.a.at] = fields.a ?? 0;
  bytes[ENTRY + LogEntryLayout.b.at] = fields.b ?? 0;
  bytes[ENTRY + LogEntryLayout.c.at] = fields.c ?? 0;
  bytes[ENTRY + LogEntryLayout.d.at] = fields.d ?? 0;
  bytes[ENTRY + LogEntryLayout.place.at] = fields.place ?? NONE;
  view.setUint16(ENTRY + LogEntryLayout.count.at, Math.min(fields.count ?? 0, 0xffff), true);
  view.setFloat32(ENTRY + LogEntryLayout.v0.at, fields.v0 ?? 0, true);
  view.setFloat32(ENTRY + LogEntryLayout.v1.at, fields.v1 ?? 0, true);
  view.setFloat32(ENTRY + LogEntryLayout.v2.at, fields.v2 ?? 0, true);
  view.setFloat32(ENTRY + LogEntryLayout.v3.at, fields.v3 ?? 0, true);
  view.setFloat32(ENTRY + LogEntryLayout.extra.at, fields.extra ?? 0, true);
  return logic.calls.applyEntry();
}

/** Applies the 32 bytes of an entry as a tester sent them. @returns 0, or the module's `Refusal` */
export function applyBytes(logic: Logic, entry: Uint8Array): number {
  logic.bytes.set(entry, ENTRY);
  return logic.calls.applyEntry();
}

/** The fields of an entry as a tester sent it. */
export function readEntry(entry: Uint8Array): Required<EntryFields> & { readonly number: number } {
  const view = new DataView(entry.buffer, entry.byteOffset, entry.byteLength);
  const byte = (field: { readonly at: number }): number => view.getUint8(field.at);
  const float = (field: { readonly at: number }): number => view.getFloat32(field.at, true);
  return {
    number: view.getUint16(LogEntryLayout.number.at, true),
    kind: byte(LogEntryLayout.kind),
    flags: byte(LogEntryLayout.flags),
    a: byte(LogEntryLayout.a),
    b: byte(LogEntryLayout.b),
    c: byte(LogEntryLayout.c),
    d: byte(LogEntryLayout.d),
    place: byte(LogEntryLayout.place),
    count: view.getUint16(LogEntryLayout.count.at, true),
    v0: float(LogEntryLayout.v0),
    v1: float(LogEntryLayout.v1),
    v2: float(LogEntryLayout.v2),
    v3: float(LogEntryLayout.v3),
    extra: float(LogEntryLayout.extra),
  };
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
