/** What the shop's screens are handed: the stock wherever it is, and the impure things that go with it. */
import type { LocalTime } from '../records/list-text.ts';
import type { Stock, Work } from '../records/work.ts';

/** The stock as a screen has it, opened when it is first asked and again when it was lost. */
export interface Desk extends Stock {
  /** Later, also where a file answers at once. */
  do<T>(work: Work<T>): Promise<T>;
  /** Where the records are, when that is not where they should be; null when all is well. */
  readonly trouble: string | null;
  /** Calls whenever somebody has changed the stock. @returns a function that ends it */
  watch(changed: () => void): () => void;
  /** Words what was thrown. */
  sentence(error: unknown): string;
  /** Time of day, UTC. */
  timeOfDay(): string;
  readonly localTime: LocalTime;
  /** A name that nothing else ever has. */
  freshUid(): string;
}

/** Where papers go. */
export interface PaperOut {
  /** What a person is told before something is printed: the printer's name, or whose choice it is. */
  readonly printerWords: string;
  /** @throws whatever the printing command says, for `Desk.sentence` */
  print(document: Uint8Array): Promise<void>;
  /** @param name - of the file; another one is taken where there is a file of that name @returns the path of what was written */
  save(name: string, content: Uint8Array | string): Promise<string>;
}

/** Something that changes, and that is told of it. */
export class Told {
  readonly #listeners = new Set<() => void>();

  readonly subscribe = (listener: () => void): (() => void) => {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  };

  protected tell(): void {
    for (const listener of this.#listeners) listener();
  }
}
