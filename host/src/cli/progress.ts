/** How far long work is, told over and over in one line of a terminal; results go their own way. */
import { isTerminalError, writeError } from '../edge/environment.ts';

const COLUMNS = 79;
const LONG_steps = 50;

export class Progress {
  readonly #words: string;
  readonly #least: number;
  #isShown = false;

  /** @param words - what is done: `solved again` @param least - work of fewer steps is over at once, and not worth a line */
  constructor(words: string, least = LONG_steps) {
    this.#words = words;
    this.#least = least;
  }

  /** @param done - steps @param of - of how many, null when nobody knows */
  step(done: number, of: number | null): void {
    if ((of ?? done) < this.#least || !isTerminalError()) return;
    this.#isShown = true;
    void writeError(`\r${this.#words} ${done}${of === null ? '' : ` of ${of}`}; Ctrl-C stops `);
  }

  /** Takes the line away, before something is printed and at the end. */
  hide(): void {
    if (this.#isShown) void writeError(`\r${' '.repeat(COLUMNS)}\r`);
    this.#isShown = false;
  }
}
