/**
 * A circuit in time: its state while switches move, steady sources change, mains hum runs and
 * touches come. Steady sources and hum are solved in closed form; only what is left is stepped.
 */
import type { Circuit } from './circuit.ts';
import { ONE } from './circuit.ts';
import { RunView, type Plan, type Tone } from './run-view.ts';
import { TICKS_PER_s, type Topology } from './topology.ts';

/** Sources that come and go, such as the voltage of a touched coil. */
export interface MovingSources {
  /** The inputs that move. */
  readonly inputs: readonly number[];
  /** Writes their values at a time. */
  fill(time_s: number, out: Float64Array): void;
  /** First time at or after `time_s` when any of them is not zero; Infinity when never. */
  nextActive(time_s: number): number;
}

const NO_SOURCES: MovingSources = {
  inputs: [],
  fill: () => {},
  nextActive: () => Number.POSITIVE_INFINITY,
};

/** What is left of a transient that is no longer followed: 10 nV and 0.1 pA. */
const QUIET_V = 1e-8;
const QUIET_A = 1e-13;

/** Steps between looks. */
const LOOK_EVERY = 32;
const STEPS_AT_ONCE = 4096;
const SETTLING_ROUNDS_MOST = 8;

/** A moment to come back to. */
export interface Snapshot {
  readonly time_s: number;
  readonly state: Float64Array;
  readonly clamped: Int8Array;
}

/** A circuit whose time runs. */
export class Transient {
  readonly circuit: Circuit;
  readonly inputs: Float64Array;
  readonly state: Float64Array;
  time_s = 0;
  readonly #closed: Uint8Array;
  readonly #clamped: Int8Array;
  readonly #humInput: number;
  readonly #tones: readonly Tone[];
  readonly #moving: MovingSources;
  readonly #topologies = new Map<string, Topology>();
  readonly #toneStates = new Map<Topology, Float64Array[]>();
  readonly #deviation: Float64Array;
  readonly #capacitors: number;
  #plan: Plan | null = null;

  /** @param options - `hum`: the input that carries the tones; `moving`: sources that come and go */
  constructor(
    circuit: Circuit,
    options: {
      readonly hum?: { readonly input: number; readonly tones: readonly Tone[] };
      readonly moving?: MovingSources;
    } = {},
  ) {
    this.circuit = circuit;
    this.inputs = new Float64Array(circuit.inputCount);
    this.inputs[ONE] = 1;
    this.state = new Float64Array(circuit.stateCount);
    this.#deviation = new Float64Array(circuit.stateCount);
    this.#closed = new Uint8Array(circuit.switchCount);
    this.#clamped = new Int8Array(circuit.clampCount);
    this.#humInput = options.hum?.input ?? -1;
    this.#tones = options.hum?.tones ?? [];
    this.#moving = options.moving ?? NO_SOURCES;
    this.#capacitors = circuit.capacitorCount;
  }

