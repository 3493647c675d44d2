/** The stock as the screens come to it: the server that benches share, or this computer's file, also while that server is away. */
import { elapsed_ms, localTime, pause, timeOfDay } from '../edge/clock.ts';
import { startFolder } from '../edge/environment.ts';
import { isThere, writeWhole } from '../edge/files.ts';
import { folderOf } from '../edge/folders.ts';
import { printDocument, PrintProblem } from '../edge/printing.ts';
import { freshUid } from '../edge/random.ts';
import { StoreProblem } from '../records/problem.ts';
import type { Stock, Work } from '../records/work.ts';
import type { Desk, PaperOut } from '../shop/desk.ts';
import { PaperFault } from '../shop/paper-work.ts';
import type { Settings } from '../shop/settings.ts';
import { NotInStock } from '../shop/tested-pickups.ts';
import { printable } from '../text/printable.ts';
import { tell, UserError } from './errors.ts';
import { printSentence } from './paper-out.ts';
import { openStock, ownFile, watchStock } from './stock-access.ts';

/** Before a server that is away is tried again, milliseconds. */
const AWAY_ms = 3000;

/** Whether it is the server that cannot be had, and not what was asked of it. */
function isAway(error: unknown): boolean {
  return (error instanceof StoreProblem && error.kind === 'server') || error instanceof UserError;
}

export class ShopDesk implements Desk {
  #stock: Promise<Stock> | null = null;
  #trouble: string | null = null;
  #tryAt_ms = 0;
  readonly timeOfDay = timeOfDay;
  readonly localTime = localTime;
  readonly freshUid = freshUid;

  get trouble(): string | null {
    return this.#trouble === null ? null : `${this.#trouble}. Shown is what this computer keeps.`;
  }

  async do<T>(work: Work<T>): Promise<T> {
    try {
      return await (await this.#reached()).do(work);
    } catch (error) {
      const stock = await this.#stock?.catch(() => null);
      if (!isAway(error) || stock === null || stock === undefined || !('isLost' in stock) || stock.isLost !== true) throw error;
      // What was lost on the way is told to the own file, from where it is handed over and taken once.
      await this.#useOwn(error);
      return (await this.#reached()).do(work);
    }
  }

  watch(changed: () => void): () => void {
    const ended = new AbortController();
    void this.#watch(changed, ended.signal);
    return () => ended.abort();
  }

  sentence(error: unknown): string {
    if (error instanceof NotInStock || error instanceof PaperFault) return error.message;
    if (error instanceof PrintProblem) return printSentence(error, 'f writes a file that can be printed elsewhere');
    return tell(error).line;
  }

  async close(): Promise<void> {
    const stock = await this.#stock?.catch(() => null);
    this.#stock = null;
    await stock?.close();
  }

  /** The stock, opened anew where it was lost; a server that is away is tried again only now and then. */
  async #reached(): Promise<Stock> {
    if (this.#trouble !== null && elapsed_ms() >= this.#tryAt_ms) await this.close();
    this.#stock ??= this.#opened();
    try {
      return await this.#stock;
    } catch (error) {
      this.#stock = null;
      throw error;
    }
  }

  async #opened(): Promise<Stock> {
    try {
      const stock = (await openStock('keep'))!;
      this.#trouble = null;
      return stock;
    } catch (error) {
      if (!isAway(error)) throw error;
      this.#away(error);
      return ownFile();
    }
  }

  async #useOwn(error: unknown): Promise<void> {
    await this.close();
    this.#away(error);
    this.#stock = Promise.resolve(ownFile());
  }

  #away(error: unknown): void {
    this.#trouble = tell(error).line;
    this.#tryAt_ms = elapsed_ms() + AWAY_ms;
  }

  async #watch(changed: () => void, ended: AbortSignal): Promise<void> {
    while (!ended.aborted) {
      let end = async (): Promise<void> => undefined;
      const away = this.#trouble !== null;
      const lost = new AbortController();
      const stop = (): void => lost.abort();
      ended.addEventListener('abort', stop, { once: true });
      try {
        end = await watchStock(await this.#reached(), changed, stop);
        changed();
      } catch {
        // Whoever looks next is told why.
      }
      if (ended.aborted) stop();
      await pause(away || this.#trouble !== null ? AWAY_ms : 2 ** 31 - 1, lost.signal);
      ended.removeEventListener('abort', stop);
      await end();
      // Lost for a reason that nobody has asked about yet: not at once again.
      if (!ended.aborted) await pause(AWAY_ms, ended);
    }
  }
}

/** Papers into the folder of the settings, or to their printer. */
export function paperOutOf(settings: () => Settings): PaperOut {
  return {
    get printerWords() {
      const { printer } = settings();
      return printer === '' ? "the system's printer" : printable(printer, 40);
    },
    print: (document) => printDocument(document, settings().printer === '' ? null : settings().printer),
    async save(name, content) {
      const folder = settings().papers === '' ? startFolder() : folderOf(settings().papers);
      const [, stem, ending] = /^(.*)(\.[a-z]+)$/.exec(name)!;
      let path = `${folder}/${name}`;
      for (let n = 2; await isThere(path); n += 1) path = `${folder}/${stem}-${n}${ending}`;
      await writeWhole(path, content);
      return path;
    },
  };
}
