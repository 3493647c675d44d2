/**
 * Waveforms of touches, straight from physics.md's text-book forms: emf pulses of a flux step, hum, white noise,
 * drift, over range. Written against the formulas, not against the module that has to read them.
 */
import type { RandomStream } from '../../host/src/virtual-bench/random.ts';

/** Shapes of a flux step; `cosine` is the raised cosine, the others are what a hand may do instead. */
export type StepShape = 'cosine' | 'gaussian' | 'triangle' | 'tail' | 'skewed';

/** One change of the flux. */
export type FluxStep = {
  readonly at_s: number;
  readonly for_s: number;
  readonly flux_Wb: number;
  readonly shape?: StepShape;
};

/** Emf of a unit flux step of length 1 that starts at 0; integral 1. */
export function unitEmf(shape: StepShape, x: number): number {
  switch (shape) {
    case 'cosine': return x <= 0 || x >= 1 ? 0 : (Math.PI / 2) * Math.sin(Math.PI * x);
    case 'triangle': return x <= 0 || x >= 1 ? 0 : x < 0.5 ? 4 * x : 4 * (1 - x);
    case 'gaussian': return Math.exp(-0.5 * ((x - 0.5) / 0.2) ** 2) / (0.2 * Math.sqrt(2 * Math.PI));
    // Rises within a tenth and falls exponentially.
    case 'tail': return x <= 0 ? 0 : x < 0.1 ? (x / 0.1) * tailPeak : tailPeak * Math.exp(-(x - 0.1) / 0.25);
    // Steel that is drawn in: slow at first, fast at the end.
    case 'skewed': return x <= 0 || x >= 1 ? 0 : 20 * x ** 3 * (1 - x);
  }
}
const tailPeak = 1 / (0.05 + 0.25);

export type Hum = { readonly hum_Hz: number; readonly amplitudes_V: readonly number[]; readonly phases: readonly number[] };
/** Hum of n harmonics with falling amplitudes. */
export function drawHum(chance: RandomStream, hum_Hz: number, hum_V: number): Hum {
  const amplitudes_V = [hum_V];
  const phases = [chance.between(0, 2 * Math.PI)];
  for (let k = 2; k <= 5; k++) {
    amplitudes_V.push((hum_V * chance.between(0, k % 2 === 0 ? 0.15 : 0.6)) / k);
    phases.push(chance.between(0, 2 * Math.PI));
  }
  return { hum_Hz, amplitudes_V, phases };
}
function humAt(hum: Hum, t: number): number {
  let sum = 0;
  for (let k = 0; k < hum.amplitudes_V.length; k++) {
    sum += hum.amplitudes_V[k]! * Math.cos(2 * Math.PI * (k + 1) * hum.hum_Hz * t + hum.phases[k]!);
  }
  return sum;
}

/** Everything that one channel hears. */
export type ChannelSound = {
  readonly steps: readonly FluxStep[];
  /** Share of the steps' flux that this channel sees, with sign. */
  readonly gain: number;
  /** RMS of the noise of each sample, volts. */
  readonly noise_V: number;
  readonly hum?: Hum;
  /** From `at_s` to `until_s` the hum is this times as large and turned by `turn` radians. */
  readonly hand?: { readonly at_s: number; readonly until_s: number; readonly times: number; readonly turn: number };
  readonly offset_V?: number;
  readonly drift_V_s?: number;
  /** The converter's range; beyond it samples are null. */
  readonly range_V?: number;
  /** An open coil: only this time constant's derivative of the emf passes (first-order high-pass), seconds. */
  readonly open_s?: number;
};

