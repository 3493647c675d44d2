/** `tapstone records` on files that nobody should have touched: safe text, one sentence, the documented code. */
import { mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { exampleRecord } from '../../host/src/files/example-files.ts';
import { asBenchRecord } from '../../host/src/files/bench-file.ts';
import { packText } from '../../host/src/records/packing.ts';
import { SqliteStock } from '../../host/src/records/sqlite-stock.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { keepNow } from '../records/keep-one.ts';
import { tapstone } from './run-program.ts';

const NASTY = '\x1b]0;owned\x07\u202egood';
let data: string;
let path: string;
beforeEach(() => {
  data = mkdtempSync(join(tmpdir(), 'tapstone-data-'));
  mkdirSync(join(data, 'tapstone'));
  path = join(data, 'tapstone', 'records.sqlite');
});
afterEach(() => rmSync(data, { recursive: true }));

const records = (...args: string[]): ReturnType<typeof tapstone> =>
  tapstone(['records', ...args], { environment: { XDG_DATA_HOME: data } });

const RECORD = asBenchRecord({ ...exampleRecord(), tester: { serial: 'TS-1' } });
const MAP: WireMap = { format: 'wiremap/1', verdict: 'good', coils: [], pairs: [], chassis: [], joined: [], findings: [], unknown: [] };

/** One kept test, then changed by hand. */
function kept(change = ''): void {
  const store = new SqliteStock(path);
  keepNow(store, { title: 'a title', record: RECORD, map: MAP });
  store.close();
  const database = new DatabaseSync(path);
  database.exec(change);
  database.close();
}

describe('tapstone records', () => {
  it('says that nothing was kept, and makes neither folder nor file', async () => {
    rmSync(join(data, 'tapstone'), { recursive: true });
    expect(await records()).toMatchObject({ code: 0, out: 'No test has been kept yet; the bench screen keeps each one that it runs.\n', err: '' });
    expect(readdirSync(data)).toEqual([]);
  });

  it('hands out the record that was kept', async () => {
    kept();
    const { code, out } = await records('1');
    expect(code).toBe(0);
    expect(JSON.parse(out)).toEqual(RECORD);
    expect(readdirSync(join(data, 'tapstone'))).toEqual(['records.sqlite']);
  });

  it('prints whatever stands in the file without a control, an escape or hidden text', async () => {
    kept();
    const database = new DatabaseSync(path);
    database.prepare('UPDATE tests SET taken = ?, verdict = ?, colours = ?, poles = ?').run(NASTY, NASTY, NASTY, NASTY);
    database.prepare('UPDATE pickups SET number = ?, title = ?, state = ?').run(NASTY, NASTY, NASTY);
    database.prepare('UPDATE evidence SET record = ?').run(packText(JSON.stringify({ mine: NASTY }).replace('\\u001b', '\\u001b\u202e')));
    database.close();
    for (const args of [[], ['--json'], ['--csv'], ['1']]) {
      const { code, out } = await records(...args);
      expect(code).toBe(0);
      expect(out.replaceAll(args[0] === '--csv' ? '\r\n' : '\n', '')).not.toMatch(/[\p{Cc}\p{Cf}]/u);
      expect(out).toMatch(/x1b|u001b/);
    }
  });

  it.each([
    ['a damaged record', () => kept("UPDATE evidence SET record = x'01'"), ['1'], 65, 'test 1 is damaged: it cannot be unpacked; the other tests can still be read'],
    ['a file cut short', () => { kept(); writeFileSync(path, readFileSync(path).subarray(0, 5000)); }, [], 65, 'is damaged; move it away, with the file beside it that ends in -wal if there is one, and then restore a copy or start again'],
    ['no database', () => writeFileSync(path, 'x'.repeat(9000)), [], 65, 'holds no records of tapstone; expected its database. Move the file away and start again'],
    ['another program\'s', () => { new DatabaseSync(path).exec('CREATE TABLE birds (name TEXT)'); }, [], 65, 'is the database of another program; move the file away and start again'],
    ['a folder', () => mkdirSync(path), [], 66, 'is a folder; expected the file of the records. Move it away and start again'],
  ])('tells of %s in one sentence', async (_, make, args, code, sentence) => {
    make();
    expect(await records(...args)).toMatchObject({ code, out: '', err: `${path}: ${sentence}\n` });
  });
});
