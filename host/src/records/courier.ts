/**
 * Takes what a bench kept in its own file over to the server that several benches share. Every entry is told until the
 * server has it, and the server takes each once; so it may be stopped at any moment, or lose the server, and be started again.
 */
import { journalAfter, takeEntry } from './journal.ts';
import { learnNumber, remember, setting } from './keeping.ts';
import { NUMBERS_OF_SERVER, reserveCount, reserveNumbers, SOURCE_SETTING, takeReserve } from './numbers.ts';
import type { SqliteStock } from './sqlite-stock.ts';
import type { Stock } from './work.ts';

/** The server as the courier sees it. */
export interface SharedStock extends Stock {
  /** The connection is of no use any more. */
  readonly isLost: boolean;
}

/** Name under which a stock on a server is known from others. */
const NAME_SETTING = 'stock';
/** Where the hand-over to the stock of that name stands, in the journal of the own file. */
const HANDED = 'handed_over:';
/** Entries that are read at a time. */
const PAGE = 20;
/** Numbers that a bench has for when the server cannot be asked; fetched when fewer are left. */
const RESERVE = { least: 10, most: 30 } as const;

/** From now on the file's pickups get numbers that the server reserved for it, or its own. */
export function numberBy(own: SqliteStock, hasServer: boolean): void {
  const source = hasServer ? NUMBERS_OF_SERVER : '';
  if ((own.do(setting(SOURCE_SETTING)) ?? '') !== source) own.do(remember(SOURCE_SETTING, source));
}

export class Courier {
  readonly #own: SqliteStock;
  readonly #connect: () => Promise<SharedStock>;
  readonly #freshUid: () => string;
  #server: SharedStock | null = null;

  /** @param connect - tried again at each round as long as it fails @param freshUid - a name that nothing else ever has */
  constructor(own: SqliteStock, connect: () => Promise<SharedStock>, freshUid: () => string) {
    this.#own = own;
    this.#connect = connect;
    this.#freshUid = freshUid;
  }

  /** Hands over all that is new, and sees to the reserve of numbers. @returns entries that the server had not @throws StoreProblem */
  async round(): Promise<number> {
    const server = await this.#reached();
    const name = await this.#nameOf(server);
    let fresh = 0;
    for (let after = Number(this.#own.do(setting(HANDED + name)) ?? 0); ;) {
      const entries = this.#own.do(journalAfter(after, PAGE));
      for (const { seq, entry, isVirtual } of entries) {
        // The virtual bench's pickups are nobody else's business.
        if (!isVirtual) {
          const taken = await server.do(takeEntry(entry));
          if (taken.isNew) fresh += 1;
          if (entry.op === 'pickup' && taken.number !== undefined) this.#own.do(learnNumber(entry.args.uid, taken.number));
        }
        after = seq;
        this.#own.do(remember(HANDED + name, String(seq)));
      }
      if (entries.length < PAGE) break;
    }
    if (this.#own.do(reserveCount()) < RESERVE.least) {
      const numbers = await server.do(reserveNumbers(RESERVE.most));
      this.#own.do(takeReserve(numbers));
    }
    return fresh;
  }

  async close(): Promise<void> {
    const server = this.#server;
    this.#server = null;
    await server?.close();
  }

  async #reached(): Promise<SharedStock> {
    if (this.#server?.isLost === true) await this.close();
    return (this.#server ??= await this.#connect());
  }

  /** A name of this very stock: one that was emptied and prepared anew gets everything again. */
  async #nameOf(server: SharedStock): Promise<string> {
    const known = await server.do(setting(NAME_SETTING));
    if (known !== undefined) return known;
    await server.do(remember(NAME_SETTING, this.#freshUid()));
    return (await server.do(setting(NAME_SETTING)))!;
  }
}
