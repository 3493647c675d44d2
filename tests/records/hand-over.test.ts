/** Several benches and one server: numbers, the hand-over, a server that is lost, a list on another bench, a program that is killed. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { Courier, numberBy } from '../../host/src/records/courier.ts';
import { addEvent } from '../../host/src/records/keeping.ts';
import { PostgresStock } from '../../host/src/records/postgres-stock.ts';
import { BENCH_RIGHTS } from '../../host/src/records/schema.ts';
import { countOf, pickupNumbered, search } from '../../host/src/records/searching.ts';
import { SqliteStock } from '../../host/src/records/sqlite-stock.ts';
import { tapstone } from '../program/run-program.ts';
import { mapOf, RECORD } from './behaviour.ts';
import { keepNow } from './keep-one.ts';
import { killHandOver, lostByKills } from './kills.ts';
import { PostgresServer } from './postgres-server.ts';

const MAP = mapOf([{ ohm: 4100, pole: 'N' }]);
/** Kills in a run of all tests; `npm run figures -- kills` does as many as are wanted. */
const KILLS = 6;

let server: PostgresServer;
let databases = 0;
let address = '';
let folder = '';
beforeAll(async () => {
  server = new PostgresServer();
  await server.start();
  server.sql('CREATE ROLE bench LOGIN');
});
afterAll(() => server.remove());
beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'tapstone-benches-'));
  const name = `shop${(databases += 1)}`;
  server.sql(`CREATE DATABASE ${name}`);
  await PostgresStock.prepare(server.address(name));
  server.sql(BENCH_RIGHTS.join(';'), name);
  address = server.address(name, 'bench');
});
afterEach(() => rmSync(folder, { recursive: true }));

let uids = 0;
/** A bench: its own file, and whoever takes it over. */
function bench(name: string, reach: () => Promise<PostgresStock> = () => PostgresStock.open(address)) {
  const own = new SqliteStock(join(folder, `${name}.sqlite`));
  numberBy(own, true);
  const courier = new Courier(own, reach, () => `stock-${(uids += 1)}`);
  return { own, courier, keep: (n: number) => keepNow(own, { title: `${name} ${n}`, record: RECORD, map: MAP, name: `${name}.${n}` }) };
}

async function onServer<T>(act: (stock: PostgresStock) => Promise<T>): Promise<T> {
  const stock = await PostgresStock.open(address);
  try {
    return await act(stock);
  } finally {
    await stock.close();
  }
}

