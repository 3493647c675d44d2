/** The shop's records: every test that the bench screen ran, in SQLite, the whole bench record beside its map. */
import { existsSync, statSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import { DatabaseSync } from 'node:sqlite';
import type { BenchRecord } from '../files/bench-record.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { isBusy, StoreProblem, storeProblem } from './problem.ts';

/** Name of the database in the data folder. */
export const RECORDS_FILE = 'records.sqlite';

/** A kept test without its evidence: what a list shows. */
export type KeptTest = {
  readonly id: number; readonly taken: string; readonly title: string; readonly verdict: string;
};

/** Steps from one schema to the next; `user_version` counts how many have been taken. They are never changed, only added to. */
const SCHEMA_STEPS: readonly string[] = [
  `CREATE TABLE tests (
     id INTEGER PRIMARY KEY, taken TEXT NOT NULL, title TEXT NOT NULL, verdict TEXT NOT NULL,
     record TEXT NOT NULL, map TEXT NOT NULL) STRICT;
   CREATE TABLE settings (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;`,
];
/** Tables and columns by which a database is known as ours, whichever step it stands at. */
const OURS = { tests: ['id', 'taken', 'title', 'verdict', 'record', 'map'], settings: ['name', 'value'] } as const;

/** How long SQLite itself waits for another program's lock, and how often it is asked; the screen stands still meanwhile. */
const PATIENCE = { wait_ms: 1000, tries: 2, between_ms: 100 } as const;

export class RecordStore {
  readonly #path: string;
  readonly #database: DatabaseSync;

  /**
   * @param path - the file, made when it is not there and something is to be kept
   * @param use - `keep` for reading and writing, `look` changes nothing and needs no right to
   * @throws StoreProblem when a newer or another program wrote it, it is damaged, in use, or not permitted; nothing was changed then
   */
  constructor(path: string, use: 'keep' | 'look' = 'keep') {
    this.#path = path;
    this.#database = this.#told(use, () => (use === 'keep' ? openToKeep(path) : openToLook(path)));
  }

  /** Keeps a test. @returns its number @throws StoreProblem */
  add(title: string, record: BenchRecord, map: WireMap): number {
    return this.#told('keep', () => {
      const done = this.#database
        .prepare('INSERT INTO tests (taken, title, verdict, record, map) VALUES (?, ?, ?, ?, ?)')
        .run(record.taken ?? '', title, map.verdict, JSON.stringify(record), JSON.stringify(map));
      return Number(done.lastInsertRowid);
    });
  }

  /** The newest tests first, as they stand there: of a file that others wrote to, any text. @param most - how many at most @throws StoreProblem */
  list(most = 100): KeptTest[] {
    return this.#told('look', () => this.#database
      .prepare('SELECT id, taken, title, verdict FROM tests ORDER BY id DESC LIMIT ?').all(most)
      .map(({ id, taken, title, verdict }) => (
        { id: Number(id), taken: String(taken), title: String(title), verdict: String(verdict) })));
  }

  /** The bench record of a test, or null when there is none of that number. @throws StoreProblem, also when it is no JSON */
  record(id: number): unknown {
    const row = this.#told('look', () => this.#database.prepare('SELECT record FROM tests WHERE id = ?').get(id));
    if (row === undefined) return null;
    try {
      return JSON.parse(String(row.record));
    } catch {
      throw new StoreProblem(this.#path, `test ${id} is damaged: its record is no JSON; the other tests can still be read`, 'content');
    }
  }

  /** A remembered choice, such as the serial number of the tester used last. @throws StoreProblem */
  setting(name: string): string | undefined {
    const row = this.#told('look', () => this.#database.prepare('SELECT value FROM settings WHERE name = ?').get(name));
    return row === undefined ? undefined : String(row.value);
  }

  /** @throws StoreProblem */
  remember(name: string, value: string): void {
    this.#told('keep', () => this.#database
      .prepare('INSERT INTO settings (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value')
      .run(name, value));
  }

  close(): void {
    this.#database.close();
  }

  /** Does something with the file; a lock is waited for, any other failure is worded for the user. */
  #told<T>(use: 'keep' | 'look', act: () => T): T {
    for (let left = PATIENCE.tries - 1; ; left -= 1) {
      try {
        return act();
      } catch (error) {
        if (left === 0 || !isBusy(error)) throw storeProblem(this.#path, error, use);
      }
      Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, PATIENCE.between_ms);
    }
  }
}

function refuseFolder(path: string, kind: 'reading' | 'writing'): void {
  if (statSync(path, { throwIfNoEntry: false })?.isDirectory() === true) {
    throw new StoreProblem(path, 'is a folder; expected the file of the records. Move it away and start again', kind);
  }
}

function openToKeep(path: string): DatabaseSync {
  refuseFolder(path, 'writing');
  const database = new DatabaseSync(path, { timeout: PATIENCE.wait_ms });
  try {
    const version = schemaOf(database, path);
    // Nothing was written up to here.
    database.exec('PRAGMA journal_mode = WAL; PRAGMA foreign_keys = ON;');
    if (version < SCHEMA_STEPS.length) takeSteps(database, path);
    return database;
  } catch (error) {
    database.close();
    throw error;
  }
}

function openToLook(path: string): DatabaseSync {
  refuseFolder(path, 'reading');
  // A program that has the file open keeps its log beside it. Without one nobody writes, and SQLite need not be let make
  // its own files there, which stay behind with this user's name on them and which a place for reading only does not take.
  const isSettled = !existsSync(`${path}-wal`);
  const address = pathToFileURL(path);
  if (isSettled) address.search = 'immutable=1';
  const database = new DatabaseSync(address, { timeout: PATIENCE.wait_ms, readOnly: true });
  try {
    if (schemaOf(database, path) === 0) {
      throw new StoreProblem(path, 'holds no records of tapstone; expected its database. Move the file away and start again', 'content');
    }
    return database;
  } catch (error) {
    database.close();
    throw error;
  }
}

/** Two programs may start on an empty file at once: the second finds the steps taken. */
function takeSteps(database: DatabaseSync, path: string): void {
  database.exec('BEGIN IMMEDIATE');
  try {
    for (let step = schemaOf(database, path); step < SCHEMA_STEPS.length; step += 1) {
      database.exec(`${SCHEMA_STEPS[step]} PRAGMA user_version = ${step + 1};`);
    }
    database.exec('COMMIT');
  } catch (error) {
    if (database.isTransaction) database.exec('ROLLBACK');
    throw error;
  }
}

/** How many steps a database has taken; reads only.
 * @throws StoreProblem when a newer program wrote it, or another one
 */
function schemaOf(database: DatabaseSync, path: string): number {
  const { user_version } = database.prepare('PRAGMA user_version').get() as { user_version: number };
  const { things } = database.prepare('SELECT count(*) AS things FROM sqlite_schema').get() as { things: number };
  if (user_version > SCHEMA_STEPS.length && isOurs(database)) {
    throw new StoreProblem(
      path, `was written by a newer tapstone (schema ${user_version}, expected ${SCHEMA_STEPS.length} at most); update this one`, 'content');
  }
  if (things === 0 && user_version === 0) return 0;
  if (user_version < 1 || user_version > SCHEMA_STEPS.length || !isOurs(database)) {
    throw new StoreProblem(path, 'is the database of another program; move the file away and start again', 'content');
  }
  return user_version;
}

function isOurs(database: DatabaseSync): boolean {
  return Object.entries(OURS).every(([table, names]) => {
    const found = database.prepare('SELECT name FROM pragma_table_info(?)').all(table).map(({ name }) => name);
    return names.every((name) => found.includes(name));
  });
}
