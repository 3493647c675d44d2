/** The voltages that steel at the poles induces, and the hum of the room. */
import { Guitar } from './guitar.ts';
import type { Pickup, PickupTouch } from '../pickup/pickup.ts';
import { touchSign } from './pickup-circuit.ts';
import type { RandomStream } from './random.ts';
import type { Tone } from './run-view.ts';
import type { MovingSources } from './transient.ts';

const CROSSTALK = 0.08;
/** Bounces happen within this time of arrival (the file format's 30 ms). */
const BOUNCE_WINDOW_s = 0.03;

/** Steel moves no faster: a file's shorter rise or fall takes this long. */
const EDGE_s_LEAST = 1e-4;

/** A smooth change of flux: a raised cosine. */
export interface FluxEdge {
  readonly start_s: number;
  readonly duration_s: number;
  /** Share of the touch's flux that is gained (or lost, below 0). */
  readonly share: number;
}

/** A touch on its way: the same course for every coil, each with its own flux. */
interface PlayedTouch {
  readonly edges: readonly FluxEdge[];
  readonly end_s: number;
  /** Change of V(to) - V(from)'s integral per coil, Wb, signed. */
  readonly flux_Wb: Float64Array;
}

/** Edges of one touch, its bounces drawn from a stream; they add up to nothing.
 * @param start_s - when the steel begins to arrive
 */
export function fluxEdges(touch: PickupTouch, start_s: number, random: RandomStream): FluxEdge[] {
  const rise_s = Math.max(touch.rise_s, EDGE_s_LEAST);
  const fall_s = Math.max(touch.fall_s, EDGE_s_LEAST);
  const edges: FluxEdge[] = [{ start_s, duration_s: rise_s, share: 1 }];
  const arrived_s = start_s + rise_s;
  const bounces = touch.bounces ?? 0;
  const room_s = Math.min(BOUNCE_WINDOW_s, touch.hold_s) / Math.max(bounces, 1);
  for (let i = 0; i < bounces; i++) {
    const depth = random.between(0.2, 0.8);
    const length_s = Math.max(room_s * random.between(0.4, 0.95), 2 * EDGE_s_LEAST);
    const at_s = arrived_s + room_s * i + Math.max(0, room_s - length_s) * random.unit();
    edges.push({ start_s: at_s, duration_s: length_s / 2, share: -depth });
    edges.push({ start_s: at_s + length_s / 2, duration_s: length_s / 2, share: depth });
  }
  edges.push({ start_s: arrived_s + touch.hold_s, duration_s: fall_s, share: -1 });
  return edges;
}

/** The touches that were played so far, as the circuit's moving sources. */
export class TouchSources implements MovingSources {
  readonly inputs: readonly number[];
  readonly #pickup: Pickup;
  readonly #random: RandomStream;
  #played: PlayedTouch[] = [];

  /** @param inputs - per coil of the pickup, the circuit's input of its voltage */
  constructor(pickup: Pickup, inputs: readonly number[], random: RandomStream) {
    this.#pickup = pickup;
    this.inputs = inputs;
    this.#random = random;
  }

  /** Plays a touch that begins at a time.
   * @returns when the steel has left again
   */
  play(touch: PickupTouch, start_s: number): number {
    const edges = fluxEdges(touch, start_s, this.#random);
    const end_s = Math.max(...edges.map(({ start_s: from_s, duration_s }) => from_s + duration_s));
    if (touch.coil === null || touch.flux_Wb === 0) return end_s;
    const [pickup, touched] = [this.#pickup, touch.coil];
    const flux_Wb = Float64Array.from(pickup.coils, (coil) => {
      const isFar = pickup instanceof Guitar && !pickup.isNear(coil.id, touched);
      const share = coil.id === touched ? 1 : isFar ? 0 : (touch.crosstalk ?? CROSSTALK);
      return touchSign(coil) * touch.flux_Wb * share;
    });
    this.#played = this.#played.filter((earlier) => earlier.end_s > start_s - 1);
    this.#played.push({ edges, end_s, flux_Wb });
    return end_s;
  }

  fill(time_s: number, out: Float64Array): void {
    out.fill(0);
    for (const { edges, end_s, flux_Wb } of this.#played) {
      if (time_s <= edges[0].start_s || time_s >= end_s) continue;
      let rate_per_s = 0;
      for (const { start_s, duration_s, share } of edges) {
        const passed = (time_s - start_s) / duration_s;
        if (passed <= 0 || passed >= 1) continue;
        rate_per_s += ((share * Math.PI) / (2 * duration_s)) * Math.sin(Math.PI * passed);
      }
      for (let i = 0; i < flux_Wb.length; i++) out[i] += flux_Wb[i] * rate_per_s;
    }
  }

  nextActive(time_s: number): number {
    let next_s = Number.POSITIVE_INFINITY;
    for (const { edges, end_s } of this.#played) {
      if (time_s >= end_s) continue;
      for (const { start_s, duration_s } of edges) {
        if (time_s < start_s + duration_s) next_s = Math.min(next_s, Math.max(time_s, start_s));
      }
    }
    return next_s;
  }
}

/** The mains field as tones: the fundamental of the file, harmonics and phases of chance.
 * The odd ones are the stronger, as saturated transformers and rectifiers make them
 * (common practice, no published source).
 */
export function humTones(pickup: Pickup, random: RandomStream): Tone[] {
  const { hum_Hz, hum_V } = pickup.interference;
  const shares: readonly [number, number][] = [
    [1, 1],
    [2, random.between(0, 0.06)],
    [3, random.between(0.05, 0.35)],
    [5, random.between(0.02, 0.2)],
  ];
  const phases = shares.map(() => random.between(0, 2 * Math.PI));
  if (hum_V === 0 || hum_Hz === 0) return [];
  return shares.map(([order, share], i) => ({
    angular_rad_s: 2 * Math.PI * hum_Hz * order,
    amplitude: hum_V * share,
    phase_rad: phases[i],
  }));
}
