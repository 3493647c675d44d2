/**
 * The pickup on the tester's analog board, in simulated time: what the board's digital side can do
 * to it and read from it. It knows switch words, currents, conversions and codes; it knows nothing
 * of the logic, so that the board twin and the chip twin use the very same one.
 */
import {
  addAnalogBoard,
  drawLeads,
  muxAddress,
  REFERENCE_OHM,
  sensedClip,
  STEP_V,
  type AnalogBoard,
} from './analog-board.ts';
import { RAILS } from './board-values.generated.ts';
import { Circuit } from './circuit.ts';
import {
  CODE_MOST,
  CONVERTER_CODE_V,
  ConverterInput,
  filterGain,
  FILTERS,
  FULL_SCALE_V,
  STATUS_OVERRANGE,
  weightsOf,
  type Conversion,
  type Filter,
} from './converter.ts';
import { CHANNEL_OF_INPUT, drawWideCodes, INPUT_COUNT, ListeningAdc, RAW_RATE_Hz } from './listening-adc.ts';
import { addPickup, type PickupPorts } from './pickup-circuit.ts';
import type { Pickup, PickupTouch } from '../pickup/pickup.ts';
import { RandomStream } from './random.ts';
import { humTones, TouchSources } from './touch-sources.ts';
import { Transient, type Snapshot } from './transient.ts';

const RAW_STEP_s = 1 / RAW_RATE_Hz;
/** After a switch or a current has changed, voltages may jump within a raw interval: this many are followed input by input. */
const FRESH_STEPS = 48;
const MUX_COUNT = 8;
const MUX_DRIVE = 6;
/** Throw of the drive switch that the current source is on. */
const DRIVE_SOURCE = 0;

/** What differs from tester to tester and a calibration is to find. Nothing but the tester's maker and those who check may look at it. */
export interface OwnErrors {
  /** Ohms of the leads of clips 1 to 6. */
  readonly leads_ohm: readonly number[];
  /** By how many codes the ADC's codes 512, 1536, 2560 and 3584 are wider than the others. */
  readonly wideCodes: readonly number[];
  /** Of clips 1 to 6, each open and on the A+ common, the wires beside it at 0 V. */
  readonly fixture_F: readonly number[];
}

/** What the tester's maker writes into every board. */
export const BOARD_FACTS = {
  reference_ohm: REFERENCE_OHM,
  /** Rectangular within +-0.05 %. */
  reference_u: 0.0005 / Math.sqrt(3),
  /** 7.5 mV/mT at 3.3 V. */
  wand_T_per_V: 1 / 7.5,
  step_V: STEP_V,
  code_V: CONVERTER_CODE_V,
  temperature_V25: 0.75,
  temperature_V_per_K: 0.01,
} as const;

/** The simulated analog world of one test. Time only goes forward. */
export class FrontEnd {
  readonly pickup: Pickup;
  readonly touches: TouchSources;
  readonly own: OwnErrors;
  readonly #transient: Transient;
  readonly #board: AnalogBoard;
  readonly #ports: PickupPorts;
  readonly #adc: ListeningAdc;
  readonly #converterNoise: RandomStream;
  readonly #facts: BoardErrors;
  readonly #watchClamps: boolean;
  readonly #voltages = [new Float64Array(0), new Float64Array(0)];
  #toggles: { time_s: number; switch: number; closed: boolean }[] = [];
  #word = 0;
  #current_nA = 0;
  #magnet_T = 0;
  /** When the circuit was last changed. */
  #changed_s = Number.NEGATIVE_INFINITY;
  #ahead: Lookahead | null = null;

