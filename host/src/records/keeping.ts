/** Everything that changes the stock. Each change has a name of its own (`uid`) and is taken once, however often it is told. */
import { packRecord, packText } from './packing.ts';
import { isState, type StateWord } from './states.ts';
import { factsOf, searchWords, type Facts } from './facts.ts';
import { freshNumber } from './numbers.ts';
import { row, rows, type Dialect, type Steps, type Work } from './work.ts';
import type { BenchRecord } from '../files/bench-record.ts';
import type { WireMap } from '../wiremap/wiremap.ts';

/** Pickups that are tested one after the other in one set-up. */
export interface NewLot {
  readonly uid: string;
  readonly name: string;
  /** What the person said of them, as JSON; '' when nobody did. */
  readonly setup: string;
  /** How many there are; 0 when nobody knows. */
  readonly size: number;
  readonly isVirtual: boolean;
  /** Time of day, UTC. */
  readonly opened: string;
}

export interface NewPickup {
  readonly uid: string;
  /** `uid` of its lot, or null. */
  readonly lot: string | null;
  /** Which of the lot it is, from 0. */
  readonly place: number | null;
  /** Scanned, or null for the next of the shop's pattern. */
  readonly number: string | null;
  readonly title: string;
  readonly isVirtual: boolean;
  readonly added: string;
}

export interface NewTest {
  readonly uid: string;
  /** `uid` of the pickup. */
  readonly pickup: string;
  /** Time of day, UTC. */
  readonly taken: string;
  readonly title: string;
  /** The test did not come to its end. */
  readonly isBroken: boolean;
  readonly isVirtual: boolean;
  /** SHA-256 of the module that made the map. */
  readonly module: string;
  readonly serial: string;
  readonly facts: Facts;
}

/** What a test saw and what came of it, packed. */
export interface Evidence {
  readonly record: Uint8Array;
  readonly map: Uint8Array;
}

/** What happened to a pickup besides tests. */
export interface NewEvent {
  readonly uid: string;
  readonly pickup: string;
  readonly at: string;
  /** `state` and `number` set what `text` says; `withdraw` takes the test of that uid back, which stays kept. */
  readonly kind: 'note' | 'state' | 'number' | 'withdraw';
  readonly text: string;
}

/** The number that was wanted is another pickup's. */
export class NumberTaken extends Error {
  constructor(number: string) {
    super(`number ${number} is another pickup's`);
    this.name = 'NumberTaken';
  }
}

/** What a change is about is not in this stock. */
export class NotThere extends Error {
  constructor(what: string, uid: string) {
    super(`its ${what} (${uid}) is not here; expected it in a line before`);
    this.name = 'NotThere';
  }
}

function change<T>(steps: (dialect: Dialect) => Steps<T>): Work<T> {
  return { use: 'keep', steps };
}

function* journal(op: string, lot: number | null, pickup: number | null, args: unknown): Steps<void> {
  yield* rows('INSERT INTO journal (op, lot, pickup, args) VALUES (?, ?, ?, ?)', op, lot, pickup, JSON.stringify(args));
}

function* idOf(table: 'lots' | 'pickups' | 'tests' | 'events', uid: string): Steps<number | null> {
  const found = yield* row(`SELECT id FROM ${table} WHERE uid = ?`, uid);
  return found === undefined ? null : Number(found.id);
}

function* neededId(table: 'lots' | 'pickups', uid: string): Steps<number> {
  const id = yield* idOf(table, uid);
  if (id === null) throw new NotThere(table === 'lots' ? 'lot' : 'pickup', uid);
  return id;
}

/** @returns the lot's id */
export function addLot(lot: NewLot): Work<number> {
  return change(() => lotSteps(lot));
}

export function* lotSteps(lot: NewLot): Steps<number> {
  const known = yield* idOf('lots', lot.uid);
  if (known !== null) return known;
  const made = yield* row(
    'INSERT INTO lots (uid, name, setup, size, is_virtual, opened, stands_at) VALUES (?, ?, ?, ?, ?, ?, 0) RETURNING id',
    lot.uid, lot.name, lot.setup, lot.size, Number(lot.isVirtual), lot.opened);
  yield* journal('lot', Number(made!.id), null, lot);
  return Number(made!.id);
}

