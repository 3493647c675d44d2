/** What was entered by meters, as a test to be kept. */
import type { EntrySession } from '../entry/session.ts';
import { keepAlone, type KeptOnBench } from '../records/keeping.ts';
import type { Work } from '../records/work.ts';

/** What a test needs that the readings do not tell. */
export interface EntryFacts {
  /** What the pickup is called. */
  readonly title: string;
  /** Of the pickup in stock that this is, or of a new one; null for the next of the shop's pattern. */
  readonly number: string | null;
  /** Time of day, UTC. */
  readonly taken: string;
  /** SHA-256 of the module that solves. */
  readonly module: string;
  /** The person quit in the middle; who ends it wants the map of what was read. */
  readonly isBroken: boolean;
  readonly freshUid: () => string;
}

/** Keeps it as its own pickup, or as a test of the one with that number. */
export function keepEntry(session: EntrySession, { title, number, taken, module, isBroken, freshUid }: EntryFacts): Work<KeptOnBench> {
  const test = {
    uid: freshUid(), taken, title, record: session.record(taken), map: session.map!, isBroken, isVirtual: false, module,
  };
  return keepAlone(test, { uid: freshUid(), lot: null, place: null, number, title, isVirtual: false, added: taken });
}
