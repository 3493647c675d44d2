/**
 * A linear circuit with switches and piecewise-linear clamps, as nodal equations.
 *
 * The state is every capacitor's voltage and every inductor's current, so that it lives on while
 * switches move; each setting of switches and clamps gives one `Topology` (`topology.ts`).
 * Capacitors carry a tiny series resistance (1 ns with their own capacitance, 0.01 to 100 ohm) and
 * every node a tiny conductance to ground: with them no loop of capacitors and no floating part is
 * singular.
 */
import { isPositiveDefinite, solveInPlace } from './dense.ts';
import { Topology, type SteadyParts } from './topology.ts';

/** Conductance of every node to ground, siemens: an insulation that nobody has. */
const GROUND_LEAK_S = 1e-13;
const CAPACITOR_TIME_s = 1e-9;
const CAPACITOR_OHM_LEAST = 0.01;
const CAPACITOR_OHM_MOST = 100;

/** One term of a source: `gain` times the circuit's input number `input`. */
export interface SourceTerm {
  readonly input: number;
  readonly gain: number;
}

interface Branch {
  readonly a: number;
  readonly b: number;
  readonly siemens: number;
}

interface SourceBranch extends Branch {
  readonly terms: readonly SourceTerm[];
}

interface CapacitorBranch extends Branch {
  readonly farad: number;
}

interface ClampBranch extends Branch {
  readonly low_V: number;
  readonly high_V: number;
}

/** The input that is always 1: offsets of clamps, fixed leakage currents. */
export const ONE = 0;

/** A circuit under construction, and the topologies that were made from it. */
export class Circuit {
  readonly #names = new Map<string, number>();
  #nodeCount = 0;
  readonly #inputs: string[] = ['one'];
  readonly #resistors: Branch[] = [];
  readonly #sources: SourceBranch[] = [];
  readonly #currents: { a: number; b: number; terms: readonly SourceTerm[] }[] = [];
  readonly #capacitors: CapacitorBranch[] = [];
  readonly #inductors: { a: number; b: number }[] = [];
  readonly #inductance = new Map<number, number>();
  readonly #switches: Branch[] = [];
  readonly #clamps: ClampBranch[] = [];
  readonly #probes: { a: number; b: number }[] = [];

  /** The node of that name; `0` is ground. */
  node(name: string): number {
    if (name === '0') return -1;
    const known = this.#names.get(name);
    if (known !== undefined) return known;
    this.#names.set(name, this.#nodeCount);
    return this.#nodeCount++;
  }

  /** Adds an input (a source's value over time) and gives its number. */
  input(name: string): number {
    this.#inputs.push(name);
    return this.#inputs.length - 1;
  }

  resistor(a: string, b: string, ohm: number): void {
    this.#resistors.push({ a: this.node(a), b: this.node(b), siemens: 1 / ohm });
  }

  /** A voltage source behind a resistance: V(plus) - V(minus) is the sum of terms, unloaded. */
  source(plus: string, minus: string, ohm: number, terms: readonly SourceTerm[]): void {
    this.#sources.push({ a: this.node(plus), b: this.node(minus), siemens: 1 / ohm, terms });
  }

  /** A current source that pushes the sum of its terms out of `into` and draws it from `from`. */
  current(from: string, into: string, terms: readonly SourceTerm[]): void {
    this.#currents.push({ a: this.node(from), b: this.node(into), terms });
  }

  /** @returns the state number of V(a) - V(b) */
  capacitor(a: string, b: string, farad: number): number {
    const series_ohm = Math.max(CAPACITOR_TIME_s / farad, CAPACITOR_OHM_LEAST);
    const siemens = 1 / Math.min(series_ohm, CAPACITOR_OHM_MOST);
    this.#capacitors.push({ a: this.node(a), b: this.node(b), siemens, farad });
    return this.#capacitors.length - 1;
  }

  /** An inductor whose current is counted from a to b; set its inductances with `inductance`.
   * @returns its number among the inductors
   */
  inductor(a: string, b: string): number {
    this.#inductors.push({ a: this.node(a), b: this.node(b) });
    return this.#inductors.length - 1;
  }

