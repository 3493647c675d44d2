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

/** Noise of one conversion in codes, rms: 0.974 by the study "Characterizing the Raspberry Pi Pico ADC", its page on input-referred noise. */
const NOISE_CODES = 0.97;
/** The codes that are wider than the others (erratum RP2040-E11), and by how much: physics.md 7. How far parts differ is judgement. */
const WIDE_CODES = [512, 1536, 2560, 3584] as const;
const WIDE_MEAN = 8.9;
const WIDE_SPREAD = 0.8;
const WIDE_MOST_SPREADS = 3;
/** Places of the transfer's table within one code. */
const FINE = 16;

/** By how many codes each of one part's four wide codes is wider than the others. */
export function drawWideCodes(random: RandomStream): readonly number[] {
  return WIDE_CODES.map(() => {
    const spreads = Math.min(WIDE_MOST_SPREADS, Math.max(-WIDE_MOST_SPREADS, random.gaussian()));
    return WIDE_MEAN + WIDE_SPREAD * spreads;
  });
}

/**
 * The converter's transfer: from an ideal code, in steps of 1/FINE, to the code that comes out. All codes but the wide ones are alike,
 * so much narrower that all together are as many as there are; the middle code is where it should be.
 */
function transferTable(wideCodes: readonly number[]): Uint16Array {
  const width = 1 - wideCodes.reduce((sum, extra) => sum + extra, 0) / CODES;
  const table = new Uint16Array(CODES * FINE);
  const middle = (MID_CODE + 0.5) * FINE;
  const extraOf = (code: number): number => wideCodes[WIDE_CODES.indexOf(code as (typeof WIDE_CODES)[number])] ?? 0;
  let up = middle;
  for (let code = MID_CODE, end = middle + (width / 2) * FINE; up < table.length; up++) {
    while (up + 0.5 >= end && code < CODES - 1) end += (width + extraOf(++code)) * FINE;
    table[up] = code;
  }
  let down = middle - 1;
  for (let code = MID_CODE, end = middle - (width / 2) * FINE; down >= 0; down--) {
    while (down + 0.5 < end && code > 0) end -= (width + extraOf(--code)) * FINE;
    table[down] = code;
  }
  return table;
}

/** The converter with its amplifiers, as one tester has them. */
export class ListeningAdc {
  readonly #random: RandomStream;
  readonly #quantiles = normalQuantiles();
  readonly #transfer: Uint16Array;
  /** Ideal codes per volt at the clips, amplifier errors included. */
  readonly #codesPerVolt: Float64Array;
  readonly #zeroCode: Float64Array;
  readonly #noiseCodes: Float64Array;

  /** @param noise_V - white noise at the clips, rms in each 10 kHz sample
   * @param board - draws what differs from tester to tester
   * @param noise - draws the noise of each sample
   * @param wideCodes - as `drawWideCodes` gives them
   */
  constructor(noise_V: number, board: RandomStream, noise: RandomStream, wideCodes: readonly number[]) {
    this.#random = noise;
    this.#transfer = transferTable(wideCodes);
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
    const ideal = this.#zeroCode[input] + volts * this.#codesPerVolt[input] + noise + 0.5;
    return this.#transfer[ideal <= 0 ? 0 : ideal >= CODES ? CODES * FINE - 1 : (ideal * FINE) | 0];
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
        const place = ideal <= 0 ? 0 : ideal >= CODES ? CODES * FINE - 1 : (ideal * FINE) | 0;
        out[offset + k] = transfer[place];
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
