/** Lists and searches of the stock, and everything of one pickup. Nothing here changes anything. */
import { readDoubt, type KeptDoubt } from './doubts.ts';
import type { Facts } from './facts.ts';
import type { NewLot } from './keeping.ts';
import { DamagedEvidence, unpackRecord, unpackText } from './packing.ts';
import { row, rows, type Dialect, type Row, type Steps, type Value, type Work } from './work.ts';

/** What is looked for; what is left out asks for nothing. */
export interface Filter {
  /** A whole shop number, or its beginning with a `*` behind it. */
  readonly number?: string;
  /** A lot's name. */
  readonly lot?: string;
  readonly state?: string;
  readonly verdict?: string;
  /** All coils in series, ohms. */
  readonly ohmLeast?: number;
  readonly ohmMost?: number;
  /** How many leads. */
  readonly leads?: number;
  /** Colour codes that all occur among the leads. */
  readonly colours?: readonly string[];
  /** Each of these poles is shown by some coil. */
  readonly poles?: readonly ('N' | 'S')[];
  /** Each is the beginning of a word: made by `searchWords`. */
  readonly words?: readonly string[];
  /** The virtual bench's too. */
  readonly withVirtual?: boolean;
}

/** A line of a list: a test with its pickup, or a pickup with the test that speaks for it. */
export interface Line extends Omit<Facts, 'verdict' | 'words'> {
  /** Of the test; null for a pickup that waits for one. */
  readonly test: number | null;
  readonly pickup: number;
  readonly taken: string | null;
  readonly number: string | null;
  readonly state: string;
  readonly verdict: string | null;
  readonly lot: string | null;
  readonly title: string;
  readonly isBroken: boolean;
  readonly isWithdrawn: boolean;
  readonly isVirtual: boolean;
}

/** Which list: every test, or every pickup with its newest whole test. */
export type Sort = 'tests' | 'stock';

const COLUMNS = `t.id AS test, p.id AS pickup, t.taken, p.number, p.state, t.verdict, l.name AS lot, p.title, t.ohm, t.henry,
  t.coils, t.leads, t.colours, t.clips, t.poles, t.doubt, t.is_broken, t.is_withdrawn, p.is_virtual`;
const FROM: Readonly<Record<Sort, string>> = {
  tests: 'tests t JOIN pickups p ON p.id = t.pickup LEFT JOIN lots l ON l.id = p.lot',
  stock: 'pickups p LEFT JOIN tests t ON t.id = p.test LEFT JOIN lots l ON l.id = p.lot',
};
const ORDER: Readonly<Record<Sort, string>> = { tests: 't.id', stock: 'p.id' };

/** Conditions of a filter. */
function conditions(dialect: Dialect, sort: Sort, filter: Filter): { readonly sql: string; readonly values: Value[] } {
  const parts: string[] = [];
  const values: Value[] = [];
  const ask = (sql: string, ...given: readonly Value[]): void => {
    parts.push(sql);
    values.push(...given);
  };
  const { number, lot, state, verdict, ohmLeast, ohmMost, leads, colours, poles, words, withVirtual } = filter;
  // The plus keeps a database from an index of what nearly all have: then it takes the newest first and stops, and sorts nothing.
  if (withVirtual !== true) ask(sort === 'tests' ? '+t.is_virtual = 0' : '+p.is_virtual = 0');
  // Of a list of tests what a pickup is known by is asked first: few have it.
  const askPickup = (condition: string, ...given: readonly Value[]): void =>
    ask(sort === 'tests' ? `t.pickup IN (SELECT p.id FROM pickups p WHERE ${condition})` : condition, ...given);
  if (number?.endsWith('*') === true) {
    const start = number.slice(0, -1);
    askPickup('p.number >= ? AND p.number < ?', start, `${start}\u{10ffff}`);
  } else if (number !== undefined) askPickup('p.number = ?', number);
  if (lot !== undefined) askPickup('p.lot IN (SELECT id FROM lots WHERE name = ?)', lot);
  if (state !== undefined) ask('p.state = ?', state);
  if (verdict !== undefined) ask('t.verdict = ?', verdict);
  if (ohmLeast !== undefined) ask('t.ohm >= ?', ohmLeast);
  if (ohmMost !== undefined) ask('t.ohm <= ?', ohmMost);
  if (leads !== undefined) ask('t.leads = ?', leads);
  for (const colour of colours ?? []) ask('t.colours LIKE ?', `%,${colour},%`);
  for (const pole of poles ?? []) ask('t.poles LIKE ?', `%${pole}%`);
  if (words !== undefined && words.length > 0) {
    const { sql, values: given } = dialect.hasWords(words);
    // Words that all have must not make it sort them all.
    ask(sort === 'tests' ? `+t.pickup IN ${sql}` : `p.id IN ${sql}`, ...given);
  }
  return { sql: parts.length === 0 ? '1 = 1' : parts.join(' AND '), values };
}

