/**
 * A program that keeps tests, or hands them over, until it is killed: tells each test that was called kept, and each round.
 * Arguments: the file; `keep` or `hand-over`; the server's address for the latter; what the tests' names begin with.
 */
import { exampleRecord } from '../../host/src/files/example-files.ts';
import { asBenchRecord } from '../../host/src/files/bench-file.ts';
import { Courier, numberBy } from '../../host/src/records/courier.ts';
import { PostgresStock } from '../../host/src/records/postgres-stock.ts';
import { SqliteStock } from '../../host/src/records/sqlite-stock.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { keepNow } from './keep-one.ts';

const MAP: WireMap = { format: 'wiremap/1', verdict: 'good', coils: [], pairs: [], chassis: [], joined: [], findings: [], unknown: [] };
const RECORD = asBenchRecord({ ...exampleRecord(), tester: { serial: 'TS-1' } });

const [path, what, address, name] = process.argv.slice(2) as [string, string, string, string];
const stock = new SqliteStock(path);
if (what === 'keep') {
  for (let n = 0; ; n += 1) {
    keepNow(stock, { title: `test ${n}`, record: RECORD, map: MAP, name: `${name}.${n}` });
    process.stdout.write(`${name}.${n}.test\n`);
  }
}
numberBy(stock, true);
const courier = new Courier(stock, () => PostgresStock.open(address), () => `uid.${name}`);
process.stdout.write('begins\n');
await courier.round();
process.stdout.write('done\n');
await courier.close();
stock.close();