/** Which pickup of the lot is on the bench. It is where a person stands, so it is told to no other bench. */
export function moveLot(uid: string, standsAt: number): Work<void> {
  return change(function* () {
    yield* rows('UPDATE lots SET stands_at = ? WHERE uid = ?', standsAt, uid);
  });
}

/** How many pickups a lot has, counted again; like the place where a person stands it is told to no other bench. */
export function countLot(uid: string, size: number): Work<void> {
  return change(function* () {
    yield* rows('UPDATE lots SET size = ? WHERE uid = ?', size, uid);
  });
}

export interface AddedPickup {
  readonly id: number;
  /** Null until the server gives one. */
  readonly number: string | null;
}

/** @throws NumberTaken */
export function addPickup(pickup: NewPickup): Work<AddedPickup> {
  return change((dialect) => pickupSteps(dialect, pickup, 'refuse'));
}

/** @param taken - what to do when the number is another pickup's: refuse it, or give this one the next */
export function* pickupSteps(dialect: Dialect, pickup: NewPickup, taken: 'refuse' | 'next'): Steps<AddedPickup> {
  const known = yield* row('SELECT id, number FROM pickups WHERE uid = ?', pickup.uid);
  if (known !== undefined) return { id: Number(known.id), number: known.number === null ? null : String(known.number) };
  let { number } = pickup;
  const isTaken = number !== null && (yield* row('SELECT 1 FROM pickups WHERE number = ?', number)) !== undefined;
  if (isTaken && taken === 'refuse') throw new NumberTaken(number!);
  if (isTaken || number === null) number = yield* freshNumber(pickup.isVirtual);
  const lot = pickup.lot === null ? null : yield* neededId('lots', pickup.lot);
  // Two benches that went on with one lot by themselves: the second pickup of a place is in the lot without one.
  const isFree = (yield* row('SELECT 1 FROM pickups WHERE lot = ? AND place = ?', lot, pickup.place)) === undefined;
  const place = isFree ? pickup.place : null;
  const made = yield* row(
    `INSERT INTO pickups (uid, number, lot, place, title, state, is_virtual, added)
     VALUES (?, ?, ?, ?, ?, 'waiting', ?, ?) RETURNING id`,
    pickup.uid, number, lot, place, pickup.title, Number(pickup.isVirtual), pickup.added);
  const id = Number(made!.id);
  yield* journal('pickup', lot, id, { ...pickup, number, place });
  if (isTaken) {
    yield* eventSteps(dialect, {
      uid: `${pickup.uid}.number`, pickup: pickup.uid, at: pickup.added, kind: 'note',
      text: `was given number ${pickup.number}, which another pickup had already; it is ${number ?? 'without one'} now`,
    });
  }
  yield* refreshWords(dialect, id);
  return { id, number };
}

/** Gives a pickup the number that a server chose for it; unlike the event of that kind nobody else has to be told. */
export function learnNumber(uid: string, number: string | null): Work<void> {
  return change(function* (dialect) {
    const id = yield* idOf('pickups', uid);
    if (id === null) return;
    const other = number === null ? undefined : yield* row('SELECT id FROM pickups WHERE number = ? AND id <> ?', number, id);
    if (other !== undefined) return;
    yield* rows('UPDATE pickups SET number = ? WHERE id = ?', number, id);
    yield* refreshWords(dialect, id);
  });
}

/** @returns the test's id */
export function addTest(test: NewTest, evidence: Evidence): Work<number> {
  return change((dialect) => testSteps(dialect, test, evidence));
}

