/** Keeps tests as long as it can: a file that cannot be used costs the records and never the bench. */
import type { BenchRecord } from '../files/bench-record.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import type { RecordStore } from './store.ts';

export class Keeper {
  readonly #open: () => RecordStore;
  readonly #sentence: (error: unknown) => string;
  #store: RecordStore | null = null;
  #trouble: string | null = null;

  /** @param open - opens the file; tried again for each test as long as it fails @param sentence - words what was thrown */
  constructor(open: () => RecordStore, sentence: (error: unknown) => string) {
    this.#open = open;
    this.#sentence = sentence;
    this.#with(() => undefined);
  }

  /** Why nothing could be kept when last tried, or null. */
  get trouble(): string | null {
    return this.#trouble;
  }

  /** Keeps a test. @returns null when it is kept, or why not */
  keep(title: string, record: BenchRecord, map: WireMap): string | null {
    this.#with((store) => store.add(title, record, map));
    return this.#trouble;
  }

  /** A remembered choice, or undefined when there is none or it cannot be read. */
  setting(name: string): string | undefined {
    return this.#with((store) => store.setting(name));
  }

  /** Remembers a choice; where that fails it is asked again another time. */
  remember(name: string, value: string): void {
    this.#with((store) => store.remember(name, value));
  }

  close(): void {
    this.#store?.close();
    this.#store = null;
  }

  #with<T>(act: (store: RecordStore) => T): T | undefined {
    try {
      this.#store ??= this.#open();
      const done = act(this.#store);
      this.#trouble = null;
      return done;
    } catch (error) {
      this.#trouble = this.#sentence(error);
      return undefined;
    }
  }
}
