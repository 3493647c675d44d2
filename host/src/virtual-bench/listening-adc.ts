/**
 * The 12-bit converter behind the listening channels, and the integer arithmetic that turns its
 * codes into samples, the same as the firmware's (`firmware/drivers/capture.c`).
 *
 * Four inputs in turn at 480 kS/s: A x1, B x1, A x8, B x8, each 120 kS/s, 2.1 us apart.
 */
import { normalQuantiles, QUANTILE_BITS, type RandomStream } from './random.ts';

/** Raw samples of each input per second. */
export const RAW_RATE_Hz = 120_000;
export const INPUT_COUNT = 4;
/** Raw samples that make one of 10 kHz. */
export const DECIMATION = 12;
/** Gain of the inputs, in the order of sampling. */
const GAINS = [1, 1, 8, 8] as const;
/** Channel of the inputs: 0 is A, 1 is B. */
export const CHANNEL_OF_INPUT = [0, 1, 0, 1] as const;

const CODES = 4096;
const MID_CODE = 2048;
const SUPPLY_V = 3;
const CODE_V = SUPPLY_V / CODES;
/** One code of x1 in units of 2^-20 V: 3 V / 4096 is exactly 768 of them. */
const UNITS_PER_CODE_X1 = 768;
const UNITS_PER_CODE_X8 = 96;
/** Codes outside are taken as over range: +-1.43 V behind the amplifier. */
export const CODE_LEAST = 96;
export const CODE_MOST = 4000;
/** A sample that no gain could take. */
export const OVERRANGE = -2147483648;

/** Noise of one conversion in codes, rms (measured by others for this converter). */
const NOISE_CODES = 0.97;
/** Width of the four wide codes 512, 1536, 2560, 3584 beyond one code (erratum RP2040-E11). */
const WIDE_CODE_EXTRA = 8.9;

/** The converter's transfer from an ideal code to the code that comes out. */
function transferTable(): Uint16Array {
  const table = new Uint16Array(CODES);
  for (let ideal = 0; ideal < CODES; ideal++) {
    const shifted = ideal + WIDE_CODE_EXTRA / 2;
    const base = Math.floor((shifted + 512) / 1024) * 1024 - 512;
    const held = Math.max(0, shifted - base - WIDE_CODE_EXTRA);
    const code = Math.round(base + (held * 1024) / (1024 - WIDE_CODE_EXTRA));
    table[ideal] = Math.min(CODES - 1, Math.max(0, code));
  }
  return table;
}

/** The converter with its amplifiers, as one tester has them. */
export class ListeningAdc {
  readonly #random: RandomStream;
  readonly #quantiles = normalQuantiles();
  readonly #transfer = transferTable();
  /** Ideal codes per volt at the clips, amplifier errors included. */
  readonly #codesPerVolt: Float64Array;
  readonly #zeroCode: Float64Array;
  readonly #noiseCodes: Float64Array;

