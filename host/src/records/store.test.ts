import { once } from 'node:events';
import { mkdtempSync, readFileSync, readdirSync, rmSync, statSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { Worker } from 'node:worker_threads';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { BenchRecord } from '../files/bench-record.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { Keeper } from './keeper.ts';
import { StoreProblem, storeProblem } from './problem.ts';
import { RecordStore } from './store.ts';

const record: BenchRecord = { format: 'bench/1', taken: '2026-03-14T10:22:31Z', clips: [{ clip: 1 }, { clip: 2 }], resistances: [] };
const map: WireMap = {
  format: 'wiremap/1', verdict: 'unsure', coils: [], pairs: [], chassis: [], joined: [], findings: [], unknown: [],
};

describe('the shop\'s records', () => {
  let folder: string;
  let path: string;
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'tapstone-records-'));
    path = join(folder, 'records.sqlite');
  });
  afterEach(() => rmSync(folder, { recursive: true, force: true }));

  it('keeps tests over a restart of the program, the newest listed first', () => {
    let store = new RecordStore(path);
    expect([store.add('first', record, map), store.add('second', record, map)]).toEqual([1, 2]);
    store.close();
    store = new RecordStore(path);
    expect(store.list()).toEqual([
      { id: 2, taken: '2026-03-14T10:22:31Z', title: 'second', verdict: 'unsure' },
      { id: 1, taken: '2026-03-14T10:22:31Z', title: 'first', verdict: 'unsure' },
    ]);
    expect(store.record(1)).toEqual(record);
    expect(store.record(3)).toBeNull();
    store.close();
  });

  it('remembers a choice and overwrites it', () => {
    const store = new RecordStore(path);
    expect(store.setting('tester')).toBeUndefined();
    store.remember('tester', 'TS-1');
    store.remember('tester', 'TS-2');
    expect(store.setting('tester')).toBe('TS-2');
    store.close();
  });

  /** Bytes of all files in the folder. */
  const files = (): Record<string, string> =>
    Object.fromEntries(readdirSync(folder).map((name) => [name, readFileSync(join(folder, name)).toString('base64')]));
  const made = (sql: string): void => {
    const database = new DatabaseSync(path);
    database.exec(sql);
    database.close();
  };
  const keptOnce = (): void => {
    const store = new RecordStore(path);
    store.add('first', record, map);
    store.close();
  };
  const refused = (use: 'keep' | 'look' = 'keep'): StoreProblem => {
    try {
      new RecordStore(path, use).close();
    } catch (error) {
      if (error instanceof StoreProblem) return error;
      throw error;
    }
    throw new Error('it is taken');
  };
  const NEWER = /^was written by a newer tapstone \(schema 99, expected 1 at most\); update this one$/;
  const FOREIGN = /^is the database of another program; move the file away and start again$/;

  it.each([
    ['of a newer program', () => { keptOnce(); made('PRAGMA journal_mode = DELETE; PRAGMA user_version = 99'); }, NEWER],
    ['of another program', () => made('CREATE TABLE birds (name TEXT); INSERT INTO birds VALUES (1)'), FOREIGN],
    ['of another program with our number', () => made('CREATE TABLE tests (id INTEGER); PRAGMA user_version = 1'), FOREIGN],
    ['of another program, empty but marked', () => made('PRAGMA user_version = 7'), FOREIGN],
    ['that is no database', () => writeFileSync(path, 'something else that someone keeps here'), /^holds no records of tapstone; .* Move the file away/],
    ['that is cut short', () => { keptOnce(); truncateSync(path, statSync(path).size - 4096); }, /^is damaged; restore a copy of it, or move/],
    ['that is damaged', () => { keptOnce(); writeFileSync(path, readFileSync(path).fill(0x55, 100, 4096)); }, /^is damaged; restore/],
  ])('refuses a file %s and leaves it as it is, to the byte', (_, make, sentence) => {
    make();
    const before = files();
    for (const use of ['keep', 'look'] as const) {
      expect(refused(use)).toMatchObject({ path, kind: 'content', message: expect.stringMatching(sentence) });
      expect(files()).toEqual(before);
    }
  });

  it('says of a place where none can be made what to do', () => {
    path = folder;
    expect(refused()).toMatchObject({ kind: 'writing', message: expect.stringMatching(/^is a folder; expected the file of the records/) });
    path = join(folder, 'none', 'records.sqlite');
    expect(refused()).toMatchObject({ kind: 'writing', message: expect.stringMatching(/^cannot be opened for writing; change the permissions/) });
    expect(refused('look')).toMatchObject({ kind: 'reading', message: expect.stringMatching(/^cannot be read; change/) });
  });

  it('waits for a program that has it for a moment, and says so of one that does not let go', async () => {
    keptOnce();
    const other = new Worker(`
      const { DatabaseSync } = require('node:sqlite');
      const { parentPort, workerData } = require('node:worker_threads');
      const database = new DatabaseSync(workerData.path);
      database.exec('BEGIN IMMEDIATE');
      parentPort.postMessage('held');
      Atomics.wait(new Int32Array(workerData.end), 0, 0, workerData.held_ms);
      database.exec('COMMIT');
      database.close();`, { eval: true, workerData: { path, held_ms: 300, end: new SharedArrayBuffer(4) } });
    await once(other, 'message');
    const store = new RecordStore(path);
    expect(store.add('second', record, map)).toBe(2);
    await once(other, 'exit');

    const holder = new DatabaseSync(path);
    holder.exec('BEGIN IMMEDIATE');
    expect(() => store.add('third', record, map)).toThrow(expect.objectContaining({
      name: 'StoreProblem', kind: 'writing', message: 'is in use by another program that does not let go of it; end that program',
    }));
    holder.exec('ROLLBACK');
    holder.close();
    expect(store.add('third', record, map)).toBe(3);
    store.close();
  });

  it('can be looked at where nothing may be written, and leaves nothing beside it', () => {
    keptOnce();
    const before = files();
    const store = new RecordStore(path, 'look');
    expect(store.list()).toHaveLength(1);
    expect(() => store.remember('tester', 'TS-1')).toThrow(
      expect.objectContaining({ kind: 'writing', message: expect.stringMatching(/^cannot be written; change/) }));
    store.close();
    expect(files()).toEqual(before);
  });

  it('can be looked at while the bench keeps tests in it', () => {
    const bench = new RecordStore(path);
    bench.add('first', record, map);
    const look = new RecordStore(path, 'look');
    expect(look.list()).toHaveLength(1);
    look.close();
    bench.close();
  });

  it('tells of a damaged record by its number, and hands out only text', () => {
    keptOnce();
    made("DROP TABLE tests; CREATE TABLE tests (id INTEGER PRIMARY KEY, taken, title, verdict, record, map); INSERT INTO tests VALUES (1, 5, NULL, x'00', 'no json', '')");
    const store = new RecordStore(path, 'look');
    expect(store.list()).toEqual([{ id: 1, taken: '5', title: 'null', verdict: '0' }]);
    expect(() => store.record(1)).toThrow('test 1 is damaged: its record is no JSON');
    store.close();
  });
});

