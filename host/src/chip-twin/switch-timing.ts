/**
 * When the analogue switches really open and close. In the circuit these tens of nanoseconds are nothing (its step is
 * 8 us); what they decide is whether two switches conduct at once that never should.
 */

/** An 8:1 switch of this class at 1.8 to 5 V: off at most 85 ns after it is told, on no sooner than 26 ns (TI TMUX1308, SCDS426E). */
const OPENS_LATEST_ns = 85;
const CLOSES_EARLIEST_ns = 26;
const SWITCHES = 8;
const ENABLE = 8;

/** Watches the words that the switches are given for a switch that closes before another one has opened. */
export class SwitchTiming {
  readonly #complain: (text: string) => void;
  /** Until when each switch may still conduct what it was told to leave. */
  readonly #conductsUntil_ns = new Float64Array(SWITCHES).fill(Number.NEGATIVE_INFINITY);
  #word = 0;

  /** @param complain - told once for each switch that closed too early */
  constructor(complain: (text: string) => void) {
    this.#complain = complain;
  }

  /** The switches are told another word. @param word - eight nibbles `EN A2 A1 A0` @param time_ns - of the latch */
  set(word: number, time_ns: number): void {
    const closing: number[] = [];
    for (let index = 0; index < SWITCHES; index++) {
      const before = (this.#word >>> (4 * index)) & 15;
      const after = (word >>> (4 * index)) & 15;
      if (before === after) continue;
      if ((before & ENABLE) !== 0) this.#conductsUntil_ns[index] = time_ns + OPENS_LATEST_ns;
      if ((after & ENABLE) !== 0) closing.push(index);
    }
    this.#word = word;
    for (const index of closing) {
      // A switch that changes its own address breaks before it makes by itself.
      const other = this.#conductsUntil_ns.findIndex((until_ns, n) => n !== index && until_ns > time_ns + CLOSES_EARLIEST_ns);
      if (other >= 0) this.#complain(`switch M${index + 1} may close before M${other + 1} has opened`);
    }
  }
}