export function lineOf(found: Row): Line {
  const text = (value: unknown): string | null => (value === null || value === undefined ? null : String(value));
  const number = (value: unknown): number | null => (value === null || value === undefined ? null : Number(value));
  return {
    test: number(found.test), pickup: Number(found.pickup), taken: text(found.taken), number: text(found.number),
    state: String(found.state), verdict: text(found.verdict), lot: text(found.lot), title: String(found.title),
    ohm: number(found.ohm), henry: number(found.henry), coils: Number(found.coils ?? 0), leads: Number(found.leads ?? 0),
    doubt: found.test === null ? '' : readDoubt(found.doubt),
    colours: (text(found.colours) ?? '').replace(/^,|,$/g, ''), clips: text(found.clips) ?? '', poles: text(found.poles) ?? '',
    isBroken: Number(found.is_broken) === 1, isWithdrawn: Number(found.is_withdrawn) === 1, isVirtual: Number(found.is_virtual) === 1,
  };
}

function look<T>(steps: (dialect: Dialect) => Steps<T>): Work<T> {
  return { use: 'look', steps };
}

/** The newest first.
 * @param most - how many at most @param below - only those whose id (of the test or the pickup) is below this: the next page
 */
export function search(sort: Sort, filter: Filter, most: number, below: number | null = null): Work<Line[]> {
  return look(function* (dialect) {
    const { sql, values } = conditions(dialect, sort, filter);
    const page = below === null ? '' : ` AND ${ORDER[sort]} < ?`;
    const found = yield* rows(
      `SELECT ${COLUMNS} FROM ${FROM[sort]} WHERE ${sql}${page} ORDER BY ${ORDER[sort]} DESC LIMIT ?`,
      ...values, ...(below === null ? [] : [below]), most);
    return found.map(lineOf);
  });
}

/** The id by which `search` goes on below a line. */
export function pageEnd(sort: Sort, line: Line): number {
  return sort === 'tests' ? (line.test ?? 0) : line.pickup;
}

export function countOf(sort: Sort, filter: Filter): Work<number> {
  return look(function* (dialect) {
    const { sql, values } = conditions(dialect, sort, filter);
    return Number((yield* row(`SELECT count(*) AS n FROM ${FROM[sort]} WHERE ${sql}`, ...values))!.n);
  });
}

/** A lot as its list shows it. */
export interface LotLine extends NewLot {
  readonly id: number;
  /** Which pickup stands on the bench, from 0. */
  readonly standsAt: number;
  /** Pickups in each state. */
  readonly states: Readonly<Record<string, number>>;
  /** Of the good ones, those of which something is still to be minded. */
  readonly doubtful: number;
  /** Pickups that have a test that came to its end. */
  readonly tested: number;
}

function lotOf(found: Row, counts: readonly Row[]): LotLine {
  const own = counts.filter(({ lot }) => lot === found.id);
  return {
    id: Number(found.id), uid: String(found.uid), name: String(found.name), setup: String(found.setup), size: Number(found.size),
    isVirtual: Number(found.is_virtual) === 1, opened: String(found.opened), standsAt: Number(found.stands_at),
    states: Object.fromEntries(own.map(({ state, n }) => [String(state), Number(n)])),
    doubtful: Number(own.find(({ state }) => state === 'good')?.doubtful ?? 0),
    tested: own.reduce((sum, { tested }) => sum + Number(tested), 0),
  };
}

