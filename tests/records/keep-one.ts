/** Keeps one test of a pickup of its own, as an import does. */
import type { BenchRecord } from '../../host/src/files/bench-record.ts';
import { addPickup, addTest, packedTest } from '../../host/src/records/keeping.ts';
import { isVirtualRecord } from '../../host/src/records/facts.ts';
import type { SqliteStock } from '../../host/src/records/sqlite-stock.ts';
import type { Stock } from '../../host/src/records/work.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';

let made = 0;

export interface OneTest {
  readonly title: string;
  readonly record: BenchRecord;
  readonly map: WireMap;
  readonly number?: string;
  readonly isBroken?: boolean;
  readonly module?: string;
  /** What the uids begin with; counted when left out. */
  readonly name?: string;
}

function prepared({ title, record, map, number, isBroken, module, name }: OneTest) {
  made += 1;
  const pickup = `${name ?? `made-${made}`}.pickup`;
  const [taken, isVirtual] = [record.taken ?? '2026-03-14T10:22:31Z', isVirtualRecord(record)];
  const packed = packedTest(
    { uid: `${name ?? `made-${made}`}.test`, taken, title, record, map, isBroken: isBroken ?? false, isVirtual, module: module ?? 'aa' },
    pickup);
  return { pickup: { uid: pickup, lot: null, place: null, number: number ?? null, title, isVirtual, added: taken }, packed };
}

/** On a stock that answers at once. @returns the test's number */
export function keepNow(stock: SqliteStock, one: OneTest): number {
  const { pickup, packed } = prepared(one);
  stock.do(addPickup(pickup));
  return stock.do(addTest(packed.test, packed.evidence));
}

/** On any stock. @returns the test's number */
export async function keepOne(stock: Stock, one: OneTest): Promise<number> {
  const { pickup, packed } = prepared(one);
  await stock.do(addPickup(pickup));
  return stock.do(addTest(packed.test, packed.evidence));
}
