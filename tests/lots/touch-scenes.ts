/** Whole captures of a touch as hands, mains and converters spread them (physics.md 4), drawn from a seed. */
import type { RandomStream } from '../../host/src/virtual-bench/random.ts';
import {
  drawHand, drawHum, fluxOf_d, soundOf, stepsOf, type ChannelSound, type FluxStep, type Hand, type StepShape,
} from './waveform.ts';

/** One capture and what is true of it. */
export type Scene = {
  readonly volts_V: readonly (readonly (number | null)[])[];
  readonly rate_Hz: number;
  readonly start_s: number;
  /** Sign of the arrival on channel 0; 0 when nothing was touched. */
  readonly sign: number;
  readonly hand: Hand;
  readonly noise_V: number;
};

export const logBetween = (chance: RandomStream, low: number, high: number): number =>
  low * (high / low) ** chance.unit();

export type NominalOptions = {
  readonly flux_Wb?: readonly [number, number];
  readonly rate_Hz?: number;
  readonly shape?: StepShape;
  /** Mains, hertz; left out: 50 or 60 within 1 %. */
  readonly mains_Hz?: readonly [number, number];
  readonly hum_V?: number;
  /** Seconds before the arrival that the capture begins; 0.1 when left out. */
  readonly before_s?: number;
  /** Share of touches before which the last one is still being lifted. */
  readonly lateShare?: number;
  /** Whether the hum may step when the hand comes and goes; true when left out. */
  readonly handHum?: boolean;
};

/** An ordinary touch, channel 0 on the coil, channel 1 on its neighbour with 8 % of the flux. */
export function nominalScene(chance: RandomStream, options: NominalOptions = {}): Scene {
  const sign = chance.unit() < 0.5 ? 1 : -1;
  const [low, high] = options.flux_Wb ?? [2e-4, 15e-3];
  const hand = { ...drawHand(chance, sign * logBetween(chance, low, high)), shape: options.shape ?? 'cosine' } as Hand;
  const noise_V = logBetween(chance, 5e-5, 1e-3);
  const rate_Hz = options.rate_Hz ?? 10_000;
  const before_s = options.before_s ?? 0.1;
  const [mainsLow, mainsHigh] = options.mains_Hz ?? (chance.unit() < 0.5 ? [49.5, 50.5] : [59.4, 60.6]);
  const hum = drawHum(chance, chance.between(mainsLow, mainsHigh), logBetween(chance, 1e-4, options.hum_V ?? 1e-2));
  const length_s = before_s + chance.between(0.15, 0.9);
  const steps: FluxStep[] = stepsOf(hand, chance, -hand.rise_s * chance.between(0, 0.3));
  if (chance.unit() < (options.lateShare ?? 0)) {
    steps.push({
      at_s: -0.095 + chance.between(0, 0.02), for_s: logBetween(chance, 0.002, 0.02),
      flux_Wb: -hand.flux_Wb * chance.between(0.5, 2),
    });
  }
  const hand2 = options.handHum !== false && chance.unit() < 0.5
    ? {
      at_s: -0.02 * chance.unit(), until_s: hand.hold_s + chance.between(0, 0.2), times: chance.between(0.3, 2),
      turn: chance.between(-1, 1),
    }
    : undefined;
  const sound: ChannelSound = {
    steps, gain: 1, noise_V: noise_V * Math.sqrt(rate_Hz / 1e4), hum, offset_V: chance.between(-2e-3, 2e-3),
    drift_V_s: chance.between(-1e-3, 1e-3), range_V: 1.4, ...(hand2 ? { hand: hand2 } : {}),
  };
  const count = Math.round(length_s * rate_Hz);
  const volts_V = [1, 0.08].map((gain) => soundOf({ ...sound, gain }, chance, count, rate_Hz, -before_s));
  return { volts_V, rate_Hz, start_s: -before_s, sign, hand, noise_V };
}

export type FaintOptions = {
  readonly hum_V?: number;
  readonly rate_Hz?: number;
  /** The steel arrives near the trigger, or anywhere in the capture; near when left out. */
  readonly arrives?: 'near' | 'anywhere';
};

/** A faint touch of known matched-filter d in white noise, with hum or none. */
export function faintScene(chance: RandomStream, d: number, options: FaintOptions = {}): Scene {
  const { hum_V = 0, rate_Hz = 10_000 } = options;
  const sign = chance.unit() < 0.5 ? 1 : -1;
  const noise_V = logBetween(chance, 5e-5, 1e-3) * Math.sqrt(rate_Hz / 1e4);
  const rise_s = logBetween(chance, 0.002, 0.02);
  const hand: Hand = {
    flux_Wb: sign * fluxOf_d(d, rise_s, rate_Hz, noise_V), rise_s, hold_s: logBetween(chance, 0.1, 1),
    fall_s: logBetween(chance, 0.002, 0.02), bounces: 0, shape: 'cosine', approach: 0, approach_s: 0.1,
  };
  const length_s = chance.between(0.3, 1.02);
  const at_s = options.arrives === 'anywhere' ? chance.between(-0.1, length_s - 0.1 - rise_s) : chance.between(-0.02, 0.01);
  const steps = stepsOf(hand, chance, at_s);
  const hum = hum_V > 0 ? drawHum(chance, chance.between(49.5, 50.5), hum_V) : undefined;
  const volts_V = [1, 0.08].map((gain) => soundOf({
    steps, gain, noise_V, offset_V: chance.between(-2e-3, 2e-3), drift_V_s: chance.between(-1e-3, 1e-3),
    ...(hum ? { hum } : {}),
  }, chance, Math.round(length_s * rate_Hz), rate_Hz, -0.1));
  return { volts_V, rate_Hz, start_s: -0.1, sign, hand, noise_V };
}

/** Nobody touched: hum, noise, drift only, the hum stepping as a hand comes near in half of them. */
export function emptyScene(chance: RandomStream): Scene {
  const scene = nominalScene(chance, { flux_Wb: [1e-12, 1e-12] });
  return { ...scene, sign: 0 };
}
