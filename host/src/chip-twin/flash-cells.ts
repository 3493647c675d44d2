/**
 * The cells of the serial flash while they change: an erase makes a sector ones, a program makes ones of a page zeros, and both take
 * their time. Until it is over nothing can be read; when the power goes meanwhile, what is left is neither the old nor the new.
 */

export const SECTOR_bytes = 4096;
export const PAGE_bytes = 256;
/** Sector erase and page program of the W25Q16JV, as a rule and at most (from memory). */
export const ERASE_ns = 45e6;
export const ERASE_MOST_ns = 400e6;
export const PROGRAM_ns = 0.4e6;
export const PROGRAM_MOST_ns = 3e6;

export type WriteTimes = { readonly erase_ns: number; readonly program_ns: number };
export const USUAL_TIMES: WriteTimes = { erase_ns: ERASE_ns, program_ns: PROGRAM_ns };

/** A number from 0 to below 1. */
type Chance = () => number;
type Change = {
  readonly at: number; readonly after: Uint8Array; readonly start_ns: number; readonly end_ns: number; readonly erases: boolean;
};

export class FlashCells {
  readonly #bytes: Uint8Array;
  readonly #now_ns: () => number;
  readonly #times: WriteTimes;
  #change: Change | null = null;

  /** @param bytes - the whole flash; read by others while nothing changes */
  constructor(bytes: Uint8Array, now_ns: () => number, times: WriteTimes = USUAL_TIMES) {
    this.#bytes = bytes;
    this.#now_ns = now_ns;
    this.#times = times;
  }

  /** Whether an erase or a program is under way. */
  get isBusy(): boolean {
    if (this.#change !== null && this.#now_ns() >= this.#change.end_ns) this.settle();
    return this.#change !== null;
  }

  /** Brings what is under way to its end. */
  settle(): void {
    if (this.#change) this.#bytes.set(this.#change.after, this.#change.at);
    this.#change = null;
  }

  /** Begins to erase the sector that an address lies in. */
  erase(address: number): void {
    const at = address & (this.#bytes.length - SECTOR_bytes);
    this.#begin(at, new Uint8Array(SECTOR_bytes).fill(0xff), true);
  }

  /** Begins to program bytes: they wrap at the end of their page, and only zeros are written. */
  program(address: number, bytes: ArrayLike<number>): void {
    const at = address & (this.#bytes.length - PAGE_bytes);
    const after = this.#bytes.slice(at, at + PAGE_bytes);
    const offset = address & (PAGE_bytes - 1);
    for (let i = Math.max(0, bytes.length - PAGE_bytes); i < bytes.length; i++) after[(offset + i) % PAGE_bytes]! &= bytes[i]!;
    this.#begin(at, after, false);
  }

  #begin(at: number, after: Uint8Array, erases: boolean): void {
    const start_ns = this.#now_ns();
    this.#change = { at, after, start_ns, end_ns: start_ns + (erases ? this.#times.erase_ns : this.#times.program_ns), erases };
  }

  /**
   * What the flash would hold if the power went at this moment: bits that a program changes have changed or not, those of an erase
   * have not yet, have, or were pulled to 0 first, as parts do that level a sector before they erase it.
   * @returns a copy of `count` bytes from `from` on
   */
  cut(from: number, count: number, chance: Chance): Uint8Array {
    // First whether something is under way: asking brings what is over to its end.
    const { isBusy } = this;
    const out = this.#bytes.slice(from, from + count);
    if (!isBusy) return out;
    const { at, after, start_ns, end_ns, erases } = this.#change!;
    const done = (this.#now_ns() - start_ns) / (end_ns - start_ns);
    after.forEach((byte, i) => {
      if (at + i >= from && at + i < from + count) out[at + i - from] = halfway(this.#bytes[at + i]!, byte, done, erases, chance);
    });
    return out;
  }
}

function halfway(before: number, after: number, done: number, erases: boolean, chance: Chance): number {
  let out = 0;
  for (let bit = 1; bit < 256; bit <<= 1) {
    const isLevelled = erases && chance() < done;
    const hasChanged = chance() < done;
    out |= hasChanged ? after & bit : isLevelled ? 0 : before & bit;
  }
  return out;
}
