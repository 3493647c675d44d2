/** The stock in a file of this computer: SQLite, a write-ahead log, each change on the disk before it is called kept. */
import { existsSync, rmSync, statSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import { DatabaseSync, type StatementSync } from 'node:sqlite';
import { moveAll } from './moves.ts';
import { contentProblem, isBusy, StoreProblem, storeProblem } from './problem.ts';
import { OURS, SQLITE_STEPS } from './schema.ts';
import { runAtOnce, type Dialect, type Query, type Row, type Stock, type Work } from './work.ts';

/** Name of the database in the data folder. */
export const RECORDS_FILE = 'records.sqlite';

const DIALECT: Dialect = {
  hasWords: (words) => ({
    sql: '(SELECT rowid FROM words WHERE words MATCH ?)',
    values: [words.map((word) => `"${word}"*`).join(' ')],
  }),
  setWords: (pickup, words) => ({ sql: 'INSERT OR REPLACE INTO words (rowid, content) VALUES (?, ?)', values: [pickup, words] }),
};

/** How long SQLite itself waits for another program's lock, and how often it is asked; the screen stands still meanwhile. */
const PATIENCE = { wait_ms: 1000, tries: 2, between_ms: 100 } as const;

export class SqliteStock implements Stock {
  readonly #path: string;
  #database: DatabaseSync;
  /** How the file lay when it was opened as one that nobody writes; null where SQLite itself minds what others write. */
  #lay: string | null = null;
  readonly #statements = new Map<string, StatementSync>();

  /**
   * @param path - the file, made when it is not there and something is to be kept
   * @param use - `keep` for reading and writing, `look` changes nothing and needs no right to
   * @throws StoreProblem when a newer or another program wrote it, it is damaged, in use, or not permitted; nothing was changed then
   */
  constructor(path: string, use: 'keep' | 'look' = 'keep') {
    this.#path = path;
    if (use === 'keep') this.#database = this.#told(use, () => openToKeep(path));
    else [this.#database, this.#lay] = this.#told(use, () => openToLook(path));
  }

  /** Runs work at once; the screen stands still meanwhile. @throws StoreProblem */
  do<T>(work: Work<T>): T {
    const act = (): T => {
      this.#database.exec(work.use === 'keep' ? 'BEGIN IMMEDIATE' : 'BEGIN');
      return inTransaction(this.#database, () => runAtOnce(work.steps(DIALECT), (query) => this.#answer(query)));
    };
    return work.use === 'keep' ? this.#told('keep', act) : this.#look(act);
  }

  /** Changes whenever another program has changed the file. */
  version(): number {
    return this.#look(() => Number(this.#database.prepare('PRAGMA data_version').get()!.data_version));
  }

  /** A copy of the whole file as it stands now, while others go on writing. @param target - a file that is not there @throws StoreProblem */
  copyTo(target: string): void {
    this.#look(() => {
      rmSync(target, { force: true });
      this.#database.prepare('VACUUM INTO ?').run(target);
    });
  }

  /** @throws StoreProblem when a page or an index of the file is not what it should be */
  check(): void {
    const found = this.#look(() => this.#database.prepare('PRAGMA integrity_check').all());
    if (found[0]?.integrity_check !== 'ok') throw contentProblem(this.#path, 'damaged');
  }

  close(): void {
    this.#statements.clear();
    this.#database.close();
  }

  #answer({ sql, values }: Query): readonly Row[] {
    let statement = this.#statements.get(sql);
    if (statement === undefined) {
      statement = this.#database.prepare(sql);
      this.#statements.set(sql, statement);
    }
    return statement.all(...values);
  }

  /** Looks into the file; whatever came of it while another program began to write counts for nothing and is done once more. */
  #look<T>(act: () => T): T {
    if (this.#lay === null) return this.#told('look', act);
    try {
      const done = this.#told('look', act);
      if (lies(this.#path) === this.#lay) return done;
    } catch (error) {
      if (lies(this.#path) === this.#lay) throw error;
    }
    const shared = this.#told('look', () => openReadOnly(this.#path, false));
    this.close();
    [this.#database, this.#lay] = [shared, null];
    return this.#told('look', act);
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

/** Ends the transaction that was begun: all of it, or none. */
function inTransaction<T>(database: DatabaseSync, act: () => T): T {
  try {
    const done = act();
    database.exec('COMMIT');
    return done;
  } catch (error) {
    if (database.isTransaction) database.exec('ROLLBACK');
    throw error;
  }
}

function refuseFolder(path: string, kind: 'reading' | 'writing'): void {
  if (statSync(path, { throwIfNoEntry: false })?.isDirectory() === true) {
    throw new StoreProblem(path, 'is a folder', kind, '; expected the file of the records. Move it away and start again');
  }
}

function openToKeep(path: string): DatabaseSync {
  refuseFolder(path, 'writing');
  const database = new DatabaseSync(path, { timeout: PATIENCE.wait_ms });
  try {
    const version = schemaOf(database, path);
    // Nothing was written up to here.
    database.exec('PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;');
    if (version < SQLITE_STEPS.length) takeSteps(database, path);
    return database;
  } catch (error) {
    database.close();
    throw error;
  }
}

/** How a file lies that nobody writes: its size and the time of its last change. Null where there is none, or a log beside it. */
function lies(path: string): string | null {
  if (existsSync(`${path}-wal`)) return null;
  const status = statSync(path, { throwIfNoEntry: false, bigint: true });
  return status === undefined ? null : [status.dev, status.ino, status.size, status.mtimeNs].join(' ');
}

/** @returns the file, and how it lay when it was opened as one that nobody writes */
function openToLook(path: string): [DatabaseSync, string | null] {
  refuseFolder(path, 'reading');
  // A program that has the file open keeps its log beside it. Without one nobody writes, and SQLite need not be let make
  // its own files there, which stay behind with this user's name on them and which a place for reading only does not take.
  const lay = lies(path);
  if (lay !== null) {
    try {
      return [openReadOnly(path, true), lay];
    } catch (error) {
      // What is read of a file while it is written may look like anything, damaged too.
      if (lies(path) === lay) throw error;
    }
  }
  return [openReadOnly(path, false), null];
}

/** @param isSettled - nobody writes it, so that SQLite reads it without locks */
function openReadOnly(path: string, isSettled: boolean): DatabaseSync {
  const address = pathToFileURL(path);
  if (isSettled) address.search = 'immutable=1';
  const database = new DatabaseSync(address, { timeout: PATIENCE.wait_ms, readOnly: true });
  try {
    const version = schemaOf(database, path);
    if (version === 0) throw contentProblem(path, 'noDatabase');
    if (version < SQLITE_STEPS.length) throw new OlderFile(path);
    return database;
  } catch (error) {
    database.close();
    throw error;
  }
}

/** A file that an older program wrote; opened to keep, it is taken over. */
export class OlderFile extends StoreProblem {
  constructor(path: string) {
    super(path, 'was written by an older tapstone and has to be taken over before it can be looked at, which needs the right to write it', 'writing');
    this.name = 'OlderFile';
  }
}

/** Two programs may start on an older or empty file at once: the second finds the steps taken. */
function takeSteps(database: DatabaseSync, path: string): void {
  database.exec('BEGIN IMMEDIATE');
  inTransaction(database, () => {
    const steps = SQLITE_STEPS.slice(schemaOf(database, path));
    // Within the transaction a row may for a moment name one that is not there yet.
    database.exec('PRAGMA defer_foreign_keys = ON');
    for (const { sql } of steps) database.exec(sql);
    runAtOnce(moveAll(steps, DIALECT), (query) => database.prepare(query.sql).all(...query.values));
    database.exec(`PRAGMA user_version = ${SQLITE_STEPS.length}`);
  });
}

/** How many steps a database has taken; reads only.
 * @throws StoreProblem when a newer program wrote it, or another one
 */
function schemaOf(database: DatabaseSync, path: string): number {
  const { user_version } = database.prepare('PRAGMA user_version').get() as { user_version: number };
  const { things } = database.prepare('SELECT count(*) AS things FROM sqlite_schema').get() as { things: number };
  if (user_version > SQLITE_STEPS.length && isOurs(database)) {
    throw new StoreProblem(
      path, `was written by a newer tapstone (schema ${user_version}, expected ${SQLITE_STEPS.length} at most); update this one`, 'content');
  }
  if (things === 0 && user_version === 0) return 0;
  if (user_version < 1 || user_version > SQLITE_STEPS.length || !isOurs(database)) throw contentProblem(path, 'foreign');
  return user_version;
}

function isOurs(database: DatabaseSync): boolean {
  return Object.entries(OURS).every(([table, names]) => {
    const found = database.prepare('SELECT name FROM pragma_table_info(?)').all(table).map(({ name }) => name);
    return names.every((name) => found.includes(name));
  });
}