const LOT_COLUMNS = 'id, uid, name, setup, size, is_virtual, opened, stands_at';
const LOT_COUNTS = `SELECT p.lot, p.state, count(*) AS n, count(p.test) AS tested, count(nullif(t.doubt, '')) AS doubtful
  FROM pickups p LEFT JOIN tests t ON t.id = p.test`;

/** The newest first. */
export function lots(withVirtual: boolean, most: number): Work<LotLine[]> {
  return look(function* () {
    const found = yield* rows(
      `SELECT ${LOT_COLUMNS} FROM lots WHERE is_virtual <= ? ORDER BY id DESC LIMIT ?`, Number(withVirtual), most);
    if (found.length === 0) return [];
    const least = Math.min(...found.map(({ id }) => Number(id)));
    const counts = yield* rows(`${LOT_COUNTS} WHERE p.lot >= ? GROUP BY p.lot, p.state`, least);
    return found.map((lot) => lotOf(lot, counts));
  });
}

/** The newest lot of a name, or null. */
export function lotNamed(name: string): Work<LotLine | null> {
  return look(() => lotWhere('name = ?', name));
}

/** The newest lot of the bench or of the virtual bench, or null. */
export function newestLot(isVirtual: boolean): Work<LotLine | null> {
  return look(() => lotWhere('is_virtual = ?', Number(isVirtual)));
}

function* lotWhere(condition: string, value: Value): Steps<LotLine | null> {
  const found = yield* row(`SELECT ${LOT_COLUMNS} FROM lots WHERE ${condition} ORDER BY id DESC LIMIT 1`, value);
  if (found === undefined) return null;
  return lotOf(found, yield* rows(`${LOT_COUNTS} WHERE p.lot = ? GROUP BY p.lot, p.state`, Number(found.id)));
}

/** What stands at a place of a lot. */
export interface PlaceLine {
  readonly place: number;
  /** The pickup's own name. */
  readonly uid: string;
  readonly number: string | null;
  readonly state: string;
  readonly title: string;
  /** When its newest whole test was made; null without one. */
  readonly taken: string | null;
  /** The id of that test. */
  readonly test: number | null;
  /** Of that test; '' without one. */
  readonly doubt: KeptDoubt;
}

/** The pickups of a lot in the order of their places. */
export function placesOfLot(uid: string): Work<PlaceLine[]> {
  return look(function* () {
    const found = yield* rows(
      `SELECT p.place, p.uid, p.number, p.state, p.title, t.taken, t.id AS test, t.doubt FROM pickups p JOIN lots l ON l.id = p.lot
       LEFT JOIN tests t ON t.id = p.test WHERE l.uid = ? ORDER BY p.place`, uid);
    return found.map(({ place, uid, number, state, title, taken, test, doubt }) => ({
      place: Number(place), uid: String(uid), number: number as string | null, state: String(state), title: String(title),
      taken: taken as string | null, test: test === null ? null : Number(test), doubt: test === null ? '' : readDoubt(doubt),
    }));
  });
}

/** One pickup with all that happened to it. */
export interface PickupDetail {
  readonly uid: string;
  readonly line: Line;
  readonly added: string;
  /** Every test, the newest first, broken-off and withdrawn ones too. */
  readonly tests: readonly Line[];
  readonly events: readonly { readonly at: string; readonly kind: string; readonly text: string }[];
}

/** The pickup of a shop number, or null. */
export function pickupNumbered(number: string): Work<PickupDetail | null> {
  return look(() => pickupWhere('p.number = ?', number));
}

/** The pickup of a `uid`, or null; a pickup may wait for its number, and its id is another one in another stock. */
export function pickupNamed(uid: string): Work<PickupDetail | null> {
  return look(() => pickupWhere('p.uid = ?', uid));
}

