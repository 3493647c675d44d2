/** A bench record into the module's evidence, as the very entries that a tester would have sent. */
import type { BenchRecord, BenchTouch } from '../files/bench-record.ts';
import { EntryKind, MAX_PLACES } from '../logic/layout.generated.ts';
import type { Logic } from '../logic/module.ts';
import { loadCapture, voltsChannel } from './capture.ts';
import { heardChannels, partsOf, type Groups } from './channels.ts';
import { applyFields, type EntryFields } from './entry.ts';
import { loadBegin, READINGS } from './readings.ts';

/** A field of a record that the module does not take although its form is right. */
export class RefusedEvidence extends Error {
  constructor(path: string) {
    super(`${path}: the solver has no room or no use for this; expected evidence of one pickup`);
    this.name = 'RefusedEvidence';
  }
}

/** Fills the evidence block from a record.
 * @param record - checked by `asBenchRecord`
 * @returns the names of the places, by the index that the module knows them by
 * @throws RefusedEvidence
 */
export function loadRecord(logic: Logic, record: BenchRecord): readonly string[] {
  const names = placesOf(record);
  // Readings at any further place count as readings without one.
  const numbered = names.slice(0, MAX_PLACES);
  const context = { places: new Map(numbered.map((name, number) => [name, number])), tester: record.tester };
  const parts = partsOf(record);
  let number = 0;
  const apply = (path: string, fields: EntryFields): void => {
    const refusal = applyFields(logic, number, fields);
    number += 1;
    if (refusal !== 0) throw new RefusedEvidence(path);
  };
  logic.calls.evidenceClear();
  apply('clips', loadBegin(record, numbered.length));
  for (const [list, { kinds, load }] of READINGS) {
    record[list]?.forEach((reading, index) => {
      if (list === 'touches') capture(logic, reading as BenchTouch, parts);
      load(reading, context).forEach((fields, at) => apply(`${list}[${index}]`, { ...fields, kind: kinds[at]! }));
    });
  }
  apply('record', { kind: EntryKind.end });
  return names;
}

/** What a touch's entry speaks of, to where the module looks for it. */
function capture(logic: Logic, { channels, rate_Hz, start_s }: BenchTouch, parts: Groups): void {
  const loaded = heardChannels(channels, parts).map(({ plus, minus, volts_V }) => voltsChannel(plus, minus, volts_V));
  loadCapture(logic, loaded, rate_Hz, start_s);
}

/** Places in the order in which they were asked for: as listed, else as they first occur. */
export function placesOf(record: BenchRecord): readonly string[] {
  const names = new Set(record.places);
  for (const list of [record.touches, record.magnets, record.observed]) {
    for (const { at } of list ?? []) if (at !== undefined) names.add(at);
  }
  return [...names];
}
