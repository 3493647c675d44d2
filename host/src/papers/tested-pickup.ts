/** A pickup of the stock with the test that speaks for it: what labels, sheets and listing texts are written from. */
import type { BenchRecord } from '../files/bench-record.ts';
import type { LeadColours } from '../wiremap/lead-words.ts';
import type { WireMap } from '../wiremap/wiremap.ts';

export interface TestedPickup {
  readonly number: string;
  readonly title: string;
  /** Name of its lot; '' without one. */
  readonly lot: string;
  /** What the shop says of it: `good`, `fault`, `unsure`, `sold` and so on. */
  readonly state: string;
  /** Tested on the virtual bench: nobody has it. */
  readonly isVirtual: boolean;
  /** Null for a pickup that waits for its first whole test. */
  readonly test: KeptTest | null;
}

/** The newest whole test of a pickup. */
export interface KeptTest {
  /** Its number among the records. */
  readonly id: number;
  /** When, as the clock on the wall showed it, with its offset: `2026-03-14 11:22:31 +01:00`. */
  readonly taken: string;
  readonly record: BenchRecord;
  readonly map: WireMap;
  /** SHA-256 of the module that made the map. */
  readonly module: string;
  /** Of the leads, by clip. */
  readonly colours: LeadColours;
}
