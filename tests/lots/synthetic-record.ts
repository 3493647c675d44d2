/**
 * Writes a bench record of an invented pickup without the virtual bench: what an instrument of somebody else's
 * would have noted, by text-book formulas. So the solver meets records that were made elsewhere.
 */
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';
import type {
  BenchCoupling,
  BenchInductance,
  BenchLive,
  BenchMagnet,
  BenchObserved,
  BenchRecord,
  BenchResistance,
  BenchTouch,
  ClipPair,
} from '../../host/src/files/bench-record.ts';
import { coilAtPlace, placesInOrder, positiveAtTo, shuffled, type LotPickup } from './generator.ts';
import type { Expectation } from './judge.ts';
import { LeadNetwork } from './lead-network.ts';
import { captureOf } from './synthetic-touch.ts';
import type { Truth } from './truth.ts';

/** What the record is like. */
export type Style =
  | 'full'
  | 'repeated readings'
  | 'no uncertainties'
  | 'other rate'
  | 'one channel'
  | 'late start'
  | 'no inductances'
  | 'observed only'
  | 'missing pairs'
  | 'with kind';

export const STYLES: readonly Style[] = [
  'full',
  'repeated readings',
  'no uncertainties',
  'other rate',
  'one channel',
  'late start',
  'no inductances',
  'observed only',
  'missing pairs',
  'with kind',
];

/** Instruments name everything above this "more". */
const ABOVE_ohm = 1e8;

/** A record, and what it is good for. */
export interface SyntheticRecord {
  readonly record: BenchRecord;
  readonly expected: Expectation;
}

/** Notes down what an instrument sees of a pickup.
 * @param one - of a lot
 * @param truth - of the same pickup; gives the pairs that are listened to
 * @param style - what is left out or unusual
 * @param seed - of noise, hum phase and the person
 * @param asks - touches for each place
 */
export function writeRecord(
  one: LotPickup,
  truth: Truth,
  style: Style,
  seed: number,
  asks = 1,
): SyntheticRecord {
  return new Writer(one, truth, style, seed, asks).write();
}

class Writer {
  private readonly chance: RandomStream;
  private readonly pickup: Pickup;
  private readonly network: LeadNetwork;
  private readonly clips: readonly number[];
  private readonly one: LotPickup;
  private readonly truth: Truth;
  private readonly style: Style;
  private readonly asks: number;
  /** One pair of meter leads for each stretch, in the order a person would clip them. */
  private readonly pairs: readonly ClipPair[];

  constructor(one: LotPickup, truth: Truth, style: Style, seed: number, asks: number) {
    this.one = one;
    this.truth = truth;
    this.style = style;
    this.asks = asks;
    this.pickup = one.pickup;
    this.chance = new RandomStream(seed + Math.imul(one.number, 0x01000193), 'record');
    this.network = new LeadNetwork(one.pickup);
    this.clips = one.pickup.leads.map((lead) => lead.clip);
    this.pairs = truth.coils.map(({ ends: [a, b] }) =>
      this.chance.unit() < 0.5 ? { plus: a, minus: b } : { plus: b, minus: a },
    );
  }

