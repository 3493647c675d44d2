/** The stock on a server, as benches with no more rights than they are to have. */
import { afterAll, beforeAll, expect, it } from 'vitest';
import { PostgresStock } from '../../host/src/records/postgres-stock.ts';
import { search } from '../../host/src/records/searching.ts';
import { describeStock, LIKELY, RECORD, WARNED } from './behaviour.ts';
import { keepOne } from './keep-one.ts';
import { PostgresServer } from './postgres-server.ts';
import { BENCH_RIGHTS } from '../../host/src/records/schema.ts';

let server: PostgresServer;
let databases = 0;
beforeAll(async () => {
  server = new PostgresServer();
  await server.start();
  server.sql('CREATE ROLE bench LOGIN');
});
afterAll(() => server.remove());

async function empty(name = `stock${(databases += 1)}`): Promise<PostgresStock> {
  server.sql(`CREATE DATABASE ${name}`);
  await PostgresStock.prepare(server.address(name));
  server.sql(BENCH_RIGHTS.join(';'), name);
  return PostgresStock.open(server.address(name, 'bench'));
}

describeStock('on a server', () => empty());

it('is refused until its owner has it take the step, which tells the doubts of what was kept before', async () => {
  const older = await empty('older');
  for (const map of [LIKELY, WARNED, { ...LIKELY, verdict: 'fault' as const }]) await keepOne(older, { title: 'older', record: RECORD, map });
  await older.close();
  server.sql('ALTER TABLE tapstone.tests DROP COLUMN doubt; UPDATE tapstone.version SET steps = 1', 'older');
  await expect(PostgresStock.open(server.address('older', 'bench'))).rejects.toMatchObject({
    message: 'was prepared by an older tapstone; whoever owns it runs "tapstone records prepare" once' });
  await PostgresStock.prepare(server.address('older'));
  const stock = await PostgresStock.open(server.address('older', 'bench'));
  expect((await stock.do(search('tests', {}, 9))).map(({ doubt }) => doubt)).toEqual(['', 'warning', 'likely']);
  await stock.close();
  // An older program knows of one step, and is refused by the count.
  expect(server.sql('SELECT steps FROM tapstone.version', 'older')).toBe('2');
});
