/** Which coil sits at which place and which way it swings, as far as the swings that were seen tell; and the poles of the places. */
import { entropy_bits, information_bits } from './information.ts';

/** Which way the needle first moved: plus lead against minus lead. */
export type Swing = 'positive' | 'negative' | 'none';
export const SWINGS: readonly Swing[] = ['positive', 'negative', 'none'];

/** A coil between two leads, as the map lists it. */
export interface Stretch {
  readonly ends: readonly [number, number];
}

/** A swing that was seen across the whole of a coil. */
export interface SwingSeen {
  readonly at: string;
  readonly plus: number;
  readonly minus: number;
  readonly swing: Swing;
  /** A magnitude; missing when it was not noted. */
  readonly peak_V?: number;
}

/** How a person reads a needle: right, the other way round, nothing where something was, something where nothing was. */
const READ = { right: 0.97, turned: 0.01, missed: 0.02, imagined: 0.03 } as const;
/** The same of a neighbour's share that was noted as a swing: a repeat is passed over once the touched coil was seen, one time in five (judgement). */
const SHARE = { right: 0.79, turned: 0.01, missed: 0.2 } as const;
/** How likely steel at a place drives nothing (a broken coil), two neighbours (a tapped coil), and a coil that another place drives too. */
const USUAL = { nothing: 0.05, tapped: 0.15, again: 0.05 } as const;
/** Poles of neighbouring coils of one pickup differ (common practice, no published source). */
const POLES_DIFFER = 0.92;

/**
 * Sizes, ln of volts on a meter. The touched coil shows 30 mV in the middle (1.5 mWb over the twentieth of a second that counts of
 * what a meter averages), by `hand` more or less from person to person and by `touch` from place to place; its neighbours 8 % of
 * it, by `shareSpread` more or less; and repeats are apart by `repeat` (physics.md 4; the spreads are those by which the solver
 * judges). Somebody who does not know yet which coil sits where notes a share from about 5 mV up, a fiftieth of the scale of a needle
 * for a quarter volt; by the other figures that is one share in four. Whatever it is at the first look it is at the next, with its
 * direction.
 */
const SIZE = { middle_V: 0.03, hand: 0.85, touch: 0.7, share: 0.08, shareSpread: 0.6, repeat: 0.3, noted_V: 0.005 } as const;
/** Levels of a hand and of a touch that are tried, in ln of volts: steps of `repeat` over all that a hand does. */
const LEVELS: readonly number[] = Array.from({ length: 23 }, (_, n) => Math.log(SIZE.middle_V) + (n - 11) * SIZE.repeat);

/** What one place may do: the way that a coil's second end goes, by coil. */
type Driven = ReadonlyMap<number, 1 | -1>;
/** Which way a coil's second end goes as steel comes to a place; 0 where it does not touch that coil. */
type Sense = 1 | -1 | 0;

/** One look at a coil: where its second end went, and ln of the size where one was noted. */
interface Look {
  readonly went: Sense;
  readonly size: number | null;
}

/** One way in which all places may hear: for each place its choice among the options, and how likely that is before anything was seen. */
interface Story {
  readonly choice: readonly number[];
  readonly prior: number;
}

export class HearingBelief {
  readonly #coils: readonly Stretch[];
  readonly #places: readonly string[];
  readonly #options: readonly { readonly driven: Driven; readonly weight: number }[];
  /** [place][coil]: looks so far. */
  readonly #looks: readonly (readonly (readonly Look[])[])[];
  /** [place][option][hand]: weight of all else than what was seen at this place. */
  readonly #rest: readonly (readonly (readonly number[])[])[];

