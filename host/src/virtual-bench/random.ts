/**
 * All chance on the virtual bench comes from one seed. Each use draws from a stream of its own,
 * named by what it is for, so that one more draw in one place changes nothing elsewhere.
 */

/** A stream of pseudo-random numbers: xoshiro128**, period 2^128 - 1. */
export class RandomStream {
  #a: number;
  #b: number;
  #c: number;
  #d: number;
  #spare = Number.NaN;

  /** @param seed - any whole number; its lower 32 bits count
   * @param name - what the stream is for
   */
  constructor(seed: number, name: string) {
    let state = hashOf(name) ^ Math.imul(seed | 0, 0x9e3779b1);
    const next = (): number => {
      // splitmix32: spreads neighbouring seeds over the whole state.
      state = (state + 0x9e3779b9) | 0;
      let z = state;
      z = Math.imul(z ^ (z >>> 16), 0x85ebca6b);
      z = Math.imul(z ^ (z >>> 13), 0xc2b2ae35);
      return z ^ (z >>> 16);
    };
    this.#a = next();
    this.#b = next() ^ (seed | 0);
    this.#c = next();
    this.#d = next() | 1;
  }

  /** 32 random bits, as an unsigned number. */
  bits(): number {
    const result = Math.imul(rotated(Math.imul(this.#b, 5), 7), 9) >>> 0;
    const shifted = this.#b << 9;
    this.#c ^= this.#a;
    this.#d ^= this.#b;
    this.#b ^= this.#c;
    this.#a ^= this.#d;
    this.#c ^= shifted;
    this.#d = rotated(this.#d, 11);
    return result;
  }

  /** Evenly spread in [0, 1). */
  unit(): number {
    return (this.bits() + (this.bits() >>> 11) / 0x200000) / 0x100000000;
  }

  /** Evenly spread in [low, high). */
  between(low: number, high: number): number {
    return low + (high - low) * this.unit();
  }

  /** Evenly spread in its logarithm over [low, high), both above 0. */
  betweenLog(low: number, high: number): number {
    return low * (high / low) ** this.unit();
  }

  /** A whole number in [0, count). */
  below(count: number): number {
    return Math.floor(this.unit() * count);
  }

  /** Normal with mean 0 and standard deviation 1 (Marsaglia's polar method). */
  gaussian(): number {
    if (!Number.isNaN(this.#spare)) {
      const kept = this.#spare;
      this.#spare = Number.NaN;
      return kept;
    }
    for (;;) {
      const x = 2 * this.unit() - 1;
      const y = 2 * this.unit() - 1;
      const square = x * x + y * y;
      if (square >= 1 || square === 0) continue;
      const scale = Math.sqrt((-2 * Math.log(square)) / square);
      this.#spare = y * scale;
      return x * scale;
    }
  }
}

function rotated(value: number, by: number): number {
  return (value << by) | (value >>> (32 - by));
}

/** FNV-1a over the name's UTF-16 units. */
function hashOf(name: string): number {
  let hash = 0x811c9dc5;
  for (let i = 0; i < name.length; i++) hash = Math.imul(hash ^ name.charCodeAt(i), 0x01000193);
  return hash;
}

/** Bits that one draw from `normalQuantiles` takes. */
export const QUANTILE_BITS = 13;
const QUANTILES = 1 << QUANTILE_BITS;
let quantileTable: Float32Array | null = null;

/** 8,192 evenly likely values of a standard normal: noise for millions of samples at the price of
 * a table look-up.
 */
export function normalQuantiles(): Float32Array {
  if (quantileTable !== null) return quantileTable;
  const table = new Float32Array(QUANTILES);
  let x = 0;
  for (let i = QUANTILES / 2 - 1; i >= 0; i--) {
    x = normalQuantile((i + 0.5) / QUANTILES, x);
    table[i] = x;
    table[QUANTILES - 1 - i] = -x;
  }
  quantileTable = table;
  return table;
}

/** The x below which a standard normal lies with probability p < 1/2, by Newton's method.
 * @param near - where to start
 */
function normalQuantile(p: number, near: number): number {
  let x = near;
  for (let i = 0; i < 30; i++) {
    const density = Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI);
    const step = (lowerTail(x) - p) / density;
    x -= Math.max(-0.5, Math.min(0.5, step));
    if (Math.abs(step) < 1e-9) break;
  }
  return x;
}

/** Area of the standard normal left of x <= 0: series near 0, continued fraction far out. */
export function lowerTail(x: number): number {
  const z = -x;
  const density = Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);
  if (z < 2.5) {
    let term = z;
    let sum = z;
    for (let k = 1; k < 80; k++) {
      term *= (z * z) / (2 * k + 1);
      sum += term;
    }
    return 0.5 - density * sum;
  }
  let fraction = z;
  for (let k = 60; k >= 1; k--) fraction = z + k / fraction;
  return density / fraction;
}
