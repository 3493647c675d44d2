/** Keeps a test that was entered by hand in this computer's stock, and hands it over where a server is named. */
import { freshUid } from '../edge/random.ts';
import type { EntrySession } from '../entry/session.ts';
import { logicModule } from '../logic/module.ts';
import { pickupNamed } from '../records/searching.ts';
import { keepEntry, type EntryFacts } from '../shop/entry-test.ts';
import { tell } from './errors.ts';
import { courierOf, ownFile } from './stock-access.ts';

/** Where a test went. */
export interface EnteredKept {
  /** The pickup's number; null until the server gives one. */
  readonly number: string | null;
  /** Why the server has not got it yet, or null. */
  readonly trouble: string | null;
}

/** @throws StoreProblem */
export async function keepEntered(session: EntrySession, facts: Omit<EntryFacts, 'module' | 'freshUid'>): Promise<EnteredKept> {
  const own = ownFile();
  try {
    const courier = await courierOf(own);
    const { pickup } = own.do(keepEntry(session, { ...facts, module: logicModule().sha256, freshUid }));
    const trouble = await courier?.round().then(() => null, (error: unknown) => tell(error).line) ?? null;
    await courier?.close();
    // A server may have given it another number meanwhile.
    return { number: own.do(pickupNamed(pickup))?.line.number ?? null, trouble };
  } finally {
    own.close();
  }
}
