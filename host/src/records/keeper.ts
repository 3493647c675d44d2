/** Keeps tests as long as it can: a file that cannot be used costs the records and never the bench. */
import type { BenchRecord } from '../files/bench-record.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { addLot, countLot, keepInLot, moveLot, remember, setting, undoLast, type KeptOnBench, type NewLot } from './keeping.ts';
import { keptMap } from './kept-map.ts';
import { evidenceOf, newestLot, placesOfLot, type LotLine, type PlaceLine } from './searching.ts';
import type { SqliteStock } from './sqlite-stock.ts';

/** What the keeper cannot know by itself. */
export interface KeeperMeans {
  /** Opens the file; tried again for each test as long as it fails. */
  readonly open: () => SqliteStock;
  /** Words what was thrown. */
  readonly sentence: (error: unknown) => string;
  /** A name that nothing else ever has. */
  readonly freshUid: () => string;
  /** Time of day, UTC. */
  readonly timeOfDay: () => string;
  /** SHA-256 of this program's module. */
  readonly module: () => string;
}

/** A test that the bench hands over. */
export interface BenchTestKept {
  readonly title: string;
  readonly record: BenchRecord;
  readonly map: WireMap;
  /** It did not come to its end. */
  readonly isBroken: boolean;
  /** Which pickup of the lot, from 0. */
  readonly place: number;
}

/** Lots by how the bench knows them. */
export type LotOnBench = Pick<NewLot, 'name' | 'setup' | 'size' | 'isVirtual'>;

export class Keeper {
  readonly #means: KeeperMeans;
  #stock: SqliteStock | null = null;
  #trouble: string | null = null;
  #lot: NewLot | null = null;
  /** The pickup that was kept last. */
  #last: KeptOnBench | null = null;

  constructor(means: KeeperMeans) {
    this.#means = means;
    this.#with(() => undefined);
  }

  /** Why nothing could be kept when last tried, or null. */
  get trouble(): string | null {
    return this.#trouble;
  }

  /** The test that was kept last, or null. */
  get last(): KeptOnBench | null {
    return this.#last;
  }

  /** The lot that was on this bench, or on the virtual one, last; null when there is none or it cannot be read. */
  newestLot(isVirtual: boolean): LotLine | null {
    return this.#with((stock) => stock.do(newestLot(isVirtual))) ?? null;
  }

  /** The lot that the next tests are of. @param known - one that goes on; left out for a new one, which is kept with its first test */
  putOn(lot: LotOnBench, known?: LotLine): void {
    this.#lot = known === undefined
      ? { ...lot, uid: this.#means.freshUid(), opened: this.#means.timeOfDay() }
      : { ...lot, uid: known.uid, opened: known.opened };
    this.#last = null;
    if (known !== undefined && known.size !== lot.size) this.#with((stock) => stock.do(countLot(known.uid, lot.size)));
  }

  /** What stands at the places of the lot; empty when that cannot be read. */
  places(): readonly PlaceLine[] {
    const lot = this.#lot;
    return lot === null ? [] : (this.#with((stock) => stock.do(placesOfLot(lot.uid))) ?? []);
  }

  /** The newest whole test at a place of the lot, or null when there is none that can be read. */
  recall(place: number): { readonly record: BenchRecord; readonly map: WireMap; readonly number: string | null } | null {
    const found = this.places().find((one) => one.place === place);
    const test = found?.test ?? null;
    const read = test === null ? null : this.#with((stock) => stock.do(evidenceOf(test)));
    if (read === null || read === undefined || 'damaged' in read) return null;
    const kept = keptMap(read.map);
    return 'damaged' in kept ? null : { record: read.record as BenchRecord, map: kept.map, number: found!.number };
  }

  /** Which pickup of the lot is on the bench now, so that the next start goes on there. */
  stand(place: number): void {
    const lot = this.#lot;
    if (lot === null) return;
    this.#with((stock) => {
      stock.do(addLot(lot));
      stock.do(moveLot(lot.uid, place));
    });
  }

  /** Keeps a test. @returns null when it is kept, or why not */
  keep({ title, record, map, isBroken, place }: BenchTestKept): string | null {
    const { freshUid, timeOfDay, module } = this.#means;
    const lot = (this.#lot ??= {
      uid: freshUid(), name: '', setup: '', size: 0, isVirtual: false, opened: timeOfDay(),
    });
    const taken = record.taken ?? timeOfDay();
    const test = { uid: freshUid(), taken, title, record, map, isBroken, isVirtual: lot.isVirtual, module: module() };
    const pickup = { uid: freshUid(), lot: lot.uid, place, number: null, title, isVirtual: lot.isVirtual, added: taken };
    this.#with((stock) => {
      stock.do(addLot(lot));
      this.#last = stock.do(keepInLot(test, pickup));
    });
    return this.#trouble;
  }

  /** Takes back the last test of the lot, which stays kept as withdrawn. @returns the place that it was at, or null when there was none */
  undo(): number | null {
    const lot = this.#lot;
    if (lot === null) return null;
    return this.#with((stock) => stock.do(undoLast(lot.uid, this.#means.freshUid(), this.#means.timeOfDay()))) ?? null;
  }

  /** A remembered choice, or undefined when there is none or it cannot be read. */
  setting(name: string): string | undefined {
    return this.#with((stock) => stock.do(setting(name)));
  }

  /** Remembers a choice; where that fails it is asked again another time. */
  remember(name: string, value: string): void {
    this.#with((stock) => stock.do(remember(name, value)));
  }

  close(): void {
    this.#stock?.close();
    this.#stock = null;
  }

  #with<T>(act: (stock: SqliteStock) => T): T | undefined {
    try {
      this.#stock ??= this.#means.open();
      const done = act(this.#stock);
      this.#trouble = null;
      return done;
    } catch (error) {
      this.#trouble = this.#means.sentence(error);
      return undefined;
    }
  }
}
