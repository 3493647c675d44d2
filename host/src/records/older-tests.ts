/** Tests that an older program kept, taken over into the stock: each becomes a pickup of its own, since nobody had said which were one. */
import { createHash } from 'node:crypto';
import { asBenchRecord } from '../files/bench-file.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { factsOf, isVirtualRecord, NO_FACTS } from './facts.ts';
import { pickupSteps, testSteps, type Evidence, type NewTest } from './keeping.ts';
import { packRecord, packText } from './packing.ts';
import { OLDER_TESTS } from './schema.ts';
import { row, rows, type Dialect, type Steps } from './work.ts';

/** Takes all of them over, in one transaction with the step of the schema; their numbers stay. */
export function* takeOlderTests(dialect: Dialect): Steps<void> {
  for (let before = -1; ;) {
    const older = yield* row(`SELECT id, taken, title, verdict, record, map FROM ${OLDER_TESTS} WHERE id > ? ORDER BY id LIMIT 1`, before);
    if (older === undefined) break;
    before = Number(older.id);
    const { test, evidence } = readOlder(older as Readonly<Record<string, string>>);
    const { pickup, title, isVirtual, taken } = test;
    yield* pickupSteps(dialect, { uid: pickup, lot: null, place: null, number: null, title, isVirtual, added: taken }, 'next');
    const made = yield* testSteps(dialect, test, evidence);
    if (made !== before) {
      yield* rows('UPDATE evidence SET test = ? WHERE test = ?', -1, made);
      yield* rows('UPDATE tests SET id = ? WHERE id = ?', before, made);
      yield* rows('UPDATE evidence SET test = ? WHERE test = ?', before, -1);
      yield* rows('UPDATE pickups SET test = ? WHERE test = ?', before, made);
    }
  }
  yield* rows(`DROP TABLE ${OLDER_TESTS}`);
}

/** The same uid whenever it is made, so that a copy of the file that is taken over too brings no test twice. */
function uidOf(older: Readonly<Record<string, string>>, what: string): string {
  return createHash('sha256').update(JSON.stringify([what, older.id, older.taken, older.record, older.map])).digest('hex').slice(0, 32);
}

/** Text that nobody can read is kept as it stands. */
function readOlder(older: Readonly<Record<string, string>>): { readonly test: NewTest; readonly evidence: Evidence } {
  const { taken, title, verdict } = older;
  const common = { uid: uidOf(older, 'test'), pickup: uidOf(older, 'pickup'), taken, title, isBroken: false };
  try {
    const record = asBenchRecord(JSON.parse(older.record));
    const map = JSON.parse(older.map) as WireMap;
    return {
      test: {
        ...common, isVirtual: isVirtualRecord(record), module: (record.tester?.solver ?? '').replace('sha256:', ''),
        serial: record.tester?.serial ?? '', facts: factsOf(record, map),
      },
      evidence: { record: packRecord(record), map: packText(older.map) },
    };
  } catch {
    return {
      test: { ...common, isVirtual: false, module: '', serial: '', facts: { ...NO_FACTS, verdict } },
      evidence: { record: packText(older.record), map: packText(older.map) },
    };
  }
}