  /** Sets L (i = j) or M between two inductors, both counted from their first node. */
  inductance(i: number, j: number, henry: number): void {
    this.#inductance.set(i * 4096 + j, henry);
    this.#inductance.set(j * 4096 + i, henry);
  }

  /** A switch with its resistance when closed; open, it is not there.
   * @returns its number
   */
  switch(a: string, b: string, on_ohm: number): number {
    this.#switches.push({ a: this.node(a), b: this.node(b), siemens: 1 / on_ohm });
    return this.#switches.length - 1;
  }

  /** A clamp: nothing between low and high, beyond them a resistance to that voltage. */
  clamp(a: string, b: string, low_V: number, high_V: number, ohm: number): number {
    this.#clamps.push({ a: this.node(a), b: this.node(b), siemens: 1 / ohm, low_V, high_V });
    return this.#clamps.length - 1;
  }

  /** A voltage to be read: V(a) - V(b).
   * @returns its row among the outputs
   */
  probe(a: string, b: string): number {
    this.#probes.push({ a: this.node(a), b: this.node(b) });
    return this.#probes.length - 1;
  }

  get inputCount(): number {
    return this.#inputs.length;
  }

  get switchCount(): number {
    return this.#switches.length;
  }

  get clampCount(): number {
    return this.#clamps.length;
  }

  /** States below this number are voltages of capacitors; the others are currents. */
  get capacitorCount(): number {
    return this.#capacitors.length;
  }

  get stateCount(): number {
    return this.#capacitors.length + this.#inductors.length;
  }

  /** Voltages between which clamp number i does not conduct. */
  clampWindow(i: number): { readonly low_V: number; readonly high_V: number } {
    return this.#clamps[i];
  }

