/** Which networks are still possible after some readings of resistance, and what each further reading would be. */
import { typedUncertainty_ohm } from '../evidence/hand-meter.ts';
import { ohmsInformation_bits, type Expected } from './information.ts';
import { APART, JOINED, pairIndex, type Network } from './networks.ts';

/** A reading between the leads i < j, counted from 0; null is over range. */
export interface OhmsSeen {
  readonly i: number;
  readonly j: number;
  readonly ohm: number | null;
}

/** Windings of one pickup: their common size and how far each is from it; both normal, ohms (common practice, no published source). */
export const WINDING = { mean_ohm: 6000, sdCommon_ohm: 3500, sdOwn_ohm: 3000 } as const;
/** No section of a winding is smaller. */
const WINDING_least_ohm = 400;
/** A joint, with the meter's own leads (common practice, no published source). */
const JOINT = { mean_ohm: 0.2, sd_ohm: 0.2 } as const;
/** How often a connected pair reads over range (a clip that is off), one that is apart does not, and a number is typed wrong. */
const SLIP = { off: 0.02, touching: 0.005, mistyped: 0.01 } as const;
/** From here up a reading is a leak, which the windings do not care about (file formats: `leak`). */
export const LEAK_ohm = 5e5;
/** A number that nothing explains: spread over all decades alike, from a joint to a leak. */
const DECADES = Math.log(LEAK_ohm);
/** Something that no network of the list is, and what it reads. */
const OTHER = { weight: 0.01, open: 0.4, mean_ohm: 6000, sd_ohm: 6000 } as const;
/** Uncertainty of a reading that is to come, with three digits: about that of `typedUncertainty_ohm`. */
export const TO_COME = { share: 0.006, ohm: 0.3 } as const;
/** Networks less likely than this explain no reading; less likely than the second they are let go. */
const LIKELY = 5e-4;
const FORGOTTEN = 1e-7;

/** A network with what is known of its windings' ohms, a normal distribution. */
interface State {
  /** Null for none of the list. */
  readonly network: Network | null;
  readonly weight: number;
  /** Probability that none of its windings is smaller than there are any, which the weight holds as a factor. */
  readonly plausible: number;
  readonly mean: Float64Array;
  /** Row by row. */
  readonly covariance: Float64Array;
}

/** What one reading is expected to be. */
export interface Prediction {
  /** Null is over range. */
  readonly ohm: number | null;
  /** Standard deviation, its own uncertainty included; 0 for over range. */
  readonly sd_ohm: number;
  readonly probability: number;
}

export class OhmsBelief {
  /** Whether some reading fitted no likely network: then nothing sure can be said of the next one. */
  readonly isAstray: boolean;
  readonly #states: readonly State[];

  private constructor(states: readonly State[], isAstray: boolean) {
    this.#states = states;
    this.isAstray = isAstray;
  }

  /** Before anything was read. */
  static before(networks: readonly Network[]): OhmsBelief {
    const none = { mean: new Float64Array(0), covariance: new Float64Array(0), plausible: 1 };
    return new OhmsBelief([
      ...networks.map((network) => ({ network, weight: (1 - OTHER.weight) * network.weight, ...unread(network.windings.length) })),
      { network: null, weight: OTHER.weight, ...none },
    ], false);
  }

  /** After one more reading. */
  after(seen: OhmsSeen): OhmsBelief {
    const next = this.#states.map((state) => updated(state, seen));
    const total = next.reduce((sum, { weight }) => sum + weight, 0);
    const kept = next.map((state) => ({ ...state, weight: state.weight / total })).filter(({ weight }) => weight > FORGOTTEN);
    return new OhmsBelief(kept, this.isAstray || !this.fits(seen, true));
  }

  /** Probability that the leads are one network's, whichever: what the list does not hold counts as none. */
  conducts(i: number, j: number): number {
    return this.#states.reduce((sum, { network, weight }) =>
      sum + (network === null || network.paths[pairIndex(i, j)] === APART ? 0 : weight), 0);
  }

  /** What a reading is expected to tell of the network, bits, and the outcomes that it may have, most probable first; those that
   * lie near each other are one. */
  outlook(i: number, j: number): { readonly information_bits: number; readonly predictions: readonly Prediction[] } {
    const cases = this.#expected(i, j);
    const open = cases.reduce((sum, { weight, open: share }) => sum + weight * share, 0);
    const groups: { ohm: number; sd_ohm: number; probability: number }[] = [];
    for (const { weight, open: share, mean_ohm, sd_ohm } of [...cases].sort((a, b) => b.weight - a.weight)) {
      const probability = weight * (1 - share);
      const near = groups.find((group) => Math.abs(group.ohm - mean_ohm) < 2 * Math.min(group.sd_ohm, sd_ohm));
      if (near === undefined) groups.push({ ohm: mean_ohm, sd_ohm, probability });
      else near.probability += probability;
    }
    const predictions = [{ ohm: null, sd_ohm: 0, probability: open }, ...groups].sort((a, b) => b.probability - a.probability);
    return { information_bits: ohmsInformation_bits(cases), predictions };
  }

  /** Whether one of the networks that are still likely explains a reading, to four standard deviations.
   * @param hidden - whether those count too whose windings meet where no lead is: they explain nearly anything
   */
  fits({ i, j, ohm }: OhmsSeen, hidden: boolean): boolean {
    const isOpen = ohm === null || ohm >= LEAK_ohm;
    return this.#states.some((state) => {
      if (state.weight < LIKELY || state.network === null || (state.network.isHidden && !hidden)) return false;
      const { open, mean_ohm, sd_ohm } = expectedOf(state, i, j);
      if (isOpen || open > 0.5) return isOpen && open > 0.5;
      return Math.abs(ohm - mean_ohm) < 4 * Math.hypot(sd_ohm, typedUncertainty_ohm(ohm));
    });
  }

  /** Cases that expect the same are one. */
  #expected(i: number, j: number): Expected[] {
    const merged = new Map<number, { weight: number; open: number; mean_ohm: number; sd_ohm: number }>();
    for (const state of this.#states) {
      const expected = expectedOf(state, i, j);
      // By half a percent of the mean and a tenth of the deviation.
      const key = expected.open > 0.5 ? -1 : state.network === null ? -2
        : 1000 * Math.round(200 * Math.log(Math.max(0, expected.mean_ohm) + 1)) + Math.round(10 * Math.log(expected.sd_ohm));
      const same = merged.get(key);
      if (same === undefined) merged.set(key, { ...expected });
      else same.weight += expected.weight;
    }
    return [...merged.values()];
  }
}

