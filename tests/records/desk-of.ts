/** The stock of a test as the shop's screens are handed it, with papers that are kept instead of printed. */
import type { SqliteStock } from '../../host/src/records/sqlite-stock.ts';
import type { Work } from '../../host/src/records/work.ts';
import type { Desk, PaperOut } from '../../host/src/shop/desk.ts';

export class TestDesk implements Desk {
  readonly stock: SqliteStock;
  trouble: string | null = null;
  /** Whatever the clock on the wall shows where the tests run. */
  readonly localTime = (utc: string): string => `${utc.slice(0, 10)} ${utc.slice(11, 19)} +00:00`;
  readonly #watching = new Set<() => void>();
  #made = 0;

  constructor(stock: SqliteStock) {
    this.stock = stock;
  }

  async do<T>(work: Work<T>): Promise<T> {
    return this.stock.do(work);
  }

  watch(changed: () => void): () => void {
    this.#watching.add(changed);
    return () => this.#watching.delete(changed);
  }

  /** As if another program had changed the stock. */
  changed(): void {
    for (const changed of this.#watching) changed();
  }

  get watching(): number {
    return this.#watching.size;
  }

  sentence(error: unknown): string {
    return (error as Error).message;
  }

  timeOfDay(): string {
    return '2026-03-16T09:00:00Z';
  }

  freshUid(): string {
    this.#made += 1;
    return `desk-${this.#made}`;
  }

  close(): void {
    this.stock.close();
  }
}

/** Keeps what it is given. */
export class TestPapers implements PaperOut {
  readonly printerWords = "the system's printer";
  readonly printed: Uint8Array[] = [];
  readonly saved = new Map<string, Uint8Array | string>();

  async print(document: Uint8Array): Promise<void> {
    this.printed.push(document);
  }

  async save(name: string, content: Uint8Array | string): Promise<string> {
    this.saved.set(name, content);
    return `/papers/${name}`;
  }
}

/** Once what was begun has come to its end: a stock in memory answers at once, so that only promises are waited for. */
export async function settled(): Promise<void> {
  for (let turn = 0; turn < 50; turn += 1) await Promise.resolve();
  await new Promise(setImmediate);
}
