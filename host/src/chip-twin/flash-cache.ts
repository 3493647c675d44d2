/**
 * The cache between the bus and the serial flash, as far as time goes: it knows which words it holds, not what is in them.
 *
 * Published (RP2040 data sheet 2.6.3.1 and 2.6.3.2): 16 KiB, two ways, lines of 8 bytes, so 1024 sets; a hit takes the
 * usual cycle; four aliases of the flash's 16 MiB, of which one caches, one only looks, one only stores and one does
 * neither; a write to the first alias drops the line; FLUSH drops all.
 *
 * Not published: which way is replaced, and how much of a line a miss fetches. The SSI fetches one 32-bit word per
 * access (CTRLR1 = 0), and users of the chip measured lines filled one half at a time (told to its maker, pico-feedback): so a line has two
 * valid bits here and a miss fetches one word. Both can be set otherwise, to see how much hangs on them.
 */

export const CACHE_bytes = 16384;
export const LINE_bytes = 8;
export const WAYS = 2;
export const SETS = CACHE_bytes / LINE_bytes / WAYS;
const WORDS_PER_LINE = 2;
const NOTHING = -1;
/** Galois form of x^16 + x^14 + x^13 + x^11 + 1, which runs through all 65,535 states. */
const LFSR_TAPS = 0xb400;

export type CachePolicy = {
  /** Words of a line that a miss fetches: the wanted one, or both. */
  readonly fill: 'word' | 'line';
  readonly replace: 'least recent' | 'random';
};

export const USUAL_POLICY: CachePolicy = { fill: 'word', replace: 'least recent' };

export class FlashCache {
  /** The line that each set's ways belong to, and the words they hold; a word's index is its number modulo 2 * SETS. */
  readonly #lines = [new Int32Array(SETS).fill(NOTHING), new Int32Array(SETS).fill(NOTHING)] as const;
  readonly #words0 = new Int32Array(SETS * WORDS_PER_LINE).fill(NOTHING);
  readonly #words1 = new Int32Array(SETS * WORDS_PER_LINE).fill(NOTHING);
  /** The way of each set that goes next. */
  readonly #oldest = new Uint8Array(SETS);
  readonly #wholeLines: boolean;
  readonly #random: boolean;
  #lfsr = 1;

  constructor(policy: CachePolicy = USUAL_POLICY) {
    this.#wholeLines = policy.fill === 'line';
    this.#random = policy.replace === 'random';
  }

  /**
   * A read through the caching alias.
   * @param offset - byte in flash
   * @returns how many words had to come from the flash, 0 for a hit
   */
  read(offset: number): number {
    const word = offset >>> 2;
    const index = word & (SETS * WORDS_PER_LINE - 1);
    if (this.#words0[index] === word) {
      this.#oldest[index >>> 1] = 1;
      return 0;
    }
    if (this.#words1[index] === word) {
      this.#oldest[index >>> 1] = 0;
      return 0;
    }
    return this.store(offset);
  }

  /** Whether a word is there; changes nothing. */
  holds(offset: number): boolean {
    const word = offset >>> 2;
    const index = word & (SETS * WORDS_PER_LINE - 1);
    return this.#words0[index] === word || this.#words1[index] === word;
  }

  /** Fetches a word into the cache, there or not. @returns words that came from the flash */
  store(offset: number): number {
    const word = offset >>> 2;
    const index = word & (SETS * WORDS_PER_LINE - 1);
    const line = offset >>> 3;
    const set = line & (SETS - 1);
    let way = this.#lines[0][set] === line ? 0 : this.#lines[1][set] === line ? 1 : NOTHING;
    const words = (): Int32Array => (way === 0 ? this.#words0 : this.#words1);
    if (way === NOTHING) {
      way = this.#victim(set);
      this.#lines[way]![set] = line;
      words()[index ^ 1] = NOTHING;
    }
    this.#oldest[set] = 1 - way;
    words()[index] = word;
    if (!this.#wholeLines) return 1;
    words()[index ^ 1] = word ^ 1;
    return WORDS_PER_LINE;
  }

  #victim(set: number): number {
    if (this.#lines[0][set] === NOTHING) return 0;
    if (this.#lines[1][set] === NOTHING) return 1;
    if (!this.#random) return this.#oldest[set]!;
    this.#lfsr = (this.#lfsr >>> 1) ^ (this.#lfsr & 1 ? LFSR_TAPS : 0);
    return this.#lfsr & 1;
  }

  /** Drops the line that a byte lies in. */
  drop(offset: number): void {
    const line = offset >>> 3;
    const set = line & (SETS - 1);
    for (let way = 0; way < WAYS; way++) {
      if (this.#lines[way]![set] !== line) continue;
      this.#lines[way]![set] = NOTHING;
      (way === 0 ? this.#words0 : this.#words1).fill(NOTHING, WORDS_PER_LINE * set, WORDS_PER_LINE * (set + 1));
    }
  }

  /** Drops everything. */
  flush(): void {
    for (const lines of this.#lines) lines.fill(NOTHING);
    this.#words0.fill(NOTHING);
    this.#words1.fill(NOTHING);
    this.#oldest.fill(0);
  }
}
