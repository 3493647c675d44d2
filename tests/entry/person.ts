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

export class Person {
  readonly lying: Lying;
  readonly #one: LotPickup;
  readonly #network: LeadNetwork;
  readonly #chance: RandomStream;

  constructor(one: LotPickup, chance: RandomStream) {
    this.#one = one;
    this.#network = new LeadNetwork(one.pickup);
    this.#chance = chance;
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

  #swing({ at, plus, minus }: Extract<Ask, { kind: 'swing' }>): TypedSwing {
    const { pickup, family } = this.#one;
    const touched = pickup.coils.indexOf(coilAtPlace(pickup.coils, at));
    const across = (high: number, low: number): number => this.#network.gains(high, low).reduce((sum, gain, index) => {
      const share = index === touched ? 1 : family === 'stacked' ? SHARE.stacked : SHARE.beside;
      return sum + gain * share * FLUX_Wb * (positiveAtTo(pickup.coils[index]!) ? 1 : -1);
    }, 0);
    // Against the largest that any two leads show: what a person takes for a swing.
    const clips = pickup.leads.map(({ clip }) => clip);
    const most = Math.max(...clips.flatMap((one) => clips.map((other) => Math.abs(across(one, other)))));
    const size = across(plus, minus);
    if (most === 0 || Math.abs(size) < SEEN * most) return { swing: 'none' };
    // The meter's mean over 0.1 s.
    return { swing: size > 0 ? 'positive' : 'negative', peak_V: Number((Math.abs(size) / 0.1).toPrecision(2)) };
  }
}