  write(): SyntheticRecord {
    const { pickup, style, truth } = this;
    const live = this.live();
    const observedOnly = style === 'observed only';
    const measured = style !== 'no inductances' && !observedOnly && live.length === 0;
    const places = placesInOrder(pickup.coils);
    const touches = live.length > 0 || observedOnly ? [] : this.touches(places);
    const observed = live.length > 0 || !observedOnly ? [] : this.observed(places);
    const magnets = live.length === 0 && pickup.magnet_readings ? this.magnets(places) : [];
    const kind = this.kind();
    const record: BenchRecord = {
      format: 'bench/1',
      ...(observedOnly ? {} : { taken: '2026-03-14T10:22:31Z', tester: { serial: 'ELSEWHERE-1' } }),
      ...(style === 'missing pairs' ? {} : { temperature_C: pickup.temperature_C }),
      ...(style === 'with kind' ? { kind, places } : {}),
      clips: pickup.leads.map(({ clip, colour }) => ({ clip, colour })),
      resistances: live.length > 0 ? [] : this.resistances(),
      ...(touches.length > 0 ? { touches } : {}),
      ...(measured ? this.inductancesAndCouplings() : {}),
      ...(magnets.length > 0 ? { magnets } : {}),
      ...(observed.length > 0 ? { observed } : {}),
      ...(live.length > 0 ? { live } : {}),
    };
    const clean = this.one.slip === 'none';
    return {
      record,
      expected: {
        signs: clean && live.length === 0 && this.allTouchedWell(places),
        places:
          clean &&
          live.length === 0 &&
          style !== 'one channel' &&
          !observedOnly &&
          this.allTouchedWell(places),
        poles: clean && live.length === 0 && magnets.length > 0,
        inductance: measured,
        complete:
          clean &&
          measured &&
          style !== 'missing pairs' &&
          style !== 'one channel' &&
          truth.coils.length > 0 &&
          magnets.length > 0 &&
          this.allTouchedWell(places),
      },
    };
  }

  private kind(): BenchRecord['kind'] {
    if (this.one.family === 'stacked') return 'stacked';
    return this.pickup.coils.length === 1
      ? 'single'
      : this.pickup.coils.length === 2
        ? 'side_by_side'
        : 'three';
  }

  private allTouchedWell(places: readonly string[]): boolean {
    return places.every((place, i) => {
      const touch = this.pickup.touches[i];
      return touch?.coil === coilAtPlace(this.pickup.coils, place).id && touch.flux_Wb >= 2e-4;
    });
  }

  private live(): BenchLive[] {
    const list: BenchLive[] = [];
    for (const fault of this.pickup.faults) {
      if (fault.kind !== 'live') continue;
      const find = (node: string): number =>
        this.pickup.leads.find((lead) => lead.node === node)!.clip;
      const [a, b] = [find(fault.between[0]), find(fault.between[1])];
      const load_ohm = this.network.resistance(a, b);
      const share = load_ohm === Infinity ? 1 : load_ohm / (load_ohm + (fault.source_ohm ?? 1000));
      list.push({ a, b, volt_V: six(fault.volt_V * share) });
    }
    return list;
  }

  private resistances(): BenchResistance[] {
    const { chance, clips, style } = this;
    const list: BenchResistance[] = [];
    const loose = this.pickup.faults.find((fault) => fault.kind === 'intermittent');
    const all = clips.flatMap((a, i) => clips.slice(i + 1).map((b): [number, number] => [a, b]));
    const spare = style === 'missing pairs' ? this.sparePair(all) : -1;
    all.forEach(([a, b], index) => {
      if (index === spare) return;
      const shaky = loose !== undefined && (loose.clip === a || loose.clip === b);
      const times = shaky || style === 'repeated readings' ? 2 + chance.below(2) : 1;
      for (let i = 0; i < times; i++) {
        const swap = chance.unit() < 0.5;
        const extra_ohm =
          shaky && i === 0 ? (chance.unit() < 0.4 ? Infinity : chance.betweenLog(20, 2000)) : 0;
        list.push(this.oneReading(swap ? b : a, swap ? a : b, extra_ohm));
      }
    });
    return shuffled(chance, list);
  }

  /** A pair that can be left out without loss: one that the additive rule or the clips' parts give again. */
  private sparePair(all: readonly [number, number][]): number {
    const apart = (a: number, b: number): boolean => this.network.resistance(a, b) === Infinity;
    // Two clips that are each connected to nothing are known to be apart by this very pair alone.
    const alone = (clip: number): boolean => this.clips.every((other) => other === clip || apart(clip, other));
    return all.findIndex(([a, b]) => apart(a, b) && !(alone(a) && alone(b)));
  }

