import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { BenchRecord } from '../files/bench-record.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
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
    expect(JSON.parse(store.record(1) ?? '')).toEqual(record);
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

  it('refuses a file of a newer program and leaves it as it is', () => {
    const database = new DatabaseSync(path);
    database.exec('PRAGMA user_version = 99');
    database.close();
    expect(() => new RecordStore(path)).toThrow(/written by a newer tapstone \(schema 99, expected 1 at most\)/);
  });

  it('says of a file that is no database, and of a place where none can be made, what to do', () => {
    writeFileSync(path, 'something else that someone keeps here');
    expect(() => new RecordStore(path)).toThrow(expect.objectContaining({ name: 'StoreProblem', isContent: true }));
    expect(() => new RecordStore(path)).toThrow(/holds no records of tapstone; .* Move the file away/);
    expect(() => new RecordStore(folder)).toThrow(expect.objectContaining({ name: 'StoreProblem', isContent: false }));
  });
});
