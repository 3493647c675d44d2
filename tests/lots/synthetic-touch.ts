/** The voltages of one touch at pairs of clips, by Faraday's law: noise, hum, drift, bounces and all. */
import type { RandomStream } from '../../host/src/virtual-bench/random.ts';
import type { BenchChannel, BenchTouch, ClipPair } from '../../host/src/files/bench-record.ts';
import type { Pickup, PickupTouch } from '../../host/src/pickup/pickup.ts';
import { positiveAtTo } from './generator.ts';
import type { LeadNetwork } from './lead-network.ts';

/** The converter of this instrument takes no more than this. */
const RANGE_V = 1.4;
/** Of an open coil's winding: what is left across the break, and the meter's input. */
const BREAK_F = 5e-11;
const INPUT_ohm = 1e7;
/** Less than this is a faint touch. */
const FAINT_Wb = 2e-4;
/** The coil that `hum_V` speaks of. */
const HUM_COIL_H = 2.3;

export interface Setting {
  readonly pickup: Pickup;
  readonly network: LeadNetwork;
  readonly touch: PickupTouch;
  readonly place: string;
  readonly heard: readonly ClipPair[];
  readonly rate_Hz: number;
  /** The record begins just before the steel arrives. */
  readonly late: boolean;
}

/** Records one touch. */
export function captureOf(setting: Setting, chance: RandomStream): BenchTouch {
  const { pickup, touch, rate_Hz, heard } = setting;
  const start_s = setting.late ? -Number(chance.between(0.002, 0.02).toFixed(4)) : -0.1;
  const length_s = Math.min(1.5, Math.max(0.2, chance.between(0.15, 0.7) - start_s));
  const count = Math.round(length_s * rate_Hz);
  const steel = new Steel(touch, chance, setting.late);
  const touched = pickup.coils.findIndex((coil) => coil.id === touch.coil);
  const hum = new Hum(pickup, chance);
  const channels: BenchChannel[] = heard.map((pair) => {
    const gains = setting.network.gains(pair.plus, pair.minus);
    let flux_Wb = 0;
    let hum_V = 0;
    pickup.coils.forEach((coil, i) => {
      const share = touched < 0 ? 0 : i === touched ? 1 : (touch.crosstalk ?? 0.08);
      flux_Wb += gains[i]! * share * touch.flux_Wb * (positiveAtTo(coil) ? 1 : -1);
      hum_V +=
        gains[i]! * (coil.winding === 'cw' ? 1 : -1) * Math.sqrt(coil.inductance_H / HUM_COIL_H);
    });
    const broken = brokenFlux(setting, pair, touched);
    const drift_V_s = chance.between(-1e-3, 1e-3);
    const offset_V = chance.between(-5e-4, 5e-4);
    const noise_V = pickup.interference.noise_V * Math.sqrt(rate_Hz / 1e4);
    const volts_V: (number | null)[] = [];
    let held_V = 0;
    for (let i = 0; i < count; i++) {
      const t = start_s + i / rate_Hz;
      const slope = (steel.level(t + 0.5 / rate_Hz) - steel.level(t - 0.5 / rate_Hz)) * rate_Hz;
      // A broken coil passes only how fast the voltage changes: first-order high-pass of break and input.
      const pass = Math.exp(-1 / (rate_Hz * BREAK_F * INPUT_ohm));
      const jump_V = broken * slope - held_V;
      held_V += (1 - pass) * jump_V;
      const volt_V =
        flux_Wb * slope +
        jump_V +
        hum_V * hum.at(t) +
        offset_V +
        drift_V_s * t +
        noise_V * chance.gaussian();
      volts_V.push(Math.abs(volt_V) > RANGE_V ? null : Number(volt_V.toFixed(6)));
    }
    return { ...pair, volts_V };
  });
  return { at: setting.place, rate_Hz, start_s, channels };
}

/** Flux of an open coil across whose two ends a channel lies; 0 for all others. */
function brokenFlux({ pickup, network, touch }: Setting, pair: ClipPair, touched: number): number {
  let flux_Wb = 0;
  pickup.coils.forEach((coil, i) => {
    if (!pickup.faults.some((fault) => fault.kind === 'open' && fault.coil === coil.id)) return;
    const near = (clip: number, node: string): boolean =>
      network.clips.get(clip) === network.nodes.get(node);
    const way =
      near(pair.plus, coil.to) && near(pair.minus, coil.from)
        ? 1
        : near(pair.plus, coil.from) && near(pair.minus, coil.to)
          ? -1
          : 0;
    const share = touched < 0 ? 0 : i === touched ? 1 : (touch.crosstalk ?? 0.08);
    flux_Wb += way * share * touch.flux_Wb * (positiveAtTo(coil) ? 1 : -1);
  });
  return flux_Wb;
}

/** Where the steel is: 0 far away, 1 on the pole. */
export class Steel {
  private readonly steps: { at_s: number; for_s: number; by: number }[] = [];

  constructor(touch: PickupTouch, chance: RandomStream, late: boolean) {
    // The trigger falls where the voltage first stands out, a little after the true start.
    const arrival_s = -touch.rise_s * chance.between(0, late ? 0.05 : 0.3);
    this.steps.push({ at_s: arrival_s, for_s: touch.rise_s, by: 1 });
    let from_s = arrival_s + touch.rise_s;
    const until_s = from_s + 0.03;
    for (let i = 0; i < (touch.bounces ?? 0); i++) {
      const for_s = chance.between(0.001, 0.003);
      if (from_s + 2 * for_s > until_s) break;
      const by = chance.between(0.2, 0.8);
      this.steps.push({ at_s: from_s, for_s, by: -by }, { at_s: from_s + for_s, for_s, by });
      from_s += 2 * for_s + chance.between(0, 0.004);
    }
    const lift_s = Math.max(from_s, arrival_s + touch.rise_s + touch.hold_s);
    this.steps.push({ at_s: lift_s, for_s: touch.fall_s, by: -1 });
    // Now and then the lift of the last touch still lies in the record; of touches that hardly stand
    // out of the noise nobody could say which of two was meant.
    if (!late && touch.flux_Wb >= FAINT_Wb && chance.unit() < 0.05) {
      this.steps.push({ at_s: -0.095 + chance.between(0, 0.02), for_s: 0.007, by: -0.9 });
    }
  }

  level(t: number): number {
    let sum = 0;
    for (const { at_s, for_s, by } of this.steps) {
      const x = (t - at_s) / for_s;
      sum += x <= 0 ? 0 : x >= 1 ? by : (by * (1 - Math.cos(Math.PI * x))) / 2;
    }
    return sum;
  }
}

/** Mains: a fundamental that is a little off its nominal frequency, with odd harmonics. */
class Hum {
  private readonly parts: { amplitude_V: number; angular: number; phase: number }[];

  constructor(pickup: Pickup, chance: RandomStream) {
    const { hum_Hz, hum_V } = pickup.interference;
    const true_Hz = hum_Hz * (1 + chance.between(-1e-3, 1e-3));
    this.parts = [1, 3, 5].map((order) => ({
      amplitude_V: order === 1 ? hum_V : hum_V * chance.between(0, 0.4 / order),
      angular: 2 * Math.PI * order * true_Hz,
      phase: chance.between(0, 2 * Math.PI),
    }));
  }

  at(t: number): number {
    return this.parts.reduce(
      (sum, { amplitude_V, angular, phase }) => sum + amplitude_V * Math.cos(angular * t + phase),
      0,
    );
  }
}