/** Samples of one channel, volts; null where over range. */
export function soundOf(sound: ChannelSound, chance: RandomStream, count: number, rate_Hz: number, start_s: number): (number | null)[] {
  const volts: (number | null)[] = [];
  let held_V = 0;
  const handHum = sound.hum && sound.hand ? {
    hum_Hz: sound.hum.hum_Hz,
    amplitudes_V: sound.hum.amplitudes_V.map((a) => a * sound.hand!.times),
    phases: sound.hum.phases.map((p) => p + sound.hand!.turn),
  } : undefined;
  for (let i = 0; i < count; i++) {
    const t = start_s + i / rate_Hz;
    let emf_V = 0;
    for (const step of sound.steps) {
      emf_V += (step.flux_Wb / step.for_s) * unitEmf(step.shape ?? 'cosine', (t - step.at_s) / step.for_s);
    }
    let volt_V = sound.gain * emf_V;
    if (sound.open_s !== undefined) {
      const passed_V = volt_V - held_V;
      held_V += passed_V * (1 - Math.exp(-1 / (rate_Hz * sound.open_s)));
      volt_V = passed_V;
    }
    if (sound.hum) {
      const held = handHum && sound.hand && t >= sound.hand.at_s && t < sound.hand.until_s;
      volt_V += humAt(held ? handHum : sound.hum, t);
    }
    volt_V += (sound.offset_V ?? 0) + (sound.drift_V_s ?? 0) * t + sound.noise_V * chance.gaussian();
    volts.push(sound.range_V !== undefined && Math.abs(volt_V) > sound.range_V ? null : volt_V);
  }
  return volts;
}

/** How a hand touched: everything as physics.md 4 spreads it. */
export type Hand = {
  readonly flux_Wb: number;
  readonly rise_s: number;
  readonly hold_s: number;
  readonly fall_s: number;
  readonly bounces: number;
  readonly shape: StepShape;
  /** Share of the flux that a slow approach brings, and how long it takes; 0 for none. */
  readonly approach: number;
  readonly approach_s: number;
};

/** Draws a hand's touch of a flux. */
export function drawHand(chance: RandomStream, flux_Wb: number): Hand {
  const logBetween = (low: number, high: number): number => low * (high / low) ** chance.unit();
  return {
    flux_Wb, rise_s: logBetween(0.002, 0.02), hold_s: logBetween(0.1, 1), fall_s: logBetween(0.002, 0.02),
    bounces: chance.unit() < 0.5 ? 0 : 1 + chance.below(3), shape: 'cosine',
    approach: chance.unit() < 0.25 ? chance.between(0.1, 0.4) : 0, approach_s: chance.between(0.03, 0.15),
  };
}

/** The flux steps of a hand's touch whose fast part begins at `at_s`. */
export function stepsOf(hand: Hand, chance: RandomStream, at_s: number): FluxStep[] {
  const { flux_Wb, shape } = hand;
  const steps: FluxStep[] = [];
  if (hand.approach > 0) {
    steps.push({ at_s: at_s - hand.approach_s, for_s: hand.approach_s, flux_Wb: flux_Wb * hand.approach, shape: 'cosine' });
  }
  steps.push({ at_s, for_s: hand.rise_s, flux_Wb: flux_Wb * (1 - hand.approach), shape });
  let from_s = at_s + hand.rise_s;
  for (let i = 0; i < hand.bounces; i++) {
    const share = chance.between(0.2, 0.8);
    const away_s = chance.between(0.0015, 0.004);
    if (from_s + 2 * away_s > at_s + hand.rise_s + 0.03) break;
    steps.push(
      { at_s: from_s, for_s: away_s, flux_Wb: -flux_Wb * share },
      { at_s: from_s + away_s, for_s: away_s, flux_Wb: flux_Wb * share },
    );
    from_s += 2 * away_s + chance.between(0, 0.004);
  }
  const lift_s = Math.max(at_s + hand.rise_s + hand.hold_s, from_s);
  steps.push({ at_s: lift_s, for_s: hand.fall_s, flux_Wb: -flux_Wb, shape });
  return steps;
}

/** Matched-filter signal-to-noise ratio of a raised-cosine arrival (physics.md 4). */
export function matched_d(flux_Wb: number, rise_s: number, rate_Hz: number, noise_V: number): number {
  return ((Math.PI * flux_Wb) / (2 * rise_s)) * Math.sqrt((rate_Hz * rise_s) / 2) / noise_V;
}
/** Flux of a raised-cosine arrival of this d. */
export function fluxOf_d(d: number, rise_s: number, rate_Hz: number, noise_V: number): number {
  return (d * noise_V * 2 * rise_s) / (Math.PI * Math.sqrt((rate_Hz * rise_s) / 2));
}
