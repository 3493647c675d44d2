/** The journal of the stock: all that was ever kept, in order, as it can be told to another stock, which takes each entry once. */
import { readDoubt } from './doubts.ts';
import {
  eventSteps, lotSteps, pickupSteps, testSteps, type Evidence, type NewEvent, type NewLot, type NewPickup, type NewTest,
} from './keeping.ts';
import { row, rows, type Steps, type Work } from './work.ts';

export type Entry =
  | { readonly op: 'lot'; readonly args: NewLot }
  | { readonly op: 'pickup'; readonly args: NewPickup }
  | { readonly op: 'test'; readonly args: NewTest; readonly evidence: Evidence }
  | { readonly op: 'event'; readonly args: NewEvent };

export interface NumberedEntry {
  /** Where it stands in the journal. */
  readonly seq: number;
  /** Of the virtual bench, or of a pickup of it. */
  readonly isVirtual: boolean;
  readonly entry: Entry;
}

/** Entries behind one, the oldest first.
 * @param lot - id of the only lot that is wanted, or null
 */
export function journalAfter(seq: number, most: number, lot: number | null = null): Work<NumberedEntry[]> {
  return {
    use: 'look',
    *steps() {
      const [only, values] = lot === null ? ['', []] : [' AND j.lot = ?', [lot]];
      const found = yield* rows(
        `SELECT j.id, j.op, j.args, coalesce(p.is_virtual, l.is_virtual, 0) AS is_virtual FROM journal j
         LEFT JOIN pickups p ON p.id = j.pickup LEFT JOIN lots l ON l.id = j.lot WHERE j.id > ?${only} ORDER BY j.id LIMIT ?`,
        seq, ...values, most);
      const entries: NumberedEntry[] = [];
      for (const { id, op, args, is_virtual } of found) {
        entries.push({ seq: Number(id), isVirtual: Number(is_virtual) === 1, entry: yield* entryOf(String(op), JSON.parse(String(args))) });
      }
      return entries;
    },
  };
}

function* entryOf(op: string, args: unknown): Steps<Entry> {
  if (op !== 'test') return { op, args } as Entry;
  const test = args as NewTest;
  const found = yield* row('SELECT e.record, e.map, t.doubt FROM evidence e JOIN tests t ON t.id = e.test WHERE t.uid = ?', test.uid);
  const { record, map, doubt } = found as unknown as Evidence & { readonly doubt: unknown };
  // An entry of an older program tells none.
  return { op, args: { ...test, facts: { ...test.facts, doubt: readDoubt(doubt) } }, evidence: { record, map } };
}

/** What a stock did with an entry. */
export interface Taken {
  readonly isNew: boolean;
  /** The number that a pickup has here. */
  readonly number?: string | null;
}

const TABLE = { lot: 'lots', pickup: 'pickups', test: 'tests', event: 'events' } as const;

/** Takes an entry of another stock's journal; one that is here already changes nothing. */
export function takeEntry(entry: Entry): Work<Taken> {
  return {
    use: 'keep',
    *steps(dialect) {
      const isNew = (yield* row(`SELECT 1 FROM ${TABLE[entry.op]} WHERE uid = ?`, entry.args.uid)) === undefined;
      switch (entry.op) {
        case 'lot':
          yield* lotSteps(entry.args);
          return { isNew };
        case 'pickup':
          return { isNew, number: (yield* pickupSteps(dialect, entry.args, 'next')).number };
        case 'test':
          yield* testSteps(dialect, entry.args, entry.evidence);
          return { isNew };
        case 'event':
          yield* eventSteps(dialect, entry.args, 'note');
          return { isNew };
      }
    },
  };
}

/** How many entries there are. @param lot - id of the only lot that is wanted, or null */
export function journalCount(lot: number | null): Work<number> {
  return {
    use: 'look',
    *steps() {
      const found = lot === null
        ? yield* row('SELECT count(*) AS n FROM journal') : yield* row('SELECT count(*) AS n FROM journal WHERE lot = ?', lot);
      return Number(found!.n);
    },
  };
}
