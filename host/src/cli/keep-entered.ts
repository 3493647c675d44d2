/** Keeps a test that was entered by hand in this computer's stock, and hands it over where a server is named. */
import { timeOfDay } from '../edge/clock.ts';
import { freshUid } from '../edge/random.ts';
import type { BenchRecord } from '../files/bench-record.ts';
import { logicModule } from '../logic/module.ts';
import { addPickup, addTest, packedTest } from '../records/keeping.ts';
import { pickupNumbered } from '../records/searching.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { tell } from './errors.ts';
import { courierOf, ownFile } from './stock-access.ts';

/** Where a test went. */
export interface EnteredKept {
  /** The pickup's number; null until the server gives one. */
  readonly number: string | null;
  /** Why the server has not got it yet, or null. */
  readonly trouble: string | null;
}

/** @param number - of a pickup in stock, whose test this is, or of a new one; left out for the next of the shop's pattern @throws StoreProblem */
export async function keepEntered(
  record: BenchRecord, map: WireMap, title: string, number: string | undefined,
): Promise<EnteredKept> {
  const own = ownFile();
  try {
    const courier = await courierOf(own);
    const taken = record.taken ?? timeOfDay();
    const known = number === undefined ? null : own.do(pickupNumbered(number));
    const pickup = {
      uid: known?.uid ?? freshUid(), lot: null, place: null, number: number ?? null, title, isVirtual: false, added: taken,
    };
    // A pickup is taken once, however often it is told; what comes back is its number as it is then.
    const numberNow = (): string | null => own.do(addPickup(pickup)).number;
    numberNow();
    const { test, evidence } = packedTest(
      { uid: freshUid(), taken, title, record, map, isBroken: false, isVirtual: false, module: logicModule().sha256 }, pickup.uid);
    own.do(addTest(test, evidence));
    if (courier === null) return { number: numberNow(), trouble: null };
    const trouble = await courier.round().then(() => null, (error: unknown) => tell(error).line);
    await courier.close();
    return { number: numberNow(), trouble };
  } finally {
    own.close();
  }
}