  /** Sets a switch; the state stays as it is. */
  setSwitch(index: number, closed: boolean): void {
    const value = closed ? 1 : 0;
    if (this.#closed[index] === value) return;
    this.#closed[index] = value;
    this.#clamped.fill(0);
    this.#plan = null;
  }

  /** Sets a steady input from now on. */
  setInput(index: number, value: number): void {
    if (this.inputs[index] === value) return;
    this.inputs[index] = value;
    this.#plan = null;
  }

  /** Puts the circuit where its steady inputs and the hum would have brought it long ago. */
  settle(): void {
    const plan = this.#planned();
    this.state.set(plan.steady);
    this.#addTones(plan, this.time_s, 1);
  }

  /** Lets time pass: in one stride where nothing moves, in steps while a source does.
   * @param duration_s - 0 or more
   * @param step_s - length of a step where steps are needed
   */
  advance(duration_s: number, step_s: number): void {
    const end_s = this.time_s + duration_s;
    while (this.time_s < end_s) {
      const active_s = this.#moving.nextActive(this.time_s);
      if (active_s >= end_s) return this.leap(end_s - this.time_s);
      if (active_s > this.time_s) this.leap(active_s - this.time_s);
      const left_s = end_s - this.time_s;
      if (left_s < step_s) this.run(left_s, 1, [], []);
      else this.run(step_s, Math.min(Math.floor(left_s / step_s), STEPS_AT_ONCE), [], []);
    }
  }

  /** Lets time pass in one stride, moving sources taken as zero. Clamps conduct as they will when
   * all has settled: what they do on the way only makes the transient shorter.
   * @param duration_s - 0 or more
   */
  leap(duration_s: number): void {
    const plan = this.#settledPlan();
    this.#takeDeviation(plan);
    plan.topology.decay(this.#deviation, duration_s);
    this.time_s += duration_s;
    this.#giveDeviation(plan);
  }

  /** A weighted mean of a probe from now on, the hum left out; time does not pass.
   * @param ticksLog2 - the weights lie 2^ticksLog2 ticks of 2^-30 s apart, the first one such
   *   interval from now
   * @param weights - adding up to 1
   */
  weightedMean(row: number, ticksLog2: number, weights: Float64Array): number {
    const plan = this.#settledPlan();
    this.#takeDeviation(plan);
    const { topology } = plan;
    const level_s = 2 ** ticksLog2 / TICKS_PER_s;
    const at = row * (topology.states + topology.inputs);
    let mean = topology.steadyOutput(row, this.inputs);
    for (let k = 0; k < weights.length; k++) {
      topology.decay(this.#deviation, level_s);
      let sum = 0;
      for (let j = 0; j < topology.states; j++) {
        sum += topology.outputs[at + j] * this.#deviation[j];
      }
      mean += weights[k] * sum;
      if ((k & 7) === 0 && this.#isQuiet(plan)) break;
    }
    return mean;
  }

  /** The hum in a probe at a time, each tone weakened by a filter.
   * @param gain - of the filter at a frequency in hertz
   */
  humAt(row: number, time_s: number, gain: (frequency_Hz: number) => number): number {
    const { topology, tones } = this.#planned();
    const states = topology.states;
    const at = row * (states + topology.inputs);
    let sum = 0;
    this.#tones.forEach(({ angular_rad_s, amplitude, phase_rad }, t) => {
      const direct = topology.outputs[at + states + this.#humInput] * amplitude;
      let re = direct * Math.cos(phase_rad);
      let im = direct * Math.sin(phase_rad);
      for (let j = 0; j < states; j++) {
        re += topology.outputs[at + j] * tones[t][j];
        im += topology.outputs[at + j] * tones[t][states + j];
      }
      const angle = angular_rad_s * time_s;
      const now = re * Math.cos(angle) - im * Math.sin(angle);
      sum += now * gain(angular_rad_s / (2 * Math.PI));
    });
    return sum;
  }

  /** What is needed to come back to this moment. */
  snapshot(): Snapshot {
    return {
      time_s: this.time_s,
      state: Float64Array.from(this.state),
      clamped: Int8Array.from(this.#clamped),
    };
  }

  /** Goes back to a snapshot; switches and inputs stay as they are now. */
  restore({ time_s, state, clamped }: Snapshot): void {
    this.time_s = time_s;
    this.state.set(state);
    this.#clamped.set(clamped);
    this.#plan = null;
  }

  /** The present value of a probe, with the steady inputs, the hum and the moving sources. */
  probe(row: number): number {
    const plan = this.#planned();
    const inputs = this.#inputsNow(this.time_s);
    return plan.topology.read(plan.topology.outputs, row, this.state, inputs);
  }

  /** A probe's steady value under the present inputs: no hum, no transient. */
  steadyProbe(row: number): number {
    return this.#planned().topology.steadyOutput(row, this.inputs);
  }

  /** Runs in steps of one length and reads probes at the end of each.
   * @param rows - probe numbers
   * @param out - one array per probe, of `count` values or more
   * @param watchClamps - let clamps conduct when their voltage is reached
   */
  run(
    step_s: number,
    count: number,
    rows: readonly number[],
    out: readonly Float64Array[],
    watchClamps = true,
  ): void {
    const start_s = this.time_s;
    const sources = this.#moving.inputs;
    const before = new Float64Array(sources.length);
    const after = new Float64Array(sources.length);
    // Clamps come and go many times in a run: each of their settings is prepared once.
    const views = new Map<string, RunView>();
    let view = this.#viewNow(views, step_s, rows, watchClamps);
    this.#takeDeviation(view.plan);
    this.#moving.fill(start_s, before);
    let next_s = this.#moving.nextActive(start_s);
    let k = 0;
    let look = 0;
    while (k < count) {
      const end_s = start_s + (k + 1) * step_s;
      const active = next_s < end_s;
      if (active) {
        next_s = this.#moving.nextActive(end_s);
        this.#moving.fill(end_s, after);
      } else {
        after.fill(0);
        if (k >= look) {
          look = k + LOOK_EVERY;
          const steps = view.straightFor(this.#deviation, step_s);
          if (steps > 0) {
            // What is left of a transient runs straight or stands: it is drawn, and decays at once.
            const quiet = Math.max(k + 1, Math.floor((next_s - start_s) / step_s));
            const until = Math.min(count, quiet, k + steps);
            view.fill(this.#deviation, out, k, until);
            view.plan.topology.decay(this.#deviation, (until - k) * step_s);
            before.fill(0);
            k = until;
            look = k;
            continue;
          }
        }
      }
      view.turn();
      view.step.advance(this.#deviation, before, after);
      if (watchClamps && this.#clampsMoved(view, after)) {
        this.time_s = end_s;
        this.#giveDeviation(view.plan);
        view = this.#viewNow(views, step_s, rows, watchClamps);
        this.#takeDeviation(view.plan);
      }
      for (let r = 0; r < rows.length; r++) {
        out[r][k] = view.value(view.probes[r], this.#deviation, after);
      }
      before.set(after);
      k++;
    }
    this.time_s = start_s + count * step_s;
    this.#giveDeviation(view.plan);
  }

  /** The plan under which clamps agree with the steady state that they lead to. */
  #settledPlan(): Plan {
    if (this.#clamped.some((state) => state !== 0)) {
      this.#clamped.fill(0);
      this.#plan = null;
    }
    let plan = this.#planned();
    for (let round = 0; round < SETTLING_ROUNDS_MOST; round++) {
      const { topology } = plan;
      let moved = false;
      for (let c = 0; c < this.#clamped.length; c++) {
        const voltage = topology.steadyClamp(c, this.inputs);
        const { low_V, high_V } = this.circuit.clampWindow(c);
        const state = voltage > high_V ? 1 : voltage < low_V ? -1 : 0;
        if (state === this.#clamped[c]) continue;
        this.#clamped[c] = state;
        moved = true;
      }
      if (!moved) return plan;
      this.#plan = null;
      plan = this.#planned();
    }
    return plan;
  }

  #planned(): Plan {
    if (this.#plan !== null) return this.#plan;
    const key = `${this.#closed.join('')}/${this.#clamped.join('')}`;
    let topology = this.#topologies.get(key);
    if (topology === undefined) {
      topology = this.circuit.topology(this.#closed, this.#clamped);
      this.#topologies.set(key, topology);
    }
    const steady = new Float64Array(topology.states);
    topology.steadyState(this.inputs, steady);
    this.#plan = { topology, steady, tones: this.#tonesOf(topology) };
    return this.#plan;
  }

  #tonesOf(topology: Topology): Float64Array[] {
    const known = this.#toneStates.get(topology);
    if (known !== undefined) return known;
    const unit = new Float64Array(topology.inputs);
    const made = this.#tones.map(({ angular_rad_s, amplitude, phase_rad }) => {
      unit[this.#humInput] = amplitude;
      const phasor = topology.phasor(angular_rad_s, unit);
      const cos = Math.cos(phase_rad);
      const sin = Math.sin(phase_rad);
      for (let i = 0; i < topology.states; i++) {
        const re = phasor[i];
        const im = phasor[topology.states + i];
        phasor[i] = re * cos - im * sin;
        phasor[topology.states + i] = re * sin + im * cos;
      }
      return phasor;
    });
    this.#toneStates.set(topology, made);
    return made;
  }

  #addTones(plan: Plan, time_s: number, sign: number): void {
    const n = plan.topology.states;
    this.#tones.forEach(({ angular_rad_s }, t) => {
      const cos = sign * Math.cos(angular_rad_s * time_s);
      const sin = sign * Math.sin(angular_rad_s * time_s);
      const phasor = plan.tones[t];
      for (let i = 0; i < n; i++) this.state[i] += phasor[i] * cos - phasor[n + i] * sin;
    });
  }

  #takeDeviation(plan: Plan): void {
    this.#addTones(plan, this.time_s, -1);
    for (let i = 0; i < this.state.length; i++) {
      this.#deviation[i] = this.state[i] - plan.steady[i];
    }
    this.#addTones(plan, this.time_s, 1);
  }

  #giveDeviation(plan: Plan): void {
    for (let i = 0; i < this.state.length; i++) {
      this.state[i] = this.#deviation[i] + plan.steady[i];
    }
    this.#addTones(plan, this.time_s, 1);
  }

  #isQuiet(plan: Plan): boolean {
    for (let i = 0; i < plan.topology.states; i++) {
      const limit = i < this.#capacitors ? QUIET_V : QUIET_A;
      if (Math.abs(this.#deviation[i]) > limit) return false;
    }
    return true;
  }

  #inputsNow(time_s: number): Float64Array {
    const inputs = Float64Array.from(this.inputs);
    for (const { angular_rad_s, amplitude, phase_rad } of this.#tones) {
      inputs[this.#humInput] += amplitude * Math.cos(angular_rad_s * time_s + phase_rad);
    }
    const values = new Float64Array(this.#moving.inputs.length);
    this.#moving.fill(time_s, values);
    this.#moving.inputs.forEach((input, k) => (inputs[input] += values[k]));
    return inputs;
  }

  /** The view of the present setting of the clamps, its hum turned to the present time. */
  #viewNow(
    views: Map<string, RunView>,
    step_s: number,
    rows: readonly number[],
    clamps: boolean,
  ): RunView {
    const key = this.#clamped.join('');
    let view = views.get(key);
    if (view === undefined) {
      view = this.#view(step_s, rows, clamps);
      views.set(key, view);
    }
    this.#plan = view.plan;
    view.startAt(this.time_s);
    return view;
  }

  #view(step_s: number, rows: readonly number[], clamps: boolean): RunView {
    const plan = this.#planned();
    const step = plan.topology.heldStep(step_s, this.#moving.inputs);
    const view = new RunView(plan, step, this.#tones, this.#humInput, step_s);
    const { topology } = plan;
    const { inputs: moving } = this.#moving;
    for (const row of rows) {
      const constant = topology.steadyOutput(row, this.inputs);
      view.add(view.probes, topology.outputs, row, constant, moving);
    }
    for (let c = 0; clamps && c < topology.clampRows; c++) {
      const constant = topology.steadyClamp(c, this.inputs);
      view.add(view.clamps, topology.clampOutputs, c, constant, moving);
    }
    return view;
  }

  #clampsMoved(view: RunView, moving: Float64Array): boolean {
    let moved = false;
    for (let c = 0; c < this.#clamped.length; c++) {
      const voltage = view.value(view.clamps[c], this.#deviation, moving);
      const { low_V, high_V } = this.circuit.clampWindow(c);
      const state = voltage > high_V ? 1 : voltage < low_V ? -1 : 0;
      if (state === this.#clamped[c]) continue;
      this.#clamped[c] = state;
      moved = true;
    }
    if (moved) this.#plan = null;
    return moved;
  }
}
