/** The table of a lot, as another program's reader of CSV finds it. */
import { execFileSync } from 'node:child_process';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { PYTHON } from '../reference/python.ts';
import { METERS, NASTY, Shop, solve } from './shop.ts';

/** Python's `csv`, strict: rows as objects by the names in the first one. */
function read(csv: string): Record<string, string>[] {
  const script = 'import csv, json, sys; print(json.dumps(list(csv.DictReader(sys.stdin, strict=True))))';
  return JSON.parse(execFileSync(PYTHON, ['-X', 'utf8', '-c', script], { input: csv, encoding: 'utf8' })) as Record<string, string>[];
}

/** The same pickup with every swing turned over, as one whose ends were exchanged would give it. */
const turned = { positive: 'negative', negative: 'positive', none: 'none' } as const;
const REVERSED = { ...METERS, observed: METERS.observed!.map((one) => ({ ...one, swing: turned[one.swing] })) };

describe('the table of a lot', () => {
  const shop = new Shop();
  beforeAll(() => {
    shop.lot('=box', [...Array.from({ length: 5 }, () => METERS), REVERSED], NASTY);
  });
  afterAll(() => shop.close());

  it('is read by a reader of CSV with every value where it belongs, and says which one differs', async () => {
    const { code, out, err } = await shop.run('lot', '=box', '--csv');
    expect([code, err]).toEqual([0, '']);
    const rows = read(out);
    expect(rows.map(({ number }) => number)).toEqual(['0001', '0002', '0003', '0004', '0005', '0006']);
    const sum = solve(METERS).coils.reduce((ohms, { ohm }) => ohms + ohm!, 0);
    for (const row of rows) expect([row.verdict, Number(row.ohm), row.leads, row.colours]).toEqual(['good', sum, '5', 'PK,TQ,OG,VT,BARE']);
    expect(rows.map(({ differs }) => differs !== '')).toEqual([false, false, false, false, false, true]);
    expect(rows[5]!.differs).toMatch(/plus/);
  });

  it('holds no cell that a spreadsheet would run, and no character that cannot be seen', async () => {
    const { out } = await shop.run('lot', '=box', '--csv');
    for (const row of read(out)) {
      for (const value of Object.values(row)) expect(value).not.toMatch(/^[=+\-@\t\r]|[\p{Cc}\p{Cf}]/u);
      expect([row.lot, row.title!.slice(0, 5)]).toEqual(["'=box", "'=1+1"]);
    }
    const table = await shop.run('lot', '=box');
    expect(table.out).toMatch(/^.*=box: 6 of 6 tested, 6 good\n/);
    expect(table.out.replaceAll('\n', '')).not.toMatch(/[\p{Cc}\p{Cf}]/u);
  });
});
