/** Records of one harness as evidence on it. */
import type { TouchReader } from '../evidence/touch-reader.ts';
import type { BenchRecord } from '../files/bench-record.ts';
import { describe, FieldError } from '../files/field-walk.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import { NodeNames } from '../harness/node-names.ts';
import type { Evidence } from './likelihood.ts';
import { placeNamed, placesOf, type Place } from './places.ts';
import { readingOf, type JackReading, type Naming } from './reading.ts';

/** Records that were checked, with the names of where they stand. */
export interface NamedRecord {
  readonly source: string;
  readonly record: BenchRecord;
}

/** A record that does not fit its harness. */
export class MisfitRecord extends Error {
  readonly source: string;

  constructor(source: string, message: string) {
    super(message);
    this.name = 'MisfitRecord';
    this.source = source;
  }
}

/** Reads records against a harness.
 * @param wired - as `wiredOf` gives it
 * @throws MisfitRecord naming the record's field, what stood there and what was expected
 */
export function evidenceOf(wired: LoadedHarness, records: readonly NamedRecord[], reader: TouchReader): Evidence {
  const places = placesOf(wired.pickups);
  const place = (text: string): number => places.indexOf(placeNamed(text, places, wired.pickups)!);
  const readings = readingsOf(wired, records, reader, (path, text) => {
    if (placeNamed(text, places, wired.pickups) === null) throw new FieldError(path, `${describe(text)} is no place of this harness`, expected(places));
  });
  return {
    readings: isInductanceKnown(wired) ? readings : readings.map((one) => ({ ...one, inductance: null, omega: null })),
    places, placeOf: readings.map(({ swings }) => swings.map(({ at }) => place(at))),
  };
}

/** Whether every coil that is fitted has an inductance, so that one that is read can be compared. */
function isInductanceKnown({ pickups }: LoadedHarness): boolean {
  return pickups.every(({ bank }) => bank.coils.every(({ henry_H }) => henry_H > 0));
}

function expected(places: readonly Place[]): string {
  return places.length === 0 ? 'none, since no pickup is fitted' : `SLOT PLACE, one of ${places.map(({ name }) => name).join(', ')}`;
}

/** Readings of records, whatever is fitted. @param checkPlace - refuses a place with a FieldError */
export function readingsOf(
  { harness, pickups }: LoadedHarness,
  records: readonly NamedRecord[],
  reader: TouchReader,
  checkPlace: Naming['checkPlace'],
): JackReading[] {
  const naming: Naming = {
    harness,
    leads: new Map(pickups.map(({ slot, leads }, pickup) => [slot.slot, { pickup, clips: leads.clips }])),
    nodes: new Set(new NodeNames(harness).all()),
    checkPlace,
  };
  return records.map(({ source, record }) => {
    try {
      return readingOf(record, source, naming, reader);
    } catch (error) {
      if (error instanceof FieldError) throw new MisfitRecord(source, error.message);
      throw error;
    }
  });
}