  private oneReading(a: number, b: number, extra_ohm: number): BenchResistance {
    const { chance, style } = this;
    const true_ohm = this.network.resistance(a, b) + extra_ohm;
    const ranges = style === 'observed only' ? 2e7 : ABOVE_ohm;
    if (true_ohm > ranges) return { a, b, ohm: null, above_ohm: ranges };
    // Half of the uncertainty that a reader assumes when none is given; a hand-held meter is coarser and says so.
    const own =
      style === 'observed only'
        ? true_ohm * 0.002 + 0.1
        : style === 'no uncertainties'
          ? (true_ohm * 3e-4 + 0.05) * 0.9
          : true_ohm * chance.between(2e-5, 1e-4) + chance.between(0.01, 0.05);
    const u_ohm =
      true_ohm > 1e6 && style !== 'no uncertainties' ? Math.max(own, true_ohm * 0.003) : own;
    const contact_ohm = style === 'observed only' ? 0.05 : 0;
    const ohm = Math.max(0, true_ohm + contact_ohm + u_ohm * chance.gaussian());
    return {
      a,
      b,
      ohm: six(ohm),
      ...(style === 'no uncertainties' ? {} : { u_ohm: three(u_ohm) }),
    };
  }

  private touches(places: readonly string[]): BenchTouch[] {
    const { chance, pickup, style } = this;
    const list: BenchTouch[] = [];
    const pairs = [...this.pairs, ...this.brokenPairs()];
    if (pairs.length === 0) return list;
    for (let ask = 0; ask < this.asks; ask++) {
      places.forEach((place, i) => {
        const touch = pickup.touches[(ask * places.length + i) % pickup.touches.length]!;
        // Two channels: as many captures as it takes to hear every stretch beside another one.
        for (let first = 0; first < pairs.length; first += style === 'one channel' ? 1 : 2) {
          const second = (first + 1) % pairs.length;
          const heard =
            style === 'one channel' || second === first
              ? [pairs[first]!]
              : [pairs[first]!, pairs[second]!];
          list.push(
            captureOf(
              {
                pickup,
                network: this.network,
                touch,
                place,
                heard,
                late: style === 'late start',
                rate_Hz:
                  style === 'other rate' ? Math.round(chance.betweenLog(1000, 100000)) : 10000,
              },
              chance,
            ),
          );
        }
      });
    }
    return list;
  }

  /** Clips at the two ends of a broken coil: nothing conducts, but a careful person listens all the same. */
  private brokenPairs(): ClipPair[] {
    const list: ClipPair[] = [];
    for (const fault of this.pickup.faults) {
      if (fault.kind !== 'open') continue;
      const { from, to } = this.pickup.coils.find((coil) => coil.id === fault.coil)!;
      const ends = [from, to].map(
        (node) => this.pickup.leads.find((lead) => lead.node === node)?.clip,
      );
      if (ends[0] !== undefined && ends[1] !== undefined)
        list.push({ plus: ends[1], minus: ends[0] });
    }
    return list;
  }

  /** What a person sees on a hand-held meter: the first swing of each pair that is brought out. */
  private observed(places: readonly string[]): BenchObserved[] {
    const { chance, pickup } = this;
    const list: BenchObserved[] = [];
    places.forEach((at, i) => {
      const touch = pickup.touches[i]!;
      const touched = pickup.coils.findIndex((coil) => coil.id === touch.coil);
      for (const pair of [...this.pairs, ...this.brokenPairs()]) {
        const gains = this.network.gains(pair.plus, pair.minus);
        let flux_Wb = 0;
        pickup.coils.forEach((coil, index) => {
          const share = index === touched ? 1 : touched < 0 ? 0 : (touch.crosstalk ?? 0.08);
          flux_Wb += gains[index]! * share * touch.flux_Wb * (positiveAtTo(coil) ? 1 : -1);
        });
        // The meter's mean over 0.1 s; readings below half a millivolt are called none.
        const peak_V = Math.abs(flux_Wb) / 0.1;
        const slipped = chance.unit() < 0.005;
        const positive = flux_Wb > 0 !== slipped;
        const swing = peak_V < 5e-4 ? 'none' : positive ? 'positive' : 'negative';
        list.push({
          at,
          ...pair,
          swing,
          ...(swing === 'none' || chance.unit() < 0.3
            ? {}
            : { peak_V: three(peak_V * chance.between(0.8, 1.2)) }),
        });
      }
    });
    return list;
  }

