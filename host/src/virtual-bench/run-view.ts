/**
 * Probes and clamps of one run in one topology, with all that does not change worked out: what a
 * step reads, what a stretch without steps draws, and when such a stretch is allowed.
 */
import type { HeldStep, Topology } from './topology.ts';

/** A sine that one input carries for ever: amplitude cos(w t + phase). */
export interface Tone {
  readonly angular_rad_s: number;
  readonly amplitude: number;
  readonly phase_rad: number;
}

/** Everything about one topology that steady inputs and hum settle beforehand. */
export interface Plan {
  readonly topology: Topology;
  /** Steady state under the present inputs. */
  readonly steady: Float64Array;
  /** Per tone: real and imaginary parts of the states, phase of the tone included. */
  readonly tones: Float64Array[];
}

/** A run that changes by less than this is still. */
const STILL_V = 2e-8;
const STILL_LOOKS_s = [2 ** -16, 2 ** -14, 2 ** -10];

/** What floats is drawn straight over this many steps; looked at on the way. */
const STRAIGHT_STEPS = 96;
const STRAIGHT_LOOKS = [1 / 64, 1 / 8, 1 / 2];
const LONG_STEPS = 1 << 30;
const HUM_STRIDE = 8;

interface PreparedRow {
  readonly constant: number;
  readonly state: Float64Array;
  readonly moving: Float64Array;
  /** Real and imaginary part per tone. */
  readonly tones: Float64Array;
}

/** What one run reads, its hum turned on step by step. */
export class RunView {
  readonly plan: Plan;
  readonly step: HeldStep;
  readonly probes: PreparedRow[] = [];
  readonly clamps: PreparedRow[] = [];
  readonly #tones: readonly Tone[];
  readonly #humInput: number;
  /** cos and sin of each tone now, and of one step. */
  readonly #angle: Float64Array;
  readonly #rotor: Float64Array;
  /** Of HUM_STRIDE steps. */
  readonly #stride: Float64Array;
  readonly #later: Float64Array;
  /** Of each probe, then each clamp, per step. */
  readonly #drift: Float64Array;

  constructor(
    plan: Plan,
    step: HeldStep,
    tones: readonly Tone[],
    humInput: number,
    step_s: number,
  ) {
    this.plan = plan;
    this.step = step;
    this.#tones = tones;
    this.#humInput = humInput;
    this.#later = new Float64Array(plan.topology.states);
    this.#drift = new Float64Array(plan.topology.outputRows + plan.topology.clampRows);
    this.#angle = new Float64Array(2 * tones.length);
    this.#rotor = new Float64Array(2 * tones.length);
    this.#stride = new Float64Array(2 * tones.length);
    tones.forEach(({ angular_rad_s }, t) => {
      this.#rotor[2 * t] = Math.cos(angular_rad_s * step_s);
      this.#rotor[2 * t + 1] = Math.sin(angular_rad_s * step_s);
      this.#stride[2 * t] = Math.cos(angular_rad_s * step_s * HUM_STRIDE);
      this.#stride[2 * t + 1] = Math.sin(angular_rad_s * step_s * HUM_STRIDE);
    });
  }

