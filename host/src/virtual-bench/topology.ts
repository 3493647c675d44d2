/**
 * A circuit in one setting of its switches and clamps: state equations, solved exactly.
 *
 * dx/dt = A x + B u and y = C x + D u. With steady inputs the state runs to its steady value by
 * exp(A t), for any t; with a source that changes, by a first-order hold; with a sine, by phasor.
 */
import { doubled, rowNorm, shortExponentialLess1, solveInPlace } from './dense.ts';

/** What each input alone would lead to; a row per state, probe or clamp, a column per input. */
export interface SteadyParts {
  readonly steady: Float64Array;
  readonly steadyOutputs: Float64Array;
  readonly steadyClamps: Float64Array;
}

/** What `Circuit` works out for a topology; rows hold states first, then inputs. */
export interface TopologyParts extends SteadyParts {
  readonly states: number;
  readonly inputs: number;
  readonly derivative: Float64Array;
  readonly outputs: Float64Array;
  readonly clampOutputs: Float64Array;
}

/** Time is counted in ticks of 2^-30 s (0.93 ns) where an exponential is taken. */
export const TICKS_PER_s = 2 ** 30;
const LEVELS = 34;

/** The equations of one topology, and the matrices that were needed so far. */
export class Topology {
  readonly states: number;
  readonly inputs: number;
  readonly outputRows: number;
  readonly clampRows: number;
  readonly outputs: Float64Array;
  readonly clampOutputs: Float64Array;
  readonly #derivative: Float64Array;
  readonly #steady: SteadyParts;
  readonly #a: Float64Array;
  /** exp(A 2^k ticks) - I. */
  readonly #chain: Float64Array[] = [];
  readonly #held = new Map<string, HeldStep>();
  readonly #scratch: Float64Array;

  constructor(parts: TopologyParts) {
    this.states = parts.states;
    this.inputs = parts.inputs;
    const columns = parts.states + parts.inputs;
    this.outputs = parts.outputs;
    this.clampOutputs = parts.clampOutputs;
    this.outputRows = parts.outputs.length / columns;
    this.clampRows = parts.clampOutputs.length / columns;
    this.#derivative = parts.derivative;
    this.#steady = parts;
    this.#a = new Float64Array(this.states * this.states);
    for (let i = 0; i < this.states; i++) {
      for (let j = 0; j < this.states; j++) {
        this.#a[i * this.states + j] = parts.derivative[i * columns + j];
      }
    }
    this.#scratch = new Float64Array(this.states);
  }

