/** The shop's records: every test that the bench screen ran, in SQLite, the whole bench record beside its map. */
import { DatabaseSync } from 'node:sqlite';
import type { BenchRecord } from '../files/bench-record.ts';
import type { WireMap } from '../wiremap/wiremap.ts';

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

/** Results of SQLite that a user can do something about: sqlite.org/rescode.html. */
const SQLITE = { readOnly: 8, cannotOpen: 14, notADatabase: 26 } as const;

/** The file of the records cannot be used; the message is the whole sentence but the file's name. */
export class StoreProblem extends Error {
  readonly path: string;
  /** It can be read, but holds something else. */
  readonly isContent: boolean;

  constructor(path: string, message: string, isContent: boolean) {
    super(message);
    this.name = 'StoreProblem';
    this.path = path;
    this.isContent = isContent;
  }
}

/** @param error - thrown by SQLite @returns what it means to the user, or the error itself */
function storeProblem(path: string, error: unknown): unknown {
  const code = (error as { errcode?: number } | null)?.errcode;
  if (code === SQLITE.notADatabase)
    return new StoreProblem(path, 'holds no records of tapstone; expected its database. Move the file away and start again', true);
  if (code === SQLITE.readOnly || code === SQLITE.cannotOpen)
    return new StoreProblem(path, 'cannot be opened for writing; change the permissions of the file and its folder', false);
  return error;
}

export class RecordStore {
  readonly #database: DatabaseSync;

  /**
   * @param path - the file, made when it is not there; `:memory:` for none
   * @throws StoreProblem when a newer program wrote it, it is no database, or it may not be written
   */
  constructor(path: string) {
    try {
      this.#database = new DatabaseSync(path);
      this.#prepare(path);
    } catch (error) {
      throw storeProblem(path, error);
    }
  }

  #prepare(path: string): void {
    this.#database.exec('PRAGMA journal_mode = WAL; PRAGMA foreign_keys = ON;');
    const row = this.#database.prepare('PRAGMA user_version').get() as { user_version: number };
    if (row.user_version > SCHEMA_STEPS.length) {
      this.#database.close();
      throw new StoreProblem(path, `was written by a newer tapstone (schema ${row.user_version}, expected ${SCHEMA_STEPS.length} at most)`, true);
    }
    for (let step = row.user_version; step < SCHEMA_STEPS.length; step += 1) {
      this.#database.exec(`BEGIN; ${SCHEMA_STEPS[step]} PRAGMA user_version = ${step + 1}; COMMIT;`);
    }
  }

  /** Keeps a test. @returns its number */
  add(title: string, record: BenchRecord, map: WireMap): number {
    const done = this.#database
      .prepare('INSERT INTO tests (taken, title, verdict, record, map) VALUES (?, ?, ?, ?, ?)')
      .run(record.taken ?? '', title, map.verdict, JSON.stringify(record), JSON.stringify(map));
    return Number(done.lastInsertRowid);
  }

  /** The newest tests first. @param most - how many at most */
  list(most = 100): KeptTest[] {
    return this.#database
      .prepare('SELECT id, taken, title, verdict FROM tests ORDER BY id DESC LIMIT ?').all(most)
      .map((row) => ({ ...row })) as unknown as KeptTest[];
  }

  /** The bench record of a test, as JSON text, or null when there is none of that number. */
  record(id: number): string | null {
    const row = this.#database.prepare('SELECT record FROM tests WHERE id = ?').get(id) as { record: string } | undefined;
    return row?.record ?? null;
  }

  /** A remembered choice, such as the serial number of the tester used last. */
  setting(name: string): string | undefined {
    const row = this.#database.prepare('SELECT value FROM settings WHERE name = ?').get(name) as { value: string } | undefined;
    return row?.value;
  }

  remember(name: string, value: string): void {
    this.#database
      .prepare('INSERT INTO settings (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value')
      .run(name, value);
  }

  close(): void {
    this.#database.close();
  }
}