  /** Turns the hum to a time. */
  startAt(time_s: number): void {
    this.#tones.forEach(({ angular_rad_s }, t) => {
      this.#angle[2 * t] = Math.cos(angular_rad_s * time_s);
      this.#angle[2 * t + 1] = Math.sin(angular_rad_s * time_s);
    });
  }

  /** Prepares one row.
   * @param constant - its value in the steady state
   */
  add(
    list: PreparedRow[],
    matrix: Float64Array,
    row: number,
    constant: number,
    moving: readonly number[],
  ): void {
    const { topology, tones } = this.plan;
    const n = topology.states;
    const at = row * (n + topology.inputs);
    const state = matrix.slice(at, at + n);
    const phasors = new Float64Array(2 * tones.length);
    this.#tones.forEach(({ amplitude, phase_rad }, t) => {
      const direct = matrix[at + n + this.#humInput] * amplitude;
      let re = direct * Math.cos(phase_rad);
      let im = direct * Math.sin(phase_rad);
      for (let j = 0; j < n; j++) {
        re += state[j] * tones[t][j];
        im += state[j] * tones[t][n + j];
      }
      phasors[2 * t] = re;
      phasors[2 * t + 1] = im;
    });
    list.push({
      constant,
      state,
      moving: Float64Array.from(moving, (input) => matrix[at + n + input]),
      tones: phasors,
    });
  }

  /** Turns the hum on by one step. */
  turn(): void {
    this.#rotate(this.#rotor);
  }

  #rotate(rotor: Float64Array): void {
    const angle = this.#angle;
    for (let t = 0; t < angle.length; t += 2) {
      const cos = angle[t];
      const sin = angle[t + 1];
      angle[t] = cos * rotor[t] - sin * rotor[t + 1];
      angle[t + 1] = sin * rotor[t] + cos * rotor[t + 1];
    }
  }

  /** For how many steps every row runs straight (what floats drifts) or stands: 0 while a ring or
   * a rise is left. Looks at a part of a ring's period too: one look alone could meet it at the
   * same phase.
   */
  straightFor(deviation: Float64Array, step_s: number): number {
    this.#drift.fill(0);
    if (STILL_LOOKS_s.every((look_s) => this.#staysWithin(deviation, look_s, 0))) return LONG_STEPS;
    const length_s = STRAIGHT_STEPS * step_s;
    this.#decayed(deviation, length_s);
    this.#rows((state, r) => (this.#drift[r] = product(state, this.#later) / STRAIGHT_STEPS));
    const straight = STRAIGHT_LOOKS.every((part) =>
      this.#staysWithin(deviation, part * length_s, part * STRAIGHT_STEPS),
    );
    return straight ? STRAIGHT_STEPS : 0;
  }

  /** Whether every row is where its drift takes it after a time, within 20 nV. */
  #staysWithin(deviation: Float64Array, look_s: number, steps: number): boolean {
    this.#decayed(deviation, look_s);
    let within = true;
    this.#rows((state, r) => {
      const off = product(state, this.#later) - steps * this.#drift[r];
      if (Math.abs(off) > STILL_V) within = false;
    });
    return within;
  }

  /** Puts into `#later` by how much the deviation changes within a time. */
  #decayed(deviation: Float64Array, time_s: number): void {
    this.#later.set(deviation);
    this.plan.topology.decay(this.#later, time_s);
    for (let j = 0; j < deviation.length; j++) this.#later[j] -= deviation[j];
  }

  #rows(visit: (state: Float64Array, r: number) => void): void {
    for (let r = 0; r < this.probes.length; r++) visit(this.probes[r].state, r);
    const first = this.probes.length;
    for (let c = 0; c < this.clamps.length; c++) visit(this.clamps[c].state, first + c);
  }

  /** Fills probes from step `from` to before `until`, the deviation on its straight way; the hum
   * runs straight over HUM_STRIDE steps: at 1/120,000 s and 250 Hz within 0.14 % of that harmonic.
   */
  fill(deviation: Float64Array, out: readonly Float64Array[], from: number, until: number): void {
    const fixed = this.probes.map(({ constant, state }) => {
      let sum = constant;
      for (let j = 0; j < deviation.length; j++) sum += state[j] * deviation[j];
      return sum;
    });
    const last = this.probes.map((row) => this.#hum(row));
    for (let k = from; k < until; ) {
      const steps = Math.min(HUM_STRIDE, until - k);
      if (steps === HUM_STRIDE) this.#rotate(this.#stride);
      else for (let i = 0; i < steps; i++) this.#rotate(this.#rotor);
      for (let r = 0; r < fixed.length; r++) {
        const next = this.#hum(this.probes[r]);
        const slope = (next - last[r]) / steps + this.#drift[r];
        const base = fixed[r] + last[r];
        const row = out[r];
        for (let i = 1; i <= steps; i++) row[k + i - 1] = base + slope * i;
        last[r] = next;
        fixed[r] += steps * this.#drift[r];
      }
      k += steps;
    }
  }

  value(row: PreparedRow, deviation: Float64Array, moving: Float64Array): number {
    let sum = row.constant + this.#hum(row);
    for (let j = 0; j < deviation.length; j++) sum += row.state[j] * deviation[j];
    for (let k = 0; k < moving.length; k++) sum += row.moving[k] * moving[k];
    return sum;
  }

  #hum({ tones }: PreparedRow): number {
    const angle = this.#angle;
    let sum = 0;
    for (let t = 0; t < angle.length; t += 2) {
      sum += tones[t] * angle[t] - tones[t + 1] * angle[t + 1];
    }
    return sum;
  }
}

function product(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let j = 0; j < a.length; j++) sum += a[j] * b[j];
  return sum;
}