  /** The state that steady inputs lead to.
   * @param out - receives `states` values
   */
  steadyState(inputs: Float64Array, out: Float64Array): void {
    for (let i = 0; i < this.states; i++) out[i] = product(this.#steady.steady, i, inputs);
  }

  /** What a probe reads in the steady state. */
  steadyOutput(row: number, inputs: Float64Array): number {
    return product(this.#steady.steadyOutputs, row, inputs);
  }

  /** What lies across a clamp in the steady state. */
  steadyClamp(row: number, inputs: Float64Array): number {
    return product(this.#steady.steadyClamps, row, inputs);
  }

  /** Row `row` of the given outputs, for a state and inputs. */
  read(rows: Float64Array, row: number, state: Float64Array, inputs: Float64Array): number {
    let at = row * (this.states + this.inputs);
    let sum = 0;
    for (let j = 0; j < this.states; j++) sum += rows[at++] * state[j];
    for (let j = 0; j < this.inputs; j++) sum += rows[at++] * inputs[j];
    return sum;
  }

  /** Lets a deviation from the steady state decay: d becomes exp(A t) d, in place.
   * @param time_s - 0 or more, taken to the nearest 0.93 ns
   */
  decay(deviation: Float64Array, time_s: number): void {
    const n = this.states;
    let ticks = Math.round(time_s * TICKS_PER_s);
    for (let level = 0; ticks > 0; level++) {
      const factor = this.#level(Math.min(level, LEVELS));
      let times = ticks % 2;
      if (level >= LEVELS) times = ticks;
      ticks = level >= LEVELS ? 0 : (ticks - times) / 2;
      for (; times > 0; times--) {
        for (let i = 0; i < n; i++) {
          let sum = 0;
          const row = i * n;
          for (let j = 0; j < n; j++) sum += factor[row + j] * deviation[j];
          this.#scratch[i] = sum;
        }
        for (let i = 0; i < n; i++) deviation[i] += this.#scratch[i];
      }
    }
  }

  #level(level: number): Float64Array {
    if (this.#chain.length === 0) {
      const tick_s = 1 / TICKS_PER_s;
      const halvings = Math.max(0, Math.ceil(Math.log2(rowNorm(this.#a, this.states) * tick_s)));
      let f = shortExponentialLess1(this.#a, this.states, tick_s / 2 ** halvings);
      for (let i = 0; i < halvings; i++) f = doubled(f, this.states);
      this.#chain.push(f);
    }
    while (this.#chain.length <= level) {
      this.#chain.push(doubled(this.#chain[this.#chain.length - 1], this.states));
    }
    return this.#chain[level];
  }

  /** The step for sources that run straight from one value to the next within each step.
   * @param moving - the inputs that change; the others are taken as zero
   */
  heldStep(step_s: number, moving: readonly number[]): HeldStep {
    const key = `${step_s}:${moving.join()}`;
    let step = this.#held.get(key);
    if (step === undefined) {
      step = this.#makeHeldStep(step_s, moving);
      this.#held.set(key, step);
    }
    return step;
  }

  #makeHeldStep(step_s: number, moving: readonly number[]): HeldStep {
    const n = this.states;
    const m = moving.length;
    const size = n + 2 * m;
    const columns = n + this.inputs;
    // d/dt [x; u; v] = [A B 0; 0 0 1/h; 0 0 0] [x; u; v] with v = u(h) - u(0) (Van Loan's block form).
    const block = new Float64Array(size * size);
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < n; j++) block[i * size + j] = this.#a[i * n + j];
      for (let k = 0; k < m; k++) {
        block[i * size + n + k] = this.#derivative[i * columns + n + moving[k]];
      }
    }
    for (let k = 0; k < m; k++) block[(n + k) * size + n + m + k] = 1 / step_s;
    const halvings = Math.max(0, Math.ceil(Math.log2(rowNorm(block, size) * step_s)));
    let f = shortExponentialLess1(block, size, step_s / 2 ** halvings);
    for (let i = 0; i < halvings; i++) f = doubled(f, size);
    const state = new Float64Array(n * n);
    const start = new Float64Array(n * m);
    const end = new Float64Array(n * m);
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < n; j++) state[i * n + j] = f[i * size + j] + (i === j ? 1 : 0);
      for (let k = 0; k < m; k++) {
        const whole = f[i * size + n + k];
        const ramp = f[i * size + n + m + k];
        start[i * m + k] = whole - ramp;
        end[i * m + k] = ramp;
      }
    }
    return new HeldStep(n, m, state, start, end);
  }

  /** The steady sine response: x(t) = re cos(wt) - im sin(wt) for inputs amplitude cos(wt).
   * @returns `states` real parts, then `states` imaginary parts
   */
  phasor(angular_rad_s: number, amplitude: Float64Array): Float64Array {
    const n = this.states;
    const size = 2 * n;
    const columns = n + this.inputs;
    const matrix = new Float64Array(size * size);
    const right = new Float64Array(size);
    for (let i = 0; i < n; i++) {
      // Rows are scaled to their largest entry: currents and voltages differ by ten powers of ten.
      let scale = angular_rad_s;
      for (let j = 0; j < n; j++) scale = Math.max(scale, Math.abs(this.#a[i * n + j]));
      for (let j = 0; j < n; j++) {
        matrix[i * size + j] = -this.#a[i * n + j] / scale;
        matrix[(n + i) * size + n + j] = -this.#a[i * n + j] / scale;
      }
      matrix[i * size + n + i] = -angular_rad_s / scale;
      matrix[(n + i) * size + i] = angular_rad_s / scale;
      let sum = 0;
      for (let k = 0; k < this.inputs; k++) {
        sum += this.#derivative[i * columns + n + k] * amplitude[k];
      }
      right[i] = sum / scale;
    }
    solveInPlace(matrix, size, right, 1);
    return right;
  }
}

function product(matrix: Float64Array, row: number, inputs: Float64Array): number {
  let sum = 0;
  for (let j = 0; j < inputs.length; j++) sum += matrix[row * inputs.length + j] * inputs[j];
  return sum;
}

/** One step of fixed length: x becomes S x + P u(start) + E u(end). */
export class HeldStep {
  readonly #n: number;
  readonly #m: number;
  readonly #state: Float64Array;
  readonly #start: Float64Array;
  readonly #end: Float64Array;
  readonly #next: Float64Array;

  constructor(n: number, m: number, state: Float64Array, start: Float64Array, end: Float64Array) {
    this.#n = n;
    this.#m = m;
    this.#state = state;
    this.#start = start;
    this.#end = end;
    this.#next = new Float64Array(n);
  }

  /** Advances x in place.
   * @param start - values of the moving inputs when the step begins
   * @param end - and when it ends
   */
  advance(x: Float64Array, start: Float64Array, end: Float64Array): void {
    const n = this.#n;
    const m = this.#m;
    for (let i = 0; i < n; i++) {
      let sum = 0;
      const row = i * n;
      for (let j = 0; j < n; j++) sum += this.#state[row + j] * x[j];
      const source = i * m;
      for (let k = 0; k < m; k++) {
        sum += this.#start[source + k] * start[k] + this.#end[source + k] * end[k];
      }
      this.#next[i] = sum;
    }
    x.set(this.#next);
  }
}
