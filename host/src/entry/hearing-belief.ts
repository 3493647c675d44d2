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
}

/** How a person reads a needle: right, the other way round, nothing where something was, something where nothing was. */
const READ = { right: 0.97, turned: 0.01, missed: 0.02, imagined: 0.03 } as const;
/** How likely steel at a place drives nothing (a broken coil), two neighbours (a tapped coil), and a coil that another place drives too. */
const USUAL = { nothing: 0.05, tapped: 0.15, again: 0.05 } as const;
/** Poles of neighbouring coils of one pickup differ (common practice, no published source). */
const POLES_DIFFER = 0.92;

/** What one place may do: the way that a coil's second end goes, by coil. */
type Driven = ReadonlyMap<number, 1 | -1>;

/** One way in which all places may hear, and how likely it is. */
interface Story {
  /** For each place its choice among `options`. */
  readonly choice: readonly number[];
  readonly weight: number;
}

export class HearingBelief {
  readonly #coils: readonly Stretch[];
  readonly #places: readonly string[];
  readonly #options: readonly { readonly driven: Driven; readonly weight: number }[];
  readonly #stories: readonly Story[];

  /** @param coils - as the map lists them @param places - where steel can touch @param seen - swings so far */
  constructor(coils: readonly Stretch[], places: readonly string[], seen: readonly SwingSeen[]) {
    this.#coils = coils;
    this.#places = places;
    this.#options = optionsOf(coils);
    const heard = places.map((place) => this.#options.map(({ driven, weight }) =>
      seen.filter(({ at }) => at === place).reduce((product, one) => product * this.#chance(driven, one), weight)));
    this.#stories = stories(heard, this.#options.map(({ driven }) => driven));
  }

  /** What a swing is expected to tell, bits. */
  information_bits(at: string, plus: number, minus: number): number {
    const place = this.#places.indexOf(at);
    const byOption = this.#weightsAt(place);
    return information_bits(this.#options.map(({ driven }, option) =>
      SWINGS.map((swing) => byOption[option]! * this.#chance(driven, { at, plus, minus, swing }))));
  }

  /** How likely each swing is. */
  predictions(at: string, plus: number, minus: number): { readonly swing: Swing; readonly probability: number }[] {
    const byOption = this.#weightsAt(this.#places.indexOf(at));
    return SWINGS.map((swing) => ({
      swing,
      probability: this.#options.reduce((sum, { driven }, option) =>
        sum + byOption[option]! * this.#chance(driven, { at, plus, minus, swing }), 0),
    }));
  }

  #weightsAt(place: number): number[] {
    const weights = this.#options.map(() => 0);
    for (const { choice, weight } of this.#stories) weights[choice[place]!]! += weight;
    return weights;
  }

  /** Probability of what is seen across a coil when a place drives this. */
  #chance(driven: Driven, { plus, minus, swing }: SwingSeen): number {
    const coil = this.#coils.findIndex(({ ends }) => ends.includes(plus) && ends.includes(minus));
    const sense = driven.get(coil);
    if (sense === undefined) return swing === 'none' ? 1 - READ.imagined : READ.imagined / 2;
    if (swing === 'none') return READ.missed;
    const lifts = sense === (plus === this.#coils[coil]!.ends[1] ? 1 : -1);
    return (swing === 'positive') === lifts ? READ.right : READ.turned;
  }
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

/** All choices of one option for each place. @param heard - [place][option]: weight with what was seen there */
function stories(heard: readonly (readonly number[])[], driven: readonly Driven[]): Story[] {
  let found: (Story & { readonly used: readonly number[] })[] = [{ choice: [], weight: 1, used: [] }];
  for (const weights of heard) {
    found = found.flatMap(({ choice, weight, used }) => driven.map((coils, option) => {
      const again = [...coils.keys()].filter((coil) => used.includes(coil)).length;
      return { choice: [...choice, option], weight: weight * weights[option]! * USUAL.again ** again, used: [...used, ...coils.keys()] };
    }));
    const most = Math.max(...found.map(({ weight }) => weight));
    found = found.filter(({ weight }) => weight > 1e-6 * most);
  }
  const total = found.reduce((sum, { weight }) => sum + weight, 0);
  return found.map(({ choice, weight }) => ({ choice, weight: weight / total }));
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