describe('what SQLite says', () => {
  // Codes of sqlite.org/rescode.html.
  it.each([
    [13, 'keep', 'writing', 'cannot be written: the disk is full'],
    [778, 'keep', 'writing', 'cannot be opened for writing: the disk does not do what is asked of it; look whether it is full or failing'],
    [266, 'look', 'reading', 'cannot be read: the disk does not do what is asked of it; look whether it is full or failing'],
    [1544, 'keep', 'writing', 'cannot be written; change the permissions of the file and its folder'],
    [526, 'look', 'reading', 'cannot be read; change the permissions of the file and its folder'],
    [517, 'keep', 'writing', 'is in use by another program that does not let go of it; end that program'],
    [779, 'look', 'content', 'is damaged; restore a copy of it, or move the file away and start again'],
  ] as const)('by extended code %i is told by what it is', (errcode, use, kind, message) => {
    expect(storeProblem('/a', Object.assign(new Error('x'), { errcode }), use)).toMatchObject({ name: 'StoreProblem', kind, message });
  });
  it('that nobody can do anything about stays what it is', () => {
    const error = Object.assign(new Error('x'), { errcode: 21 });
    expect(storeProblem('/a', error, 'keep')).toBe(error);
  });
});

describe('a keeper of tests', () => {
  const working = (): { store: RecordStore; titles: string[] } => {
    const titles: string[] = [];
    const store = { add: (title: string) => titles.push(title), setting: () => 'TS-1', remember() {}, close() {} };
    return { store: store as unknown as RecordStore, titles };
  };

  it('says why nothing is kept, tries again with the next test, and says so when it works again', () => {
    const { store, titles } = working();
    let works = false;
    const keeper = new Keeper(() => {
      if (!works) throw new StoreProblem('/a', 'is in use', 'writing');
      return store;
    }, (error) => (error as Error).message);
    expect(keeper.trouble).toBe('is in use');
    expect(keeper.setting('tester')).toBeUndefined();
    keeper.remember('tester', 'TS-2');
    expect(keeper.keep('first', record, map)).toBe('is in use');
    works = true;
    expect(keeper.keep('second', record, map)).toBeNull();
    expect([keeper.trouble, keeper.setting('tester'), titles]).toEqual([null, 'TS-1', ['second']]);
    keeper.close();
  });
});
