/**
 * Bench records as a person types them in from an ohmmeter, a voltmeter, a piece of steel and a compass, made of invented
 * pickups whose truth is known; and the same with one slip of the fingers.
 */
import type { BenchMagnet, BenchObserved, BenchRecord, BenchResistance, ClipPair } from '../../host/src/files/bench-record.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';
import type { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { coilAtPlace, placesInOrder, positiveAtTo, type LotPickup } from '../lots/generator.ts';
import { LeadNetwork } from '../lots/lead-network.ts';
import type { Truth } from '../lots/truth.ts';

/** How a person notes things down. */
export interface Habits {
  /** Swings of each coil. */
  readonly rounds: number;
  /** Whether "nothing" at the other coils is noted too, and whether peaks are. */
  readonly notesNone: boolean;
  readonly notesPeaks: boolean;
  readonly usesCompass: boolean;
}

export function inventHabits(chance: RandomStream): Habits {
  return {
    rounds: 1 + chance.below(3), notesNone: chance.unit() < 0.6, notesPeaks: chance.unit() < 0.3, usesCompass: chance.unit() < 0.8,
  };
}

/** A hand-held meter's last range, ohms. */
const METER_MOST_ohm = 2e7;
/** Of the largest swing at a place, what is still noted as one. */
const SEEN = 0.25;

/** What a person types of a pickup without a slip. */
export function typedRecord(one: LotPickup, truth: Truth, habits: Habits, chance: RandomStream): BenchRecord {
  const { pickup } = one;
  const network = new LeadNetwork(pickup);
  const places = placesInOrder(pickup.coils);
  const magnets: BenchMagnet[] = habits.usesCompass
    ? places.map((at) => ({ at, pole: coilAtPlace(pickup.coils, at).pole }))
    : [];
  return {
    format: 'bench/1',
    clips: pickup.leads.map(({ clip, colour }) => ({ clip, colour })),
    resistances: resistances(pickup, network, chance),
    observed: Array.from({ length: habits.rounds }).flatMap(() => swings(one, truth, network, habits, chance)),
    ...(magnets.length > 0 ? { magnets } : {}),
  };
}

function resistances(pickup: Pickup, network: LeadNetwork, chance: RandomStream): BenchResistance[] {
  const clips = pickup.leads.map(({ clip }) => clip);
  return clips.flatMap((a, index) => clips.slice(index + 1).map((b): BenchResistance => {
    const true_ohm = network.resistance(a, b);
    if (true_ohm > METER_MOST_ohm) return { a, b, ohm: null, above_ohm: METER_MOST_ohm };
    const shown = true_ohm * (1 + 0.002 * chance.gaussian()) + chance.between(0.05, 0.3);
    return { a, b, ohm: Number(shown.toPrecision(shown < 10 ? 1 : 3)) };
  }));
}

/** One round of touches: the coil's own swing, and what the others show of it. */
function swings(one: LotPickup, truth: Truth, network: LeadNetwork, habits: Habits, chance: RandomStream): BenchObserved[] {
  const { pickup } = one;
  const pairs = truth.coils.map(({ ends: [a, b] }): ClipPair => (chance.unit() < 0.5 ? { plus: a, minus: b } : { plus: b, minus: a }));
  return placesInOrder(pickup.coils).flatMap((at) => {
    const touched = pickup.coils.indexOf(coilAtPlace(pickup.coils, at));
    const flux_Wb = chance.betweenLog(1e-3, 6e-3);
    const heard = pairs.map((pair) => {
      const gains = network.gains(pair.plus, pair.minus);
      const share = pickup.coils.map((_, index) => (index === touched ? 1 : one.family === 'stacked' ? 0.6 : 0.08));
      return gains.reduce((sum, gain, index) => sum + gain * share[index]! * flux_Wb * (positiveAtTo(pickup.coils[index]!) ? 1 : -1), 0);
    });
    const most = Math.max(...heard.map(Math.abs));
    return pairs.flatMap((pair, index): BenchObserved[] => {
      const size = heard[index]!;
      if (most === 0 || Math.abs(size) < SEEN * most) return habits.notesNone ? [{ at, ...pair, swing: 'none' }] : [];
      // The meter's mean over 0.1 s.
      const peak_V = Number((Math.abs(size) / 0.1).toPrecision(2));
      return [{ at, ...pair, swing: size > 0 ? 'positive' : 'negative', ...(habits.notesPeaks ? { peak_V } : {}) }];
    });
  });
}

/** What a person may get wrong while typing. */
export const SLIPS = [
  'swing reversed', 'swing of another pair', 'swing at another place', 'swing for none', 'none for a swing', 'swing forgotten',
  'kilohms as ohms', 'a digit too many', 'a digit too few', 'reading of another pair', 'reading forgotten', 'open for a reading',
  'reading for open', 'pole exchanged', 'clip mistaken',
] as const;
export type Slip = (typeof SLIPS)[number];

/** The record with one slip of this kind, or null when it has nothing that could be mistaken so. */
export function withSlip(record: BenchRecord, slip: Slip, chance: RandomStream): BenchRecord | null {
  const pick = <T>(list: readonly T[]): T | undefined => list[chance.below(Math.max(1, list.length))];
  const observed = record.observed ?? [];
  const moved = observed.filter(({ swing }) => swing !== 'none');
  const finite = record.resistances.filter(({ ohm }) => ohm !== null);
  const swap = <T>(list: readonly T[], old: T, ...next: T[]): T[] => list.flatMap((entry) => (entry === old ? next : [entry]));
  const withObserved = (old: BenchObserved | undefined, ...next: BenchObserved[]): BenchRecord | null =>
    old === undefined ? null : { ...record, observed: swap(observed, old, ...next) };
  const withReading = (old: BenchResistance | undefined, ...next: BenchResistance[]): BenchRecord | null =>
    old === undefined ? null : { ...record, resistances: swap(record.resistances, old, ...next) };
  const scaled = (factor: number): BenchRecord | null => {
    const old = pick(finite.filter(({ ohm }) => (ohm as number) > 100));
    return old === undefined ? null : withReading(old, { ...old, ohm: Number(((old.ohm as number) * factor).toPrecision(4)) });
  };
  const swing = pick(moved);
  switch (slip) {
    case 'swing reversed':
      return withObserved(swing, { ...swing!, swing: swing?.swing === 'positive' ? 'negative' : 'positive' });
    case 'swing of another pair': {
      const other = pick(observed.filter((one) => swing !== undefined && (one.plus !== swing.plus || one.minus !== swing.minus)));
      return other === undefined ? null : withObserved(swing, { ...swing!, plus: other.plus, minus: other.minus });
    }
    case 'swing at another place': {
      const other = pick(observed.filter((one) => one.at !== swing?.at));
      return other?.at === undefined ? null : withObserved(swing, { ...swing!, at: other.at });
    }
    case 'swing for none': {
      const none = pick(observed.filter((one) => one.swing === 'none'));
      return withObserved(none, { ...none!, swing: chance.unit() < 0.5 ? 'positive' : 'negative' });
    }
    case 'none for a swing': {
      const { at, plus, minus } = swing ?? {};
      return withObserved(swing, { ...(at === undefined ? {} : { at }), plus: plus!, minus: minus!, swing: 'none' });
    }
    case 'swing forgotten':
      return withObserved(swing);
    case 'kilohms as ohms':
      return scaled(1e-3);
    case 'a digit too many':
      return scaled(10);
    case 'a digit too few':
      return scaled(0.1);
    case 'reading of another pair': {
      const old = pick(finite);
      const other = pick(record.resistances.filter((one) => one !== old));
      return old === undefined || other === undefined ? null : withReading(old, { ...old, a: other.a, b: other.b });
    }
    case 'reading forgotten':
      return withReading(pick(record.resistances));
    case 'open for a reading': {
      const old = pick(finite);
      return withReading(old, { a: old?.a ?? 0, b: old?.b ?? 0, ohm: null, above_ohm: METER_MOST_ohm });
    }
    case 'reading for open': {
      const old = pick(record.resistances.filter(({ ohm }) => ohm === null));
      return withReading(old, { a: old?.a ?? 0, b: old?.b ?? 0, ohm: pick(finite)?.ohm ?? 4100 });
    }
    case 'pole exchanged': {
      const old = pick(record.magnets ?? []);
      return old === undefined ? null : { ...record, magnets: swap(record.magnets!, old, { ...old, pole: old.pole === 'N' ? 'S' : 'N' }) };
    }
    case 'clip mistaken': {
      const clip = pick(record.clips.filter((one) => one.clip !== swing?.plus && one.clip !== swing?.minus))?.clip;
      return clip === undefined ? null : withObserved(swing, { ...swing!, plus: clip });
    }
  }
}