  /** @param seed - decides everything that is chance: the board's errors, noise, hum, bounces */
  constructor(pickup: Pickup, seed: number) {
    this.pickup = pickup;
    const circuit = new Circuit();
    const leads_ohm = drawLeads(new RandomStream(seed, 'leads'));
    const wideCodes = drawWideCodes(new RandomStream(seed, 'wide codes'));
    this.#ports = addPickup(circuit, pickup, leads_ohm);
    const boardStream = new RandomStream(seed, 'board');
    this.#board = addAnalogBoard(circuit, boardStream, new RandomStream(seed, 'capacitances'));
    this.own = { leads_ohm, wideCodes, fixture_F: this.#board.fixture_F };
    const tones = humTones(pickup, new RandomStream(seed, 'hum'));
    const bounces = new RandomStream(seed, 'bounces');
    this.touches = new TouchSources(pickup, this.#ports.emfInputs, bounces);
    this.#transient = new Transient(circuit, {
      hum: { input: this.#ports.humInput, tones },
      moving: this.touches,
    });
    const { noise_V } = pickup.interference;
    this.#adc = new ListeningAdc(noise_V, boardStream, new RandomStream(seed, 'listening noise'), wideCodes);
    this.#converterNoise = new RandomStream(seed, 'converter noise');
    this.#facts = boardErrors(pickup, boardStream);
    this.#watchClamps = canReachClamps(pickup);
    for (const { switch: contact } of this.#ports.contacts) {
      this.#transient.setSwitch(contact, true);
    }
    this.#transient.settle();
  }

  /** Simulated seconds since the bench was made. */
  get time_s(): number {
    return this.#transient.time_s;
  }

  /** Starts the clock of intermittent leads: the button was pressed at this moment. */
  testBegins(time_s: number): void {
    for (const { switch: contact, clip } of this.#ports.contacts) {
      for (const fault of this.pickup.faults) {
        if (fault.kind !== 'intermittent' || fault.clip !== clip) continue;
        this.#toggles.push(
          { time_s: time_s + fault.from_s, switch: contact, closed: false },
          { time_s: time_s + fault.to_s, switch: contact, closed: true },
        );
      }
    }
    this.#toggles.sort((a, b) => a.time_s - b.time_s);
  }