  private magnets(places: readonly string[]): BenchMagnet[] {
    return places.map((at) => {
      const { pole } = coilAtPlace(this.pickup.coils, at);
      if (this.style === 'observed only') return { at, pole };
      return { at, pole, field_T: three(this.chance.betweenLog(0.012, 0.08)) };
    });
  }

  /** Flux inductance: the energy of a direct current that splits as the resistances ask. */
  private inductancesAndCouplings(): {
    inductances: BenchInductance[];
    couplings: BenchCoupling[];
  } {
    const { chance, pickup, network, pairs } = this;
    const mutual = pickup.coils.map((a, i) =>
      pickup.coils.map((b, j) => {
        if (i === j) return a.inductance_H;
        const k =
          pickup.couplings.find(
            (item) => (item.a === a.id && item.b === b.id) || (item.a === b.id && item.b === a.id),
          )?.k ?? 0;
        return -k * Math.sqrt(a.inductance_H * b.inductance_H) * (a.winding === b.winding ? 1 : -1);
      }),
    );
    const product = (x: readonly number[], y: readonly number[]): number =>
      x.reduce(
        (sum, xi, i) => sum + y.reduce((inner, yj, j) => inner + xi * yj * mutual[i]![j]!, 0),
        0,
      );
    const gains = pairs.map(({ plus, minus }) => network.gains(plus, minus));
    const inductances = pairs.map(({ plus, minus }, i) => {
      const true_H = product(gains[i]!, gains[i]!);
      const u_H = true_H * chance.between(0.004, 0.012) + 0.002;
      const loss_ohm = this.loss(gains[i]!);
      return {
        plus,
        minus,
        henry_H: six(Math.max(0, true_H + u_H * chance.gaussian())),
        u_H: three(u_H),
        ...(loss_ohm < 5e6
          ? {
              loss_ohm: three(loss_ohm * (1 + 0.03 * chance.gaussian())),
              u_loss_ohm: three(loss_ohm * 0.03),
            }
          : {}),
      };
    });
    const couplings: BenchCoupling[] = [];
    pairs.forEach((drive, i) =>
      pairs.forEach((sense, j) => {
        if (j <= i) return;
        const true_H = product(gains[i]!, gains[j]!);
        const u_H = Math.abs(true_H) * 0.01 + 0.003;
        couplings.push({
          drive,
          sense,
          mutual_H: six(true_H + u_H * chance.gaussian()),
          u_H: three(u_H),
        });
      }),
    );
    return { inductances, couplings };
  }

  /** Eddy loss and shorted turns of one coil's stretch as one resistance across it; of several, only roughly. */
  private loss(gains: readonly number[]): number {
    let conductance_S = 0;
    let count = 0;
    this.pickup.coils.forEach((coil, i) => {
      const share = Math.abs(gains[i]!);
      if (share < 0.02) return;
      count++;
      // Across a share f of the turns a loss looks f^2 times as large.
      let coil_S = coil.loss_ohm === undefined ? 0 : 1 / coil.loss_ohm;
      for (const fault of this.pickup.faults) {
        if (fault.kind !== 'shorted_turns' || fault.coil !== coil.id) continue;
        coil_S += fault.fraction / (coil.resistance_ohm_20C * (1 - fault.fraction) ** 2);
      }
      conductance_S += coil_S / share ** 2;
    });
    return conductance_S > 0 ? count ** 2 / conductance_S : Infinity;
  }
}

function six(value: number): number {
  return Number(value.toPrecision(7));
}

function three(value: number): number {
  return Number(value.toPrecision(3));
}