export function* testSteps(dialect: Dialect, test: NewTest, { record, map }: Evidence): Steps<number> {
  const known = yield* idOf('tests', test.uid);
  if (known !== null) return known;
  const pickup = yield* neededId('pickups', test.pickup);
  const { verdict, ohm, henry, coils, leads, colours, clips, poles, words, doubt } = test.facts;
  const made = yield* row(
    `INSERT INTO tests (uid, pickup, taken, title, verdict, is_broken, is_withdrawn, is_virtual, module, serial,
       ohm, henry, coils, leads, colours, clips, poles, words, doubt)
     VALUES (?, ?, ?, ?, ?, ?, 0, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) RETURNING id`,
    test.uid, pickup, test.taken, test.title, verdict, Number(test.isBroken), Number(test.isVirtual), test.module, test.serial,
    ohm, henry, coils, leads, colours, clips, poles, words, doubt);
  const id = Number(made!.id);
  yield* rows('INSERT INTO evidence (test, record, map) VALUES (?, ?, ?)', id, record, map);
  const lot = yield* row('SELECT lot FROM pickups WHERE id = ?', pickup);
  yield* journal('test', lot!.lot === null ? null : Number(lot!.lot), pickup, test);
  yield* settlePickup(dialect, pickup);
  return id;
}

export function addEvent(event: NewEvent): Work<void> {
  return change((dialect) => eventSteps(dialect, event));
}

/** @param taken - what to do when a number is another pickup's: refuse it, or only note that it was wanted @throws NumberTaken */
export function* eventSteps(dialect: Dialect, told: NewEvent, taken: 'refuse' | 'note' = 'refuse'): Steps<void> {
  if ((yield* idOf('events', told.uid)) !== null) return;
  const pickup = yield* neededId('pickups', told.pickup);
  const isTaken = told.kind === 'number' &&
    (yield* row('SELECT 1 FROM pickups WHERE number = ? AND id <> ?', told.text, pickup)) !== undefined;
  if (isTaken && taken === 'refuse') throw new NumberTaken(told.text);
  const event: NewEvent = isTaken
    ? { ...told, kind: 'note', text: `was to have number ${told.text}, which another pickup had already` } : told;
  yield* rows('INSERT INTO events (uid, pickup, at, kind, text) VALUES (?, ?, ?, ?, ?)',
    event.uid, pickup, event.at, event.kind, event.text);
  if (event.kind === 'state') {
    if (!isState(event.text)) throw new Error(`"${event.text}" is no state`);
    yield* rows('UPDATE pickups SET state = ? WHERE id = ?', event.text, pickup);
  } else if (event.kind === 'number') {
    yield* rows('UPDATE pickups SET number = ? WHERE id = ?', event.text, pickup);
  } else if (event.kind === 'withdraw') {
    yield* rows('UPDATE tests SET is_withdrawn = 1 WHERE uid = ?', event.text);
  }
  const lot = yield* row('SELECT lot FROM pickups WHERE id = ?', pickup);
  yield* journal('event', lot!.lot === null ? null : Number(lot!.lot), pickup, event);
  yield* settlePickup(dialect, pickup);
}

/** States that a person chose; a test does not undo them. */
const CHOSEN: readonly StateWord[] = ['aside', 'sold'];

/** The test that speaks for a pickup is its newest that came to its end and was not taken back; its verdict is the state. */
function* settlePickup(dialect: Dialect, pickup: number): Steps<void> {
  const newest = yield* row(
    `SELECT id, verdict FROM tests WHERE pickup = ? AND is_broken = 0 AND is_withdrawn = 0 ORDER BY id DESC LIMIT 1`, pickup);
  const now = yield* row('SELECT state, test FROM pickups WHERE id = ?', pickup);
  const test = newest === undefined ? null : Number(newest.id);
  const before = now!.test === null ? null : Number(now!.test);
  if (test !== before) {
    const isChosen = CHOSEN.includes(now!.state as StateWord);
    const state = isChosen ? String(now!.state) : newest === undefined ? 'waiting' : String(newest.verdict);
    yield* rows('UPDATE pickups SET test = ?, state = ? WHERE id = ?', test, state, pickup);
  }
  yield* refreshWords(dialect, pickup);
}

/** What a search in words finds a pickup by: number, titles, lot, colours, findings, notes. */
export function* refreshWords(dialect: Dialect, pickup: number): Steps<void> {
  const about = yield* row(
    `SELECT p.number, p.title, l.name AS lot, t.title AS tested, t.colours, t.words
     FROM pickups p LEFT JOIN lots l ON l.id = p.lot LEFT JOIN tests t ON t.id = p.test WHERE p.id = ?`, pickup);
  const notes = yield* rows("SELECT text FROM events WHERE pickup = ? AND kind = 'note' ORDER BY id", pickup);
  const texts = [...Object.values(about!), ...notes.map(({ text }) => text)];
  const words = searchWords(texts.filter((text) => text !== null).join(' '));
  yield dialect.setWords(pickup, words.join(' '));
}