  /** @param noise_V - white noise at the clips, rms in each 10 kHz sample
   * @param board - draws what differs from tester to tester
   * @param noise - draws the noise of each sample
   */
  constructor(noise_V: number, board: RandomStream, noise: RandomStream) {
    this.#random = noise;
    this.#codesPerVolt = Float64Array.from(GAINS, (gain) => {
      return (gain * (1 + 0.002 * board.gaussian())) / CODE_V;
    });
    this.#zeroCode = Float64Array.from(GAINS, () => MID_CODE + 2 * board.gaussian());
    this.#noiseCodes = Float64Array.from(GAINS, (gain) => {
      const rawNoise_V = noise_V * Math.sqrt(DECIMATION);
      return Math.hypot(NOISE_CODES, (rawNoise_V * gain) / CODE_V);
    });
  }

  /** Converts one input once.
   * @param input - 0 to 3, in the order of sampling
   * @param volts - between the channel's clips
   */
  sample(input: number, volts: number): number {
    const draw = this.#quantiles[this.#random.bits() >>> (32 - QUANTILE_BITS)];
    const noise = draw * this.#noiseCodes[input];
    const ideal = this.#zeroCode[input] + volts * this.#codesPerVolt[input] + noise;
    const code = Math.round(ideal);
    return this.#transfer[code < 0 ? 0 : code >= CODES ? CODES - 1 : code];
  }

  /** Converts a run of all four inputs, each channel's voltage straight between its samples.
   * @param volts - per channel, at the end of each raw interval
   * @param before_V - per channel, when the first interval begins
   * @param codes - per input
   * @param offset - where the first code goes
   */
  sampleRun(
    volts: readonly Float64Array[],
    before_V: readonly number[],
    count: number,
    codes: readonly Uint16Array[],
    offset: number,
  ): void {
    const quantiles = this.#quantiles;
    const transfer = this.#transfer;
    for (let input = 0; input < INPUT_COUNT; input++) {
      const channel = volts[CHANNEL_OF_INPUT[input]];
      const out = codes[input];
      const scale = this.#codesPerVolt[input];
      const zero = this.#zeroCode[input] + 0.5;
      const noise = this.#noiseCodes[input];
      const share = input / INPUT_COUNT;
      let last = before_V[CHANNEL_OF_INPUT[input]];
      // A generator in one register (xorshift, period 2^32 - 1), started anew from the stream: two
      // draws from each turn of it.
      let bits = this.#random.bits() | 1;
      for (let k = 0; k < count; k++) {
        let draw = bits << QUANTILE_BITS;
        if ((k & 1) === 0) {
          bits ^= bits << 13;
          bits ^= bits >>> 17;
          bits ^= bits << 5;
          draw = bits;
        }
        const next = channel[k];
        const value = last + share * (next - last);
        const ideal = zero + value * scale + noise * quantiles[draw >>> (32 - QUANTILE_BITS)];
        last = next;
        const code = ideal <= 0 ? 0 : ideal >= CODES ? CODES - 1 : ideal | 0;
        out[offset + k] = transfer[code];
      }
    }
  }
}

/** One raw sample in units of 2^-20 V: x8 unless it is out of range, x1 otherwise. */
export function rawSample(codeX1: number, codeX8: number): number {
  if (codeX8 >= CODE_LEAST && codeX8 <= CODE_MOST) return (codeX8 - MID_CODE) * UNITS_PER_CODE_X8;
  return coarseSample(codeX1);
}

/** One raw sample of x1 alone, in units of 2^-20 V. */
export function coarseSample(codeX1: number): number {
  return codeX1 >= CODE_LEAST && codeX1 <= CODE_MOST ? (codeX1 - MID_CODE) * UNITS_PER_CODE_X1 : OVERRANGE;
}

/** Twelve raw samples as one of 10 kHz, in units of 2^-20 V: their mean in one gain, x8 when all
 * twelve are in its range, else x1 when all are, else over range. Exact in integers.
 * @param at - index of the first of the twelve
 */
export function decimated(codesX1: Uint16Array, codesX8: Uint16Array, at: number): number {
  const sumX8 = sumInRange(codesX8, at);
  if (sumX8 >= 0) return (sumX8 - DECIMATION * MID_CODE) * (UNITS_PER_CODE_X8 / DECIMATION);
  const sumX1 = sumInRange(codesX1, at);
  if (sumX1 >= 0) return (sumX1 - DECIMATION * MID_CODE) * (UNITS_PER_CODE_X1 / DECIMATION);
  return OVERRANGE;
}

/** Sum of twelve codes, or -1 when any of them is out of range. */
function sumInRange(codes: Uint16Array, at: number): number {
  let sum = 0;
  for (let k = at; k < at + DECIMATION; k++) {
    const code = codes[k];
    if (code < CODE_LEAST || code > CODE_MOST) return -1;
    sum += code;
  }
  return sum;
}
