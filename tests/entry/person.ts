/**
 * A person with meters of their own before an invented pickup: reads what is asked for, with the errors of hand-held meters,
 * and answers what is asked back.
 */
import type { TypedOhms, TypedSwing } from '../../host/src/entry/values.ts';
import type { Answered, Ask, Lying } from '../../host/src/entry/reading.ts';
import type { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { coilAtPlace, placesInOrder, positiveAtTo, type LotPickup } from '../lots/generator.ts';
import { LeadNetwork } from '../lots/lead-network.ts';

/** Standard deviation of a meter's error between readings (0.2 %; common practice, no published source), and its leads' ohms. */
const READ_share = 0.002;
/** Its last range, ohms. */
export const METER_most_ohm = 2e7;
const LEADS_ohm = { least: 0.05, most: 0.3 } as const;
/** Of the largest swing at a place, what is still noted as one: clearly more than the tenth of a neighbour. */
const SEEN = 0.15;
/** Flux of a touch, and how much of it the neighbour gets: beside it, and below it. */
const FLUX_Wb = 3e-3;
const SHARE = { beside: 0.08, stacked: 0.6 } as const;
/** Of somebody who looks at one pair at a time: what the touched coil shows, and which part of it, either way, a coil beside it does. */
const OWN_V = { least: 0.066, most: 0.113 } as const;
const BESIDE = { least: 0.04, most: 0.2 } as const;
/** The last digit of a meter for millivolts. */
const DIGIT_V = 1e-3;

type SwingAsk = Extract<Ask, { kind: 'swing' }>;

/**
 * What is noted of a swing. `own`: what is clearly more than a neighbour's share, with its size. The others look at the pair that is
 * asked for and nowhere else, and note whatever moves: `signs` its direction and, when it is asked for, its size; `sizes` always both.
 */
export type Noting = 'own' | 'signs' | 'sizes';

export class Person {
  readonly lying: Lying;
  readonly #one: LotPickup;
  readonly #network: LeadNetwork;
  readonly #chance: RandomStream;
  readonly #noting: Noting;
  /** [touched][coil]: which part of the touched coil's a coil shows; it repeats. */
  readonly #shares: readonly (readonly number[])[];

  constructor(one: LotPickup, chance: RandomStream, noting: Noting = 'own') {
    this.#one = one;
    this.#network = new LeadNetwork(one.pickup);
    this.#chance = chance;
    this.#noting = noting;
    const isStacked = one.family === 'stacked';
    const beside = (): number => (chance.unit() < 0.5 ? -1 : 1) * chance.between(BESIDE.least, BESIDE.most);
    this.#shares = one.pickup.coils.map((_, touched) => one.pickup.coils.map((__, coil) =>
      (coil === touched ? 1 : noting === 'own' || isStacked ? (isStacked ? SHARE.stacked : SHARE.beside) : beside())));
    // Steel reaches the outer one of stacked coils only, so there is one place.
    const places = placesInOrder(one.pickup.coils);
    this.lying = {
      leads: one.pickup.leads.map(({ clip, colour }) => ({ clip, colour })), places: one.family === 'stacked' ? places.slice(0, 1) : places,
    };
  }

  read(ask: Ask): Answered {
    if (ask.kind === 'ohms') return { ask, value: this.#ohms(ask.a, ask.b) };
    if (ask.kind === 'compass') return { ask, value: coilAtPlace(this.#one.pickup.coils, ask.at).pole };
    return { ask, value: this.#swing(ask) };
  }

  #ohms(a: number, b: number): TypedOhms {
    const true_ohm = this.#network.resistance(a, b);
    if (true_ohm > METER_most_ohm) return { ohm: null, above_ohm: METER_most_ohm };
    const shown = true_ohm * (1 + READ_share * this.#chance.gaussian()) + this.#chance.between(LEADS_ohm.least, LEADS_ohm.most);
    return { ohm: Number(shown.toPrecision(shown < 10 ? 1 : 3)) };
  }

  /** What the meter shows as steel touches a place, plus lead against minus lead; it is another touch each time. */
  moves_V({ at, plus, minus }: SwingAsk): number {
    const own_V = this.#noting === 'own' ? FLUX_Wb / 0.1 : this.#chance.betweenLog(OWN_V.least, OWN_V.most);
    return own_V * this.#across(at, plus, minus);
  }

  /** The same as a part of what a coil by itself shows of its own touch. */
  #across(at: string, plus: number, minus: number): number {
    const { pickup } = this.#one;
    const touched = pickup.coils.indexOf(coilAtPlace(pickup.coils, at));
    return this.#network.gains(plus, minus).reduce((sum, gain, index) =>
      sum + gain * this.#shares[touched]![index]! * (positiveAtTo(pickup.coils[index]!) ? 1 : -1), 0);
  }

  #swing(ask: SwingAsk): TypedSwing {
    const size_V = this.moves_V(ask);
    const peak_V = Number(Math.abs(size_V).toPrecision(2));
    if (this.#noting !== 'own') {
      if (peak_V < DIGIT_V) return { swing: 'none' };
      return { swing: size_V > 0 ? 'positive' : 'negative', ...(this.#noting === 'sizes' || ask.wantsSize ? { peak_V } : {}) };
    }
    // Against the largest that any two leads show: what a person takes for a swing.
    const clips = this.#one.pickup.leads.map(({ clip }) => clip);
    const part = Math.abs(this.#across(ask.at, ask.plus, ask.minus));
    const most = Math.max(...clips.flatMap((one) => clips.map((other) => Math.abs(this.#across(ask.at, one, other)))));
    if (most === 0 || part < SEEN * most) return { swing: 'none' };
    return { swing: size_V > 0 ? 'positive' : 'negative', peak_V };
  }
}
