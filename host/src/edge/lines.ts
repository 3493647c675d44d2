/** Lines that a person types, or that another program sends, one after another. */
import { createInterface, type Interface } from 'node:readline';

export class LineReader {
  readonly #interface: Interface;
  readonly #lines: AsyncIterator<string>;

  constructor() {
    this.#interface = createInterface({ input: process.stdin, terminal: false });
    this.#lines = this.#interface[Symbol.asyncIterator]();
  }

  /** @returns the next line without spaces round it, or null when no more will come */
  async next(): Promise<string | null> {
    const { done, value } = await this.#lines.next();
    return done ? null : value.trim();
  }

  /** Lets go of standard input. */
  close(): void {
    this.#interface.close();
    process.stdin.destroy();
  }
}