/** A test as the bench has it in hand. */
export interface Kept {
  readonly uid: string;
  readonly taken: string;
  readonly title: string;
  readonly record: BenchRecord;
  readonly map: WireMap;
  readonly isBroken: boolean;
  readonly isVirtual: boolean;
  readonly module: string;
}

/** @param pickup - uid @returns what `addTest` takes */
export function packedTest(kept: Kept, pickup: string): { readonly test: NewTest; readonly evidence: Evidence } {
  const { record, map, uid, taken, title, isBroken, isVirtual, module } = kept;
  return {
    test: {
      uid, pickup, taken, title, isBroken, isVirtual, module,
      serial: record.tester?.serial ?? '', facts: factsOf(record, map),
    },
    evidence: { record: packRecord(record), map: packText(JSON.stringify(map)) },
  };
}

export interface KeptOnBench {
  readonly test: number;
  readonly pickup: string;
  readonly number: string | null;
}

/**
 * Keeps a test of the pickup that stands at a place of a lot, and the pickup with it when it is its first.
 * @param fresh - what the pickup would be
 */
export function keepInLot(kept: Kept, fresh: NewPickup & { readonly lot: string; readonly place: number }): Work<KeptOnBench> {
  // Packed before the file is locked: another bench program need not wait for that.
  const packed = packedTest(kept, fresh.uid);
  return change(function* (dialect) {
    const lot = yield* neededId('lots', fresh.lot);
    const known = yield* row('SELECT uid, number FROM pickups WHERE lot = ? AND place = ?', lot, fresh.place);
    const uid = known === undefined ? fresh.uid : String(known.uid);
    const number = known === undefined ? (yield* pickupSteps(dialect, fresh, 'refuse')).number : (known.number as string | null);
    const test = yield* testSteps(dialect, { ...packed.test, pickup: uid }, packed.evidence);
    return { test, pickup: uid, number };
  });
}

/** Keeps a test of a pickup that is in no lot: of the one that has its number already, or of a new one. */
export function keepAlone(kept: Kept, fresh: NewPickup): Work<KeptOnBench> {
  const packed = packedTest(kept, fresh.uid);
  return change(function* (dialect) {
    const known = fresh.number === null ? undefined : yield* row('SELECT uid FROM pickups WHERE number = ?', fresh.number);
    const uid = known === undefined ? fresh.uid : String(known.uid);
    const number = known === undefined ? (yield* pickupSteps(dialect, fresh, 'refuse')).number : fresh.number;
    const test = yield* testSteps(dialect, { ...packed.test, pickup: uid }, packed.evidence);
    return { test, pickup: uid, number };
  });
}

/** Takes back the newest test of a lot; it stays kept. @returns the place that it was at, or null when there is none */
export function undoLast(lot: string, uid: string, at: string): Work<number | null> {
  return change(function* (dialect) {
    const last = yield* row(
      `SELECT t.uid AS test, p.uid AS pickup, p.place FROM tests t JOIN pickups p ON p.id = t.pickup JOIN lots l ON l.id = p.lot
       WHERE l.uid = ? AND t.is_withdrawn = 0 ORDER BY t.id DESC LIMIT 1`, lot);
    if (last === undefined) return null;
    yield* eventSteps(dialect, { uid, pickup: String(last.pickup), at, kind: 'withdraw', text: String(last.test) });
    const place = last.place === null ? 0 : Number(last.place);
    yield* rows('UPDATE lots SET stands_at = ? WHERE uid = ?', place, lot);
    return place;
  });
}

/** A remembered choice, or undefined. */
export function setting(name: string): Work<string | undefined> {
  return {
    use: 'look',
    *steps() {
      const found = yield* row('SELECT value FROM settings WHERE name = ?', name);
      return found === undefined ? undefined : String(found.value);
    },
  };
}

export function remember(name: string, value: string): Work<void> {
  return change(function* () {
    yield* rows('INSERT INTO settings (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value', name, value);
  });
}
