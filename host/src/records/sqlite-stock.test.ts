import { once } from 'node:events';
import { mkdtempSync, readFileSync, readdirSync, rmSync, statSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { Worker } from 'node:worker_threads';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { BenchRecord } from '../files/bench-record.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { readDoubt } from './doubts.ts';
import { journalAfter, takeEntry } from './journal.ts';
import { remember, setting } from './keeping.ts';
import { keepNow } from '../../../tests/records/keep-one.ts';
import { Keeper } from './keeper.ts';
import { StoreProblem, storeProblem } from './problem.ts';
import { textLine } from './list-text.ts';
import { evidenceOf, search } from './searching.ts';
import { SqliteStock } from './sqlite-stock.ts';
import { entryLine, readEntry } from './transfer.ts';

const record: BenchRecord = { format: 'bench/1', taken: '2026-03-14T10:22:31Z', clips: [{ clip: 1 }, { clip: 2 }], resistances: [] };
const map: WireMap = {
  format: 'wiremap/1', verdict: 'unsure', coils: [], pairs: [], chassis: [], joined: [], findings: [], unknown: [],
};

const SOUND: WireMap = { ...map, verdict: 'good' };
const LIKELY: WireMap = { ...SOUND, coils: [
  { name: 'coil 1', minus: 1, plus: 2, ends: [1, 2], ohm: 7000, place: null, pole: null, confidence: 0.97 },
] };
const WARNED: WireMap = { ...SOUND, findings: [{ kind: 'weak_touch', severity: 'warning', clips: [1, 2], text: 'A touch was weak.' }] };

/** @returns the test's number */
const keep = (stock: SqliteStock, title: string): number => keepNow(stock, { title, record, map });
const titles = (stock: SqliteStock): string[] => stock.do(search('tests', {}, 100)).map(({ title }) => title);

describe('the shop\'s records', () => {
  let folder: string;
  let path: string;
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'tapstone-records-'));
    path = join(folder, 'records.sqlite');
  });
  afterEach(() => rmSync(folder, { recursive: true, force: true }));

  it('keeps tests over a restart of the program, the newest listed first', () => {
    let store = new SqliteStock(path);
    expect([keep(store, 'first'), keep(store, 'second')]).toEqual([1, 2]);
    store.close();
    store = new SqliteStock(path);
    expect(store.do(search('tests', {}, 100))).toMatchObject([
      { test: 2, number: '0002', taken: '2026-03-14T10:22:31Z', title: 'second', verdict: 'unsure', state: 'unsure' },
      { test: 1, number: '0001', taken: '2026-03-14T10:22:31Z', title: 'first', verdict: 'unsure', state: 'unsure' },
    ]);
    expect(store.do(evidenceOf(1))).toEqual({ record, map: JSON.stringify(map), module: 'aa' });
    expect(store.do(evidenceOf(3))).toBeNull();
    store.close();
  });

  it('remembers a choice and overwrites it', () => {
    const store = new SqliteStock(path);
    expect(store.do(setting('tester'))).toBeUndefined();
    store.do(remember('tester', 'TS-1'));
    store.do(remember('tester', 'TS-2'));
    expect(store.do(setting('tester'))).toBe('TS-2');
    store.close();
  });

  it('calls nothing kept before it is on the disk', () => {
    const store = new SqliteStock(path);
    const pragma = (name: string): unknown =>
      store.do({ use: 'look', *steps() { return Object.values((yield { sql: `PRAGMA ${name}`, values: [] })[0]!)[0]; } });
    // 2 is FULL (sqlite.org/pragma.html#pragma_synchronous): the log is synced at each commit.
    expect([pragma('journal_mode'), pragma('synchronous')]).toEqual(['wal', 2]);
    store.close();
  });

  /** Bytes of all files in the folder. */
  const files = (): Record<string, string> =>
    Object.fromEntries(readdirSync(folder).map((name) => [name, readFileSync(join(folder, name)).toString('base64')]));
  const run = (sql: string): void => {
    const database = new DatabaseSync(path);
    database.exec(sql);
    database.close();
  };
  const keptOnce = (): void => {
    const store = new SqliteStock(path);
    keep(store, 'first');
    store.close();
  };
  const refused = (use: 'keep' | 'look' = 'keep'): StoreProblem => {
    try {
      new SqliteStock(path, use).close();
    } catch (error) {
      if (error instanceof StoreProblem) return error;
      throw error;
    }
    throw new Error('it is taken');
  };
  const NEWER = /^was written by a newer tapstone \(schema 99, expected 3 at most\); update this one$/;
  const FOREIGN = /^is the database of another program; move the file away and start again$/;

  it.each([
    ['of a newer program', () => { keptOnce(); run('PRAGMA journal_mode = DELETE; PRAGMA user_version = 99'); }, NEWER],
    ['of another program', () => run('CREATE TABLE birds (name TEXT); INSERT INTO birds VALUES (1)'), FOREIGN],
    ['of another program with our number', () => run('CREATE TABLE tests (id INTEGER); PRAGMA user_version = 1'), FOREIGN],
    ['of another program, empty but marked', () => run('PRAGMA user_version = 7'), FOREIGN],
    ['that is no database', () => writeFileSync(path, 'something else that someone keeps here'), /^holds no records of tapstone; .* Move the file away/],
    ['that is cut short', () => { keptOnce(); truncateSync(path, statSync(path).size - 4096); }, /^is damaged; move it away/],
    ['that is damaged', () => { keptOnce(); writeFileSync(path, readFileSync(path).fill(0x55, 100, 4096)); }, /^is damaged; move it away/],
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
    const store = new SqliteStock(path);
    expect(keep(store, 'second')).toBe(2);
    await once(other, 'exit');

    const holder = new DatabaseSync(path);
    holder.exec('BEGIN IMMEDIATE');
    expect(() => keep(store, 'third')).toThrow(expect.objectContaining({
      name: 'StoreProblem', kind: 'writing', message: 'is in use by another program that does not let go of it; end that program',
    }));
    holder.exec('ROLLBACK');
    holder.close();
    expect(keep(store, 'third')).toBe(3);
    store.close();
  });

  it('can be looked at where nothing may be written, and leaves nothing beside it', () => {
    keptOnce();
    const before = files();
    const store = new SqliteStock(path, 'look');
    expect(titles(store)).toEqual(['first']);
    expect(() => store.do(remember('tester', 'TS-1'))).toThrow(
      expect.objectContaining({ kind: 'writing', message: expect.stringMatching(/^cannot be written; change/) }));
    store.close();
    expect(files()).toEqual(before);
  });

  it('can be looked at while the bench keeps tests in it', () => {
    const bench = new SqliteStock(path);
    keep(bench, 'first');
    const look = new SqliteStock(path, 'look');
    expect(titles(look)).toEqual(['first']);
    look.close();
    bench.close();
  });

  it('is looked at as it is when a bench began to keep tests in it, and ended, only after it was opened', () => {
    keptOnce();
    const look = new SqliteStock(path, 'look');
    expect(titles(look)).toEqual(['first']);
    const bench = new SqliteStock(path);
    for (let n = 2; n <= 200; n += 1) keep(bench, `number ${n}`);
    expect(titles(look)).toHaveLength(100);
    bench.close();
    look.close();

    const [early, late, copied] = [1, 2, 3].map(() => new SqliteStock(path, 'look')) as [SqliteStock, SqliteStock, SqliteStock];
    expect(titles(early)[0]).toBe('number 200');
    run('DELETE FROM words; UPDATE pickups SET title = title || hex(randomblob(3000)); VACUUM');
    expect(titles(early)[0]).toMatch(/^number 200[0-9A-F]{6000}$/);
    late.check();
    copied.copyTo(join(folder, 'copy'));
    for (const one of [early, late, copied]) one.close();
    const copy = new SqliteStock(join(folder, 'copy'), 'look');
    copy.check();
    expect(titles(copy)[0]).toMatch(/^number 200[0-9A-F]{6000}$/);
    copy.close();
  });

  it('tells of damaged evidence, and hands out only text', () => {
    keptOnce();
    run("UPDATE pickups SET title = 'x'; UPDATE evidence SET record = x'00', map = x'0102'");
    const store = new SqliteStock(path, 'look');
    expect(titles(store)).toEqual(['x']);
    expect(store.do(evidenceOf(1))).toEqual({ damaged: 'it cannot be unpacked' });
    store.close();
  });

  it('takes over what an older program kept, each test under its number, and a damaged one as it stands', () => {
    run(`CREATE TABLE tests (id INTEGER PRIMARY KEY, taken TEXT NOT NULL, title TEXT NOT NULL, verdict TEXT NOT NULL,
        record TEXT NOT NULL, map TEXT NOT NULL) STRICT;
      CREATE TABLE settings (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT; PRAGMA user_version = 1;
      INSERT INTO settings VALUES ('tester', 'TS-1');`);
    const virtual = { ...record, tester: { serial: 'TWIN-0001' } };
    const database = new DatabaseSync(path);
    const insert = database.prepare('INSERT INTO tests VALUES (?, ?, ?, ?, ?, ?)');
    insert.run(2, record.taken!, 'mine', 'unsure', JSON.stringify(record), JSON.stringify(map));
    insert.run(3, record.taken!, 'invented', 'unsure', JSON.stringify(virtual), JSON.stringify(map));
    insert.run(5, record.taken!, 'likely', 'good', JSON.stringify(record), JSON.stringify(LIKELY));
    insert.run(7, '5', 'broken', 'good', 'no json', '');
    database.close();
    expect(() => new SqliteStock(path, 'look')).toThrow(expect.objectContaining({ name: 'OlderFile' }));
    const store = new SqliteStock(path);
    expect(store.do(search('tests', { withVirtual: true }, 100))).toMatchObject([
      { test: 7, number: '0003', title: 'broken', verdict: 'good', doubt: 'untold', isVirtual: false },
      { test: 5, number: '0002', title: 'likely', verdict: 'good', doubt: 'likely' },
      { test: 3, number: 'V-0001', title: 'invented', isVirtual: true },
      { test: 2, number: '0001', title: 'mine', isVirtual: false },
    ]);
    expect(store.do(evidenceOf(2))).toMatchObject({ record, map: JSON.stringify(map) });
    expect(store.do(evidenceOf(7))).toEqual({ damaged: 'its record is no JSON' });
    expect(store.do(setting('tester'))).toBe('TS-1');
    store.check();
    store.close();
  });

  /** What a program kept that knew of no doubts: the column is not there, and no entry of the journal tells one. */
  const asBefore = (): void => run(`ALTER TABLE tests DROP COLUMN doubt; UPDATE journal SET args = json_remove(args, '$.facts.doubt');
    PRAGMA user_version = 2`);

  it('tells the doubts of tests that were kept before there was a column for them, to another stock as well', () => {
    const older = new SqliteStock(path);
    for (const one of [SOUND, LIKELY, WARNED, map]) keepNow(older, { title: 'older', record, map: one });
    const broken = keepNow(older, { title: 'damaged', record, map: LIKELY });
    older.close();
    asBefore();
    run(`UPDATE evidence SET map = x'0102' WHERE test = ${broken}`);
    expect(() => new SqliteStock(path, 'look')).toThrow(expect.objectContaining({ name: 'OlderFile' }));
    const store = new SqliteStock(path);
    const doubts = (stock: SqliteStock): unknown => stock.do(search('stock', {}, 9)).map(({ doubt }) => doubt).reverse();
    expect(doubts(store)).toEqual(['', 'likely', 'warning', '', 'untold']);
    const other = new SqliteStock(':memory:');
    for (const { entry } of store.do(journalAfter(0, 100))) other.do(takeEntry(entry));
    expect(doubts(other)).toEqual(doubts(store));
    const byLines = new SqliteStock(':memory:');
    for (const { entry } of store.do(journalAfter(0, 100))) byLines.do(takeEntry(readEntry(JSON.parse(entryLine(entry)))));
    expect(doubts(byLines)).toEqual(doubts(store));
    store.check();
    for (const stock of [store, other, byLines]) stock.close();
  });

  it('tells no doubt of what a program keeps that began before there was a column for it, and does not call it sound', () => {
    keptOnce();
    run(`INSERT INTO tests (uid, pickup, taken, title, verdict, is_broken, is_withdrawn, is_virtual, module, serial, coils, leads,
      colours, clips, poles, words) VALUES ('t', 1, '', '', 'good', 0, 0, 0, '', '', 0, 0, '', '', '', '')`);
    const store = new SqliteStock(path, 'look');
    const [newest] = store.do(search('tests', {}, 1));
    expect(newest).toMatchObject({ verdict: 'good', doubt: 'untold' });
    expect(textLine('tests', newest!, (utc) => utc)).toContain('  see its map  ');
    store.close();
    expect(readDoubt('a word of a newer program')).toBe('untold');
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
    [779, 'look', 'content', 'is damaged; move it away, with the file beside it that ends in -wal if there is one, and then restore a copy or start again'],
  ] as const)('by extended code %i is told by what it is', (errcode, use, kind, message) => {
    expect(storeProblem('/a', Object.assign(new Error('x'), { errcode }), use)).toMatchObject({ name: 'StoreProblem', kind, message });
  });
  it('that nobody can do anything about stays what it is', () => {
    const error = Object.assign(new Error('x'), { errcode: 21 });
    expect(storeProblem('/a', error, 'keep')).toBe(error);
  });
});