describe('benches that share a server', () => {
  it('four at once: each test is there once, and no number twice', async () => {
    const benches = ['a', 'b', 'c', 'd'].map((name) => bench(name));
    await Promise.all(benches.map(async ({ courier, keep }) => {
      for (let n = 0; n < 8; n += 1) {
        keep(n);
        await courier.round();
      }
    }));
    const lines = await onServer((stock) => stock.do(search('tests', {}, 100)));
    expect(lines.map(({ title }) => title).sort()).toEqual(['a', 'b', 'c', 'd'].flatMap((name) => [0, 1, 2, 3, 4, 5, 6, 7].map((n) => `${name} ${n}`)));
    expect(new Set(lines.map(({ number }) => number)).size).toBe(32);
    // Each bench knows its own pickups by the numbers that the server knows them by.
    const here = benches.flatMap(({ own }) => own.do(search('tests', {}, 100))).map(({ title, number }) => `${title} ${number}`);
    expect(here.sort()).toEqual(lines.map(({ title, number }) => `${title} ${number}`).sort());
    for (const { own, courier } of benches) {
      await courier.close();
      own.close();
    }
  });

  it('goes on without the server, with numbers in reserve and then with none, and hands all over once it is back', async () => {
    const { own, courier, keep } = bench('lone');
    keep(0);
    expect(await courier.round()).toBe(2);
    server.stop();
    for (let n = 1; n < 40; n += 1) keep(n);
    await expect(courier.round()).rejects.toMatchObject({ name: 'StoreProblem' });
    const numbers = own.do(search('stock', {}, 100)).map(({ number }) => number);
    const given = numbers.filter((number) => number !== null);
    expect([given.length, new Set(given).size]).toEqual([31, 31]);
    own.do(addEvent({ uid: 'sold', pickup: 'lone.3.pickup', at: '2026-03-14T11:00:00Z', kind: 'state', text: 'sold' }));
    await server.start();
    await expect(courier.round().catch(() => courier.round())).resolves.toBe(2 * 39 + 1);
    expect(await courier.round()).toBe(0);
    const after = own.do(search('stock', {}, 100));
    expect(new Set(after.map(({ number }) => number)).size).toBe(40);
    await onServer(async (stock) => {
      expect(await stock.do(countOf('tests', {}))).toBe(40);
      const third = after.find(({ title }) => title === 'lone 3')!;
      expect((await stock.do(pickupNumbered(third.number!)))!.line).toMatchObject({ title: 'lone 3', state: 'sold' });
    });
    await courier.close();
    own.close();
  });

  it('takes each entry once although the way breaks after any of them', async () => {
    for (let breaksAt = 0; breaksAt < 12; breaksAt += 1) {
      let left = breaksAt;
      const reach = async (): Promise<PostgresStock> => {
        const stock = await PostgresStock.open(address);
        const whole = stock.do.bind(stock);
        stock.do = async (work) => {
          const done = await whole(work);
          // Done, and the answer is lost on the way.
          if ((left -= 1) === -1) throw new Error('connection terminated');
          return done;
        };
        return stock;
      };
      const { own, courier, keep } = bench(`way${breaksAt}`, reach);
      for (let n = 0; n < 3; n += 1) keep(n);
      for (let round = 0; round < 3; round += 1) {
        await courier.round().catch(() => undefined);
        await courier.close();
      }
      await courier.close();
      own.close();
    }
    expect(await onServer((stock) => stock.do(countOf('tests', {})))).toBe(36);
    expect(await onServer((stock) => stock.do(countOf('stock', {})))).toBe(36);
  });

  it('takes each entry once from a hand-over that is killed again and again', async () => {
    const { own, courier, keep } = bench('killed');
    for (let n = 0; n < 120; n += 1) keep(n);
    await killHandOver(join(folder, 'killed.sqlite'), address, KILLS, 1);
    await courier.round();
    const lines = await onServer((stock) => stock.do(search('tests', {}, 500)));
    expect(new Set(lines.map(({ title }) => title)).size).toBe(120);
    expect([lines.length, new Set(lines.map(({ number }) => number)).size]).toEqual([120, 120]);
    await courier.close();
    own.close();
  });

  it('shows on one bench what another keeps, by command, and hands over by command', async () => {
    const environment = { XDG_DATA_HOME: folder, TAPSTONE_RECORDS: address };
    const main = fileURLToPath(new URL('../../host/src/main.ts', import.meta.url));
    const other = spawn(process.execPath, [main, 'records', 'follow'], {
      env: { ...process.env, ...environment, NO_COLOR: '' }, stdio: ['ignore', 'pipe', 'inherit'],
    });
    let told = '';
    other.stdout.on('data', (text: Buffer) => (told += text.toString()));
    const says = async (what: RegExp): Promise<void> => {
      while (!what.test(told)) await once(other.stdout, 'data');
    };
    // What is kept from here on is told.
    await says(/^ *test/);
    const { own, courier, keep } = bench('seen');
    keep(0);
    await courier.round();
    await says(/good .*seen 0\n$/);
    other.kill('SIGTERM');
    await courier.close();
    own.close();
    expect(await tapstone(['records', 'hand-over'], { environment })).toMatchObject({ code: 0, out: '0 entries handed over\n', err: '' });
    expect(await tapstone(['records', 'hand-over'], { environment: { XDG_DATA_HOME: folder } })).toMatchObject({
      code: 64, err: expect.stringMatching(/no server is named; expected TAPSTONE_RECORDS=/),
    });
  });
});

describe('a program that is killed while it keeps tests', () => {
  it('has lost none that it called kept, and leaves a sound file', async () => {
    const { kept, lost } = await lostByKills(join(folder, 'records.sqlite'), KILLS, 1);
    expect(lost).toEqual([]);
    expect(kept).toBeGreaterThan(KILLS);
  });
});