  /** @param coils - as the map lists them @param places - where steel can touch @param seen - swings so far */
  constructor(coils: readonly Stretch[], places: readonly string[], seen: readonly SwingSeen[]) {
    this.#coils = coils;
    this.#places = places;
    this.#options = optionsOf(coils);
    this.#looks = places.map((place) => coils.map((_, coil) =>
      seen.filter((one) => one.at === place && this.#coilOf(one) === coil).map((one) => this.#look(one))));
    const heard = places.map((_, place) => this.#options.map(({ driven }) => this.#byHand(place, driven, this.#looks[place]!)));
    this.#rest = restOf(heard, this.#options);
  }

  /** What a swing is expected to tell, bits. */
  information_bits(at: string, plus: number, minus: number): number {
    return information_bits(this.#table(at, plus, minus));
  }

  /** How likely each swing is. */
  predictions(at: string, plus: number, minus: number): { readonly swing: Swing; readonly probability: number }[] {
    const table = this.#table(at, plus, minus);
    const sums = SWINGS.map((_, outcome) => table.reduce((sum, row) => sum + row[outcome]!, 0));
    const total = sums.reduce((sum, one) => sum + one, 0);
    return SWINGS.map((swing, outcome) => ({ swing, probability: sums[outcome]! / total }));
  }

  /** [option][swing]: how likely both are, not of sum 1. */
  #table(at: string, plus: number, minus: number): number[][] {
    const place = this.#places.indexOf(at);
    return this.#options.map(({ driven }, option) => SWINGS.map((swing) => {
      const one = { at, plus, minus, swing };
      const coil = this.#coilOf(one);
      const looks = this.#looks[place]!.map((known, other) => (other === coil ? [...known, this.#look(one)] : known));
      const byHand = this.#byHand(place, driven, looks);
      return byHand.reduce((sum, chance, hand) => sum + chance * this.#rest[place]![option]![hand]!, 0);
    }));
  }

  /** Probability of looks at a place that drives this, for each level of the hand. */
  #byHand(place: number, driven: Driven, looks: readonly (readonly Look[])[]): number[] {
    const byTouch = LEVELS.map((level) =>
      looks.reduce((product, known, coil) => product * chanceOf(known, driven.get(coil) ?? 0, level), 1));
    return TOUCH_BY_HAND.map((row) => row.reduce((sum, share, touch) => sum + share * byTouch[touch]!, 0));
  }

  #coilOf({ plus, minus }: SwingSeen): number {
    return this.#coils.findIndex(({ ends }) => ends.includes(plus) && ends.includes(minus));
  }

  #look(one: SwingSeen): Look {
    const lifts = one.swing === 'none' ? 0 : one.swing === 'positive' ? 1 : -1;
    const isSecondPlus = one.plus === this.#coils[this.#coilOf(one)]?.ends[1];
    return { went: (isSecondPlus ? lifts : -lifts) as Sense, size: one.peak_V === undefined ? null : Math.log(one.peak_V) };
  }
}

const normal = (miss: number, spread: number): number => Math.exp(-0.5 * (miss / spread) ** 2) / spread;
/** Shares of sum 1, as a normal distribution lies over the levels. */
const overLevels = (middle: number, spread: number): number[] => {
  const densities = LEVELS.map((level) => normal(level - middle, spread));
  const sum = densities.reduce((total, density) => total + density, 0);
  return densities.map((density) => density / sum);
};
const HAND = overLevels(Math.log(SIZE.middle_V), SIZE.hand);
/** [hand][touch]: how likely a touch of that level is by that hand. */
const TOUCH_BY_HAND = LEVELS.map((hand) => overLevels(hand, SIZE.touch));

/** Probability of all looks at one coil. @param level - ln of what the touched coil shows, volts */
function chanceOf(looks: readonly Look[], sense: Sense, level: number): number {
  if (looks.length === 0) return 1;
  const sizes = looks.flatMap(({ size }) => size ?? []);
  // Of sizes that have one deviation in common only their mean tells which it is.
  const mean = sizes.reduce((sum, size) => sum + size, 0) / Math.max(1, sizes.length);
  const repeat = SIZE.repeat / Math.sqrt(Math.max(1, sizes.length));
  const all = (of: typeof READ | typeof SHARE, way: 1 | -1): number =>
    looks.reduce((product, { went }) => product * (went === 0 ? of.missed : went === way ? of.right : of.turned), 1);
  if (sense !== 0) return all(READ, sense) * (sizes.length === 0 ? 1 : normal(mean - level, repeat));
  const still = looks.reduce((product, { went }) => product * (went === 0 ? 1 - READ.imagined : READ.imagined / 2), 1);
  const moved = (all(SHARE, 1) + all(SHARE, -1)) / 2;
  const share = level + Math.log(SIZE.share);
  const spread = Math.hypot(SIZE.shareSpread, repeat);
  const least = Math.log(SIZE.noted_V);
  if (sizes.length > 0) {
    const noted = likelyAbove(mean - least, repeat);
    return ((1 - noted) * still + noted * moved) * normal(mean - share, spread);
  }
  const noted = likelyAbove(share - least, spread);
  return (1 - noted) * still + noted * moved;
}