describe('a keeper of tests', () => {
  let folder: string;
  beforeEach(() => { folder = mkdtempSync(join(tmpdir(), 'tapstone-records-')); });
  afterEach(() => rmSync(folder, { recursive: true, force: true }));
  let uids = 0;
  const means = {
    sentence: (error: unknown) => (error as Error).message,
    freshUid: () => `uid-${uids++}`, timeOfDay: () => '2026-03-14T10:00:00Z', module: () => 'aa',
  };
  const test = (title: string, place: number, isBroken = false) => ({ title, record, map, isBroken, place });
  const LOT = { name: 'box 3', setup: '{}', size: 0, isVirtual: false };

  it('says why nothing is kept, tries again with the next test, and says so when it works again', () => {
    let works = false;
    const keeper = new Keeper({ ...means, open: () => {
      if (!works) throw new StoreProblem('/a', 'is in use', 'writing');
      return new SqliteStock(join(folder, 'records.sqlite'));
    } });
    expect(keeper.trouble).toBe('is in use');
    expect(keeper.setting('tester')).toBeUndefined();
    keeper.remember('tester', 'TS-2');
    keeper.putOn(LOT);
    expect(keeper.keep(test('first', 0))).toBe('is in use');
    works = true;
    expect(keeper.keep(test('second', 1))).toBeNull();
    expect([keeper.trouble, keeper.places().map(({ title, number }) => [title, number])]).toEqual([null, [['second', '0001']]]);
    keeper.close();
  });

  it('knows over a restart where a lot stands, and keeps a broken-off test as broken off', () => {
    const start = (): Keeper => new Keeper({ ...means, open: () => new SqliteStock(join(folder, 'records.sqlite')) });
    let keeper = start();
    keeper.putOn(LOT);
    keeper.keep(test('a', 0));
    keeper.stand(1);
    keeper.keep(test('b', 1, true));
    keeper.close();
    keeper = start();
    const lot = keeper.newestLot(false)!;
    expect(lot).toMatchObject({ name: 'box 3', standsAt: 1, tested: 1, states: { unsure: 1, waiting: 1 } });
    expect(keeper.newestLot(true)).toBeNull();
    keeper.putOn(LOT, lot);
    expect(keeper.keep(test('b', 1))).toBeNull();
    expect(keeper.last).toMatchObject({ test: 3, number: '0002' });
    expect(keeper.places().map(({ state }) => state)).toEqual(['unsure', 'unsure']);
    expect(keeper.undo()).toBe(1);
    expect(keeper.places().map(({ state }) => state)).toEqual(['unsure', 'waiting']);
    keeper.close();
  });
});