  /** Lets time pass. */
  advance(time_s: number): void {
    if (this.#ahead !== null) this.#commitAhead(time_s);
    while (this.#toggles.length > 0 && this.#toggles[0].time_s <= time_s) {
      const { time_s: when_s, switch: contact, closed } = this.#toggles.shift()!;
      if (when_s > this.time_s) this.#transient.advance(when_s - this.time_s, RAW_STEP_s);
      this.#transient.setSwitch(contact, closed);
    }
    if (time_s > this.time_s) this.#transient.advance(time_s - this.time_s, RAW_STEP_s);
  }

  /** Sets all clip switches at once. @param word - eight nibbles `EN A2 A1 A0`, 0 = all off */
  setSwitches(word: number): void {
    this.#dropAhead();
    this.#changed_s = this.time_s;
    for (let mux = 0; mux < MUX_COUNT; mux++) {
      const before = muxAddress(this.#word, mux);
      const after = muxAddress(word, mux);
      if (before === after) continue;
      const row = this.#board.switches[mux];
      if (before >= 0 && row[before] >= 0) this.#transient.setSwitch(row[before], false);
      if (after >= 0 && row[after] >= 0) this.#transient.setSwitch(row[after], true);
    }
    this.#word = word;
  }

  /** Sets the converter's current source. @param current_nA - 0 is off */
  setCurrent(current_nA: number): void {
    this.#dropAhead();
    this.#changed_s = this.time_s;
    this.#current_nA = current_nA;
    this.#transient.setInput(this.#board.driveInput, current_nA * 1e-9);
  }

  /** Holds the magnet probe to a field, or takes it away. @param field_T - positive at an N face */
  setMagnet(field_T: number): void {
    this.#magnet_T = field_T;
  }

  /** What a conversion that starts now will give, if nothing is switched before it ends.
   * @param input - `ConverterInput`
   * @param rate - 0 precise, 1 quick
   */
  convert(input: number, rate: number): Conversion {
    this.#dropAhead();
    const filter = FILTERS[rate];
    const noise_V = filter.noise_V * this.#converterNoise.gaussian();
    const volts = this.#converterVolts(input, filter) + noise_V;
    // Bent by 8 ppm at its ends, as a converter of 15 ppm linearity may be.
    const bend = 8e-6 * (volts / FULL_SCALE_V) ** 2;
    const code = Math.round((volts * (1 + this.#facts.converterGain + bend)) / CONVERTER_CODE_V);
    if (code > CODE_MOST) return { code: CODE_MOST, status: STATUS_OVERRANGE };
    if (code < -CODE_MOST) return { code: -CODE_MOST - 1, status: STATUS_OVERRANGE };
    return { code, status: 0 };
  }

  /** Takes raw samples of all four listening inputs from now on; time passes with them.
   * @param count - samples per input
   * @param codes - per input; filled from `offset`
   */
  capture(count: number, codes: readonly Uint16Array[], offset = 0): void {
    if (this.#ahead !== null) this.#commitAhead(this.time_s);
    let done = 0;
    while (done < count) {
      let part = count - done;
      if (this.#toggles.length > 0) {
        const until = Math.ceil((this.#toggles[0].time_s - this.time_s) / RAW_STEP_s);
        if (until <= 0) {
          this.advance(this.time_s);
          continue;
        }
        part = Math.min(part, until);
      }
      const fresh = Math.ceil((this.#changed_s - this.time_s) / RAW_STEP_s + FRESH_STEPS - 1e-3);
      if (this.#rings) {
        this.#captureFresh(part, codes, offset + done);
      } else if (fresh > 0) {
        part = Math.min(part, fresh);
        this.#captureFresh(part, codes, offset + done);
      } else {
        this.#captureSteady(part, codes, offset + done);
      }
      done += part;
    }
  }

  /** One code of one listening input at a time, for a board that samples by itself.
   * @param input - 0 to 3: A x1, B x1, A x8, B x8
   * @param time_s - now or later
   */
  sample(input: number, time_s: number): number {
    return this.#adc.sample(input, this.#channelAt(CHANNEL_OF_INPUT[input], time_s));
  }

  /** The source runs but is cut off: what it drove rings at kilohertz, and the source goes to its compliance. */
  get #rings(): boolean {
    return this.#current_nA !== 0 && muxAddress(this.#word, MUX_DRIVE) !== DRIVE_SOURCE;
  }

  /** Each input at its own moment, a quarter of an interval after the one before it. */
  #captureFresh(count: number, codes: readonly Uint16Array[], offset: number): void {
    const rows = [this.#board.channelA, this.#board.channelB];
    const volts = rows.map(() => new Float64Array(INPUT_COUNT * count));
    const before_V = rows.map((row) => this.#transient.probe(row));
    this.#transient.run(RAW_STEP_s / INPUT_COUNT, INPUT_COUNT * count, rows, volts, this.#watchClamps || this.#rings);
    for (let at = 0; at < INPUT_COUNT * count; at++) {
      const input = at % INPUT_COUNT;
      const channel = CHANNEL_OF_INPUT[input];
      codes[input][offset + (at - input) / INPUT_COUNT] = this.#adc.sample(input, at === 0 ? before_V[channel] : volts[channel][at - 1]);
    }
  }

  #captureSteady(count: number, codes: readonly Uint16Array[], offset: number): void {
    if (this.#voltages[0].length < count) {
      this.#voltages[0] = new Float64Array(count);
      this.#voltages[1] = new Float64Array(count);
    }
    const rows = [this.#board.channelA, this.#board.channelB];
    const before_V = rows.map((row) => this.#transient.probe(row));
    this.#transient.run(RAW_STEP_s, count, rows, this.#voltages, this.#watchClamps);
    this.#adc.sampleRun(this.#voltages, before_V, count, codes, offset);
  }

  #converterVolts(input: number, filter: Filter): number {
    const facts = this.#facts;
    switch (input) {
      case ConverterInput.port:
        return this.#portVolts(filter);
      case ConverterInput.wand:
        // The sensor rises at a south pole.
        return (facts.wandOffset_T - this.#magnet_T) * facts.wandGain / BOARD_FACTS.wand_T_per_V;
      case ConverterInput.boardTemperature:
        return (
          BOARD_FACTS.temperature_V25 +
          (facts.temperature_C - 25) * BOARD_FACTS.temperature_V_per_K
        );
      case ConverterInput.railPositive:
        return facts.railPositive_V / 2;
      case ConverterInput.railNegative:
        return facts.railNegative_V / 2;
      default:
        throw new Error(`the converter has no input ${input}`);
    }
  }

  /** The filtered voltage of the sensing port, with the offsets of its clips and buffers. */
  #portVolts(filter: Filter): number {
    const row = this.#board.channelB;
    const weights = weightsOf(filter);
    const end_s = this.time_s + filter.duration_s;
    let volts = 0;
    if (this.#toggles.length > 0 && this.#toggles[0].time_s < end_s) {
      volts = this.#meanWhileContactsMove(row, filter, weights);
    } else {
      volts = this.#transient.weightedMean(row, filter.ticksLog2, weights);
      const centre_s = end_s - filter.boxcars_s.reduce((sum, length) => sum + length, 0) / 2;
      volts += this.#transient.humAt(row, centre_s, (frequency_Hz) => filterGain(filter, frequency_Hz));
    }
    const thermal = this.#facts.thermal_V;
    volts += thermal[sensedClip(this.#word, 2)] - thermal[sensedClip(this.#word, 3)];
    return volts + this.#facts.portOffset_V;
  }

  /** The filtered port while a lead loses or finds contact: sampled through the conversion. */
  #meanWhileContactsMove(row: number, filter: Filter, weights: Float64Array): number {
    const start = this.#transient.snapshot();
    const toggles = [...this.#toggles];
    const spacing_s = 2 ** filter.ticksLog2 / 2 ** 30;
    let mean = 0;
    for (let k = 0; k < weights.length; k++) {
      this.advance(start.time_s + (k + 1) * spacing_s);
      mean += weights[k] * this.#transient.probe(row);
    }
    for (const { switch: contact, closed } of toggles) {
      const isDue = this.#toggles.some(
        (left) => left.switch === contact && left.closed === closed,
      );
      if (!isDue) this.#transient.setSwitch(contact, !closed);
    }
    this.#toggles = toggles;
    this.#transient.restore(start);
    return mean;
  }

  #channelAt(channel: number, time_s: number): number {
    while (this.#ahead === null || time_s > this.#ahead.end.time_s) {
      if (this.#ahead !== null) this.#commitAhead(this.#ahead.end.time_s);
      if (time_s - this.time_s > AHEAD_STEPS * RAW_STEP_s) this.advance(time_s);
      this.#ahead = this.#lookAhead();
    }
    const { start, step_s, volts, rings } = this.#ahead;
    const position = Math.max(0, (time_s - start.time_s) / step_s);
    const step = Math.min(AHEAD_STEPS - 1, Math.floor(position));
    return (rings ? curved : straight)(volts[channel], step, position - step);
  }

  #lookAhead(): Lookahead {
    const start = this.#transient.snapshot();
    const rings = this.#rings;
    const isFresh = rings || start.time_s < this.#changed_s + FRESH_STEPS * RAW_STEP_s;
    const step_s = isFresh ? RAW_STEP_s / INPUT_COUNT : RAW_STEP_s;
    const rows = [this.#board.channelA, this.#board.channelB];
    const samples = rows.map(() => new Float64Array(AHEAD_STEPS));
    const first = rows.map((row) => this.#transient.probe(row));
    this.#transient.run(step_s, AHEAD_STEPS, rows, samples, this.#watchClamps || rings);
    const end = this.#transient.snapshot();
    this.#transient.restore(start);
    return { start, step_s, end, rings, volts: samples.map((row, i) => Float64Array.from([first[i], ...row])) };
  }

  /** Moves to the end of what was looked ahead, when that is not later than a time. */
  #commitAhead(time_s: number): void {
    const ahead = this.#ahead!;
    this.#ahead = null;
    const toggled = this.#toggles.length > 0 && this.#toggles[0].time_s < ahead.end.time_s;
    if (time_s >= ahead.end.time_s && !toggled) this.#transient.restore(ahead.end);
  }

  #dropAhead(): void {
    this.#ahead = null;
  }

  /** Lets a touch begin. @returns when the steel has left */
  playTouch(touch: PickupTouch, start_s: number): number {
    this.#dropAhead();
    return this.touches.play(touch, start_s);
  }
}

/** Between two points of a row by the cubic through the four around them: a ring of 9 kHz in quarter steps within 1e-5.
 * The first step, into which the switch's own jump falls, is taken straight and left out of the others.
 */
function curved(row: Float64Array, step: number, share: number): number {
  if (step === 0) return straight(row, step, share);
  const first = Math.min(Math.max(step - 1, 1), row.length - 4);
  const x = step + share - first;
  const [a, b, c, d] = row.subarray(first, first + 4);
  return (
    (a * (1 - x) * (2 - x) * (3 - x)) / 6 +
    (b * x * (2 - x) * (3 - x)) / 2 +
    (c * x * (x - 1) * (3 - x)) / 2 +
    (d * x * (x - 1) * (x - 2)) / 6
  );
}

function straight(row: Float64Array, step: number, share: number): number {
  return row[step] + share * (row[step + 1] - row[step]);
}

/** Steps that are computed at once for a board that samples by itself: of 1/120,000 s, or a quarter of it after a change. */
const AHEAD_STEPS = 24;

interface Lookahead {
  readonly start: Snapshot;
  readonly step_s: number;
  readonly end: Snapshot;
  readonly rings: boolean;
  /** Per channel, from the start on. */
  readonly volts: readonly Float64Array[];
}

/** What differs from tester to tester and is not part of the circuit. */
interface BoardErrors {
  /** Thermal emf at the contacts, per clip; 0 is no clip. */
  readonly thermal_V: readonly number[];
  readonly portOffset_V: number;
  readonly converterGain: number;
  readonly wandOffset_T: number;
  readonly wandGain: number;
  readonly temperature_C: number;
  readonly railPositive_V: number;
  readonly railNegative_V: number;
}

function boardErrors(pickup: Pickup, random: RandomStream): BoardErrors {
  return {
    // Half a kelvin between copper and brass or tinned ends: about 1 microvolt.
    thermal_V: [0, ...Array.from({ length: 6 }, () => 1e-6 * random.gaussian())],
    portOffset_V: 30e-6 * random.gaussian(),
    converterGain: 4e-5 * random.gaussian(),
    wandOffset_T: 1e-3 * random.gaussian(),
    wandGain: 1 + 0.03 * random.gaussian(),
    temperature_C: pickup.temperature_C + 0.2 * random.gaussian(),
    railPositive_V: RAILS.plus_V + 0.01 * random.gaussian(),
    railNegative_V: -RAILS.minus_V + 0.01 * random.gaussian(),
  };
}

/** Whether anything at the leads can reach the clamps while the bench listens. */
function canReachClamps(pickup: Pickup): boolean {
  const strong_V = 1.5;
  if (pickup.faults.some((fault) => fault.kind === 'live' && Math.abs(fault.volt_V) > strong_V)) {
    return true;
  }
  return pickup.touches.some(({ flux_Wb, rise_s, fall_s, bounces = 0 }) => {
    const shortest_s = Math.min(rise_s, fall_s, bounces > 0 ? 0.005 / bounces : 1);
    return (Math.PI * flux_Wb) / (2 * shortest_s) > strong_V;
  });
}
