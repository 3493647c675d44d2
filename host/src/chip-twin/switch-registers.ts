/** Four 74HC595 in a chain: what is shifted in shows after the latch, and only while the output enable is low. */

export class SwitchRegisters {
  /** One bit in so many is wrong on its way back; 0 = none. */
  bitFlipOneIn = 0;
  readonly #onWord: (word: number) => void;
  readonly #flip: (bound: number) => number;
  #chain = 0;
  #latched = 0;
  #enabled = false;
  #shown = 0;

  /** @param onWord - called when the switches see another word */
  constructor(onWord: (word: number) => void, flip: (bound: number) => number) {
    this.#onWord = onWord;
    this.#flip = flip;
  }

  /** The word that the switches see. */
  get word(): number {
    return this.#shown;
  }

  /** Shifts a frame in, most significant bit first. @returns the bits that fall out at the end */
  exchange(value: number, bits: number): number {
    let out = 0;
    for (let bit = bits - 1; bit >= 0; bit--) {
      out = (out << 1) | (this.#chain >>> 31);
      const wrong = this.bitFlipOneIn > 0 && this.#flip(this.bitFlipOneIn) === 0 ? 1 : 0;
      this.#chain = ((this.#chain << 1) | (((value >> bit) & 1) ^ wrong)) >>> 0;
    }
    return out;
  }

  latch(): void {
    this.#latched = this.#chain;
    this.#show();
  }

  setOutputEnable(low: boolean): void {
    this.#enabled = low;
    this.#show();
  }

  #show(): void {
    const word = this.#enabled ? this.#latched : 0;
    if (word === this.#shown) return;
    this.#shown = word;
    this.#onWord(word);
  }
}