/** The logistic curve that lies within 0.01 of the normal distribution's (from memory). */
function likelyAbove(beyond: number, spread: number): number {
  return 1 / (1 + Math.exp((-1.702 * beyond) / spread));
}

/** Nothing, each coil either way, and each two coils that meet at a lead as one tapped winding either way. */
function optionsOf(coils: readonly Stretch[]): { driven: Driven; weight: number }[] {
  const options: { driven: Driven; weight: number }[] = [{ driven: new Map(), weight: USUAL.nothing }];
  const add = (weight: number, ...senses: readonly (readonly [number, 1 | -1])[]): void => {
    options.push({ driven: new Map(senses), weight: weight / 2 });
    options.push({ driven: new Map(senses.map(([coil, sense]) => [coil, sense === 1 ? -1 : 1])), weight: weight / 2 });
  };
  coils.forEach(({ ends }, coil) => {
    add(1, [coil, 1]);
    coils.slice(coil + 1).forEach((other, more) => {
      const shared = ends.find((end) => other.ends.includes(end));
      if (shared === undefined) return;
      // Along one winding: into the lead in the middle, and out of it.
      add(USUAL.tapped, [coil, shared === ends[1] ? 1 : -1], [coil + 1 + more, shared === other.ends[0] ? 1 : -1]);
    });
  });
  return options;
}

/** For each place, option and level of the hand how likely all else is: what other places heard, and that they drive what is left to them.
 * @param heard - [place][option][hand]: probability of what was seen there
 */
function restOf(
  heard: readonly (readonly (readonly number[])[])[], options: readonly { readonly driven: Driven; readonly weight: number }[],
): number[][][] {
  const rest = heard.map(() => options.map(() => LEVELS.map(() => 0)));
  for (const { choice, prior } of stories(heard, options)) {
    choice.forEach((option, place) => {
      const sums = rest[place]![option]!;
      HAND.forEach((share, hand) => {
        let weight = prior * share;
        choice.forEach((other, at) => { if (at !== place) weight *= heard[at]![other]![hand]!; });
        sums[hand]! += weight;
      });
    });
  }
  return rest;
}

/** All choices of one option for each place that are not far-fetched. */
function stories(
  heard: readonly (readonly (readonly number[])[])[], options: readonly { readonly driven: Driven; readonly weight: number }[],
): Story[] {
  let found: (Story & { readonly used: readonly number[]; readonly chance: number })[] = [{ choice: [], prior: 1, used: [], chance: 1 }];
  for (const here of heard) {
    found = found.flatMap(({ choice, prior, used, chance }) => options.map(({ driven, weight }, option) => {
      const again = [...driven.keys()].filter((coil) => used.includes(coil)).length;
      const most = Math.max(...here[option]!);
      const own = weight * USUAL.again ** again;
      return { choice: [...choice, option], prior: prior * own, used: [...used, ...driven.keys()], chance: chance * own * most };
    }));
    const most = Math.max(...found.map(({ chance }) => chance));
    found = found.filter(({ chance }) => chance > 1e-6 * most);
  }
  return found;
}

/** How likely a face shows north, by the faces beside it that are known: poles usually alternate.
 * @param known - pole of each place in their order, null where nothing was read
 */
export function northProbability(known: readonly ('N' | 'S' | null)[], place: number): number {
  let odds = 1;
  known.forEach((pole, other) => {
    if (pole === null || other === place) return;
    const differs = Math.abs(other - place) % 2 === 1 ? POLES_DIFFER : 1 - POLES_DIFFER;
    const north = pole === 'S' ? differs : 1 - differs;
    odds *= north / (1 - north);
  });
  return odds / (1 + odds);
}

/** What a compass is expected to tell of a place, bits. */
export function compassInformation_bits(known: readonly ('N' | 'S' | null)[], place: number): number {
  const north = northProbability(known, place);
  return entropy_bits([north, 1 - north]);
}