/** The pickup of a line, or null. */
export function pickupOf({ pickup }: Pick<Line, 'pickup'>): Work<PickupDetail | null> {
  return look(() => pickupWhere('p.id = ?', pickup));
}

function* pickupWhere(condition: string, value: Value): Steps<PickupDetail | null> {
  const found = yield* row(`SELECT ${COLUMNS}, p.uid, p.added FROM ${FROM.stock} WHERE ${condition}`, value);
  if (found === undefined) return null;
  const line = lineOf(found);
  const tests = yield* rows(`SELECT ${COLUMNS} FROM ${FROM.tests} WHERE t.pickup = ? ORDER BY t.id DESC`, line.pickup);
  const events = yield* rows('SELECT at, kind, text FROM events WHERE pickup = ? ORDER BY id DESC', line.pickup);
  return {
    uid: String(found.uid), line, added: String(found.added), tests: tests.map(lineOf),
    events: events.map(({ at, kind, text }) => ({ at: String(at), kind: String(kind), text: String(text) })),
  };
}

/** What a test saw and what its module made of it; a part that nobody can read any more is the reason why. */
export interface ReadEvidence {
  readonly record: unknown;
  /** The very text that was kept. */
  readonly map: string;
  readonly module: string;
}

/** The evidence of a test, or null when there is none of that number. The text is as it stands: of a file that others wrote to, anything. */
export function evidenceOf(test: number): Work<ReadEvidence | { readonly damaged: string } | null> {
  return look(function* () {
    const found = yield* row('SELECT e.record, e.map, t.module FROM evidence e JOIN tests t ON t.id = e.test WHERE e.test = ?', test);
    if (found === undefined) return null;
    try {
      return { record: unpackRecord(found.record as Uint8Array), map: unpackText(found.map as Uint8Array), module: String(found.module) };
    } catch (error) {
      if (error instanceof DamagedEvidence) return { damaged: error.message };
      throw error;
    }
  });
}

/** A test to be solved again, and the number of its pickup. */
export interface NumberedTest {
  readonly test: number;
  readonly number: string | null;
}

/** Tests whose id is above this one, the oldest first. */
export function testsAbove(id: number, most: number, withVirtual: boolean): Work<NumberedTest[]> {
  return look(function* () {
    const found = yield* rows(
      `SELECT t.id, p.number FROM tests t JOIN pickups p ON p.id = t.pickup WHERE t.id > ? AND t.is_virtual <= ? ORDER BY t.id LIMIT ?`,
      id, Number(withVirtual), most);
    return found.map(({ id: test, number }) => ({ test: Number(test), number: number as string | null }));
  });
}

/** How many tests there are to be solved again. */
export function testCount(withVirtual: boolean): Work<number> {
  return look(function* () {
    return Number((yield* row('SELECT count(*) AS n FROM tests WHERE is_virtual <= ?', Number(withVirtual)))!.n);
  });
}

/** Current maps of pickups, as they were kept, by pickup. Those that nobody can read are left out. */
export function mapsOf(tests: readonly number[]): Work<Map<number, string>> {
  return look(function* () {
    const maps = new Map<number, string>();
    for (const test of tests) {
      const found = yield* row('SELECT map FROM evidence WHERE test = ?', test);
      try {
        if (found !== undefined) maps.set(test, unpackText(found.map as Uint8Array));
      } catch (error) {
        if (!(error instanceof DamagedEvidence)) throw error;
      }
    }
    return maps;
  });
}

/** Pickups of good standing whose ohms lie nearest to some, for a partner. */
export function nearestByOhm(ohm: number, share: number, isVirtual: boolean, most: number): Work<Line[]> {
  return look(function* () {
    const found = yield* rows(
      `SELECT ${COLUMNS} FROM tests t JOIN pickups p ON p.test = t.id LEFT JOIN lots l ON l.id = p.lot
       WHERE t.ohm BETWEEN ? AND ? AND p.state = 'good' AND p.is_virtual = ? ORDER BY abs(t.ohm - ?) LIMIT ?`,
      ohm * (1 - share), ohm * (1 + share), Number(isVirtual), ohm, most);
    return found.map(lineOf);
  });
}