  /** The equations for one setting of switches and clamps.
   * @param closed - 1 for each closed switch
   * @param clamped - for each clamp -1 (conducts at its low end), 0, or 1 (at its high end)
   * @throws when the inductance matrix is not positive definite
   */
  topology(closed: Uint8Array, clamped: Int8Array): Topology {
    const size = this.#nodeCount;
    const conductance = new Float64Array(size * size);
    for (let i = 0; i < size; i++) conductance[i * size + i] = GROUND_LEAK_S;
    for (const part of this.#resistors) stamp(conductance, size, part);
    for (const part of this.#sources) stamp(conductance, size, part);
    this.#switches.forEach((part, i) => closed[i] === 1 && stamp(conductance, size, part));
    this.#clamps.forEach((part, i) => clamped[i] !== 0 && stamp(conductance, size, part));
    const direct = Float64Array.from(conductance);
    for (const part of this.#capacitors) stamp(conductance, size, part);

    const states = this.stateCount;
    const inputs = this.inputCount;
    const injected = new Float64Array(size * inputs);
    const inject = (a: number, b: number, input: number, amount: number): void => {
      if (a >= 0) injected[a * inputs + input] += amount;
      if (b >= 0) injected[b * inputs + input] -= amount;
    };
    for (const { a, b, siemens, terms } of this.#sources) {
      for (const { input, gain } of terms) inject(a, b, input, siemens * gain);
    }
    for (const { a, b, terms } of this.#currents) {
      for (const { input, gain } of terms) inject(b, a, input, gain);
    }
    this.#clamps.forEach(({ a, b, siemens, low_V, high_V }, i) => {
      const state = clamped[i];
      if (state !== 0) inject(a, b, ONE, siemens * (state > 0 ? high_V : low_V));
    });

    const columns = states + inputs;
    const voltages = new Float64Array(size * columns);
    for (let i = 0; i < size; i++) {
      voltages.set(injected.subarray(i * inputs, (i + 1) * inputs), i * columns + states);
    }
    this.#capacitors.forEach(({ a, b, siemens }, k) => {
      if (a >= 0) voltages[a * columns + k] += siemens;
      if (b >= 0) voltages[b * columns + k] -= siemens;
    });
    this.#inductors.forEach(({ a, b }, l) => {
      const k = this.#capacitors.length + l;
      if (a >= 0) voltages[a * columns + k] -= 1;
      if (b >= 0) voltages[b * columns + k] += 1;
    });
    solveInPlace(conductance, size, voltages, columns);
    return new Topology({
      states,
      inputs,
      derivative: this.#derivatives(voltages, columns),
      outputs: rowsOf(this.#probes, voltages, columns),
      clampOutputs: rowsOf(this.#clamps, voltages, columns),
      ...this.#steady(direct, injected),
    });
  }

  /** d(state)/dt as a row of coefficients per state: states first, then inputs. */
  #derivatives(voltages: Float64Array, columns: number): Float64Array {
    const capacitorCount = this.#capacitors.length;
    const inductorCount = this.#inductors.length;
    const rows = new Float64Array(this.stateCount * columns);
    rowsOf(this.#capacitors, voltages, columns).forEach((value, i) => (rows[i] = value));
    for (let k = 0; k < capacitorCount; k++) {
      const { siemens, farad } = this.#capacitors[k];
      const rate = siemens / farad;
      rows[k * columns + k] -= 1;
      for (let j = 0; j < columns; j++) rows[k * columns + j] *= rate;
    }
    const across = rowsOf(this.#inductors, voltages, columns);
    solveInPlace(this.#inductanceMatrix(), inductorCount, across, columns);
    rows.set(across, capacitorCount * columns);
    return rows;
  }

  #inductanceMatrix(): Float64Array {
    const count = this.#inductors.length;
    const matrix = new Float64Array(count * count);
    for (let i = 0; i < count; i++) {
      for (let j = 0; j < count; j++) {
        matrix[i * count + j] = this.#inductance.get(i * 4096 + j) ?? 0;
      }
    }
    if (!isPositiveDefinite(matrix, count)) {
      throw new Error('the inductances and couplings store negative energy');
    }
    return matrix;
  }

  /** Steady states, outputs and clamp voltages per input: capacitors open, inductors short. The
   * outputs come straight from the node voltages; from the states they would lose digits.
   */
  #steady(direct: Float64Array, injected: Float64Array): SteadyParts {
    const size = this.#nodeCount;
    const inputs = this.inputCount;
    const inductorCount = this.#inductors.length;
    const whole = size + inductorCount;
    const matrix = new Float64Array(whole * whole);
    for (let i = 0; i < size; i++) {
      matrix.set(direct.subarray(i * size, (i + 1) * size), i * whole);
    }
    this.#inductors.forEach(({ a, b }, l) => {
      const row = size + l;
      if (a >= 0) {
        matrix[a * whole + row] = 1;
        matrix[row * whole + a] = 1;
      }
      if (b >= 0) {
        matrix[b * whole + row] = -1;
        matrix[row * whole + b] = -1;
      }
    });
    const right = new Float64Array(whole * inputs);
    right.set(injected);
    solveInPlace(matrix, whole, right, inputs);
    const steady = new Float64Array(this.stateCount * inputs);
    this.#capacitors.forEach(({ a, b }, k) => {
      for (let j = 0; j < inputs; j++) {
        const va = a >= 0 ? right[a * inputs + j] : 0;
        const vb = b >= 0 ? right[b * inputs + j] : 0;
        steady[k * inputs + j] = va - vb;
      }
    });
    const currents = right.subarray(size * inputs);
    steady.set(currents, this.#capacitors.length * inputs);
    return {
      steady,
      steadyOutputs: rowsOf(this.#probes, right, inputs),
      steadyClamps: rowsOf(this.#clamps, right, inputs),
    };
  }
}

function stamp(matrix: Float64Array, size: number, { a, b, siemens }: Branch): void {
  if (a === b) return;
  if (a >= 0) matrix[a * size + a] += siemens;
  if (b >= 0) matrix[b * size + b] += siemens;
  if (a >= 0 && b >= 0) {
    matrix[a * size + b] -= siemens;
    matrix[b * size + a] -= siemens;
  }
}

/** V(a) - V(b) of each pair as rows of coefficients. */
function rowsOf(
  pairs: readonly { readonly a: number; readonly b: number }[],
  voltages: Float64Array,
  columns: number,
): Float64Array {
  const rows = new Float64Array(pairs.length * columns);
  pairs.forEach(({ a, b }, i) => {
    for (let j = 0; j < columns; j++) {
      const va = a >= 0 ? voltages[a * columns + j] : 0;
      const vb = b >= 0 ? voltages[b * columns + j] : 0;
      rows[i * columns + j] = va - vb;
    }
  });
  return rows;
}