/** What is known of windings before they were read: all alike, more or less. */
function unread(count: number): Pick<State, 'mean' | 'covariance' | 'plausible'> {
  const covariance = new Float64Array(count * count).fill(WINDING.sdCommon_ohm ** 2);
  for (let n = 0; n < count; n++) covariance[n * count + n]! += WINDING.sdOwn_ohm ** 2;
  const mean = new Float64Array(count).fill(WINDING.mean_ohm);
  return { mean, covariance, plausible: plausibility(mean, covariance) };
}

/** Probability that no winding is smaller than the least, each taken by itself. */
function plausibility(mean: Float64Array, covariance: Float64Array): number {
  const count = mean.length;
  let product = 1;
  for (let n = 0; n < count; n++) {
    const beyond = (mean[n]! - WINDING_least_ohm) / Math.sqrt(Math.max(1, covariance[n * count + n]!));
    // The logistic curve that lies within 0.01 of the normal distribution's (from memory).
    product *= 1 / (1 + Math.exp(-1.702 * beyond));
  }
  return product;
}

function expectedOf({ network, weight, mean, covariance }: State, i: number, j: number): Expected {
  if (network === null) return { weight, open: OTHER.open, mean_ohm: OTHER.mean_ohm, sd_ohm: OTHER.sd_ohm };
  const path = network.paths[pairIndex(i, j)]!;
  if (path === APART) return { weight, open: 1 - SLIP.touching, mean_ohm: OTHER.mean_ohm, sd_ohm: OTHER.sd_ohm };
  const { sum, variance } = along(path, mean, covariance);
  return { weight, open: SLIP.off, mean_ohm: sum, sd_ohm: Math.sqrt(variance + (TO_COME.share * sum + TO_COME.ohm) ** 2) };
}

/** The resistance along some windings. */
function along(path: number, mean: Float64Array, covariance: Float64Array): { sum: number; variance: number } {
  if (path === JOINED) return { sum: JOINT.mean_ohm, variance: JOINT.sd_ohm ** 2 };
  const count = mean.length;
  let [sum, variance] = [0, 0];
  for (let a = 0; a < count; a++) {
    if ((path & (1 << a)) === 0) continue;
    sum += mean[a]!;
    for (let b = 0; b < count; b++) if ((path & (1 << b)) !== 0) variance += covariance[a * count + b]!;
  }
  return { sum, variance };
}

/** Bayes's rule for one network, and what its windings then are: the linear update of a normal distribution (Kalman 1960). */
function updated(state: State, { i, j, ohm }: OhmsSeen): State {
  const { network, weight, mean, covariance } = state;
  const isOpen = ohm === null || ohm >= LEAK_ohm;
  // Density of any number, for each ohm.
  const anything = isOpen ? 0 : 1 / (Math.max(1, ohm) * DECADES);
  if (network === null) return { ...state, weight: weight * (isOpen ? OTHER.open : (1 - OTHER.open) * anything) };
  const path = network.paths[pairIndex(i, j)]!;
  if (path === APART) return { ...state, weight: weight * (isOpen ? 1 : SLIP.touching * anything) };
  if (isOpen) return { ...state, weight: weight * SLIP.off };
  const { sum, variance } = along(path, mean, covariance);
  const total = variance + typedUncertainty_ohm(ohm) ** 2;
  const miss = ohm - sum;
  const density = Math.exp(-(miss ** 2) / (2 * total)) / Math.sqrt(2 * Math.PI * total);
  const likelihood = (1 - SLIP.mistyped) * density + SLIP.mistyped * anything;
  if (path === JOINED || density < anything * SLIP.mistyped) return { ...state, weight: weight * likelihood };
  const count = mean.length;
  const gain = Array.from({ length: count }, (_, a) => {
    let shared = 0;
    for (let b = 0; b < count; b++) if ((path & (1 << b)) !== 0) shared += covariance[a * count + b]!;
    return shared;
  });
  const next = {
    mean: mean.map((value, a) => value + (gain[a]! * miss) / total),
    covariance: covariance.map((value, at) => value - (gain[Math.floor(at / count)]! * gain[at % count]!) / total),
  };
  const plausible = plausibility(next.mean, next.covariance);
  return { network, weight: (weight * likelihood * plausible) / Math.max(Number.MIN_VALUE, state.plausible), plausible, ...next };
}
