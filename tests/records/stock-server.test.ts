/** The stock on a server, as benches with no more rights than they are to have. */
import { afterAll, beforeAll } from 'vitest';
import { PostgresStock } from '../../host/src/records/postgres-stock.ts';
import { describeStock } from './behaviour.ts';
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

async function empty(): Promise<PostgresStock> {
  const name = `stock${(databases += 1)}`;
  server.sql(`CREATE DATABASE ${name}`);
  await PostgresStock.prepare(server.address(name));
  server.sql(BENCH_RIGHTS.join(';'), name);
  return PostgresStock.open(server.address(name, 'bench'));
}

describeStock('on a server', empty);
