/** Invented pickups entered by meters: with the planner's readings, and with every reading that there is; both judged by the truth. */
import { Planner, stretchesOf } from '../../host/src/entry/planner.ts';
import { recordOf, type Answered, type Ask, type Lying } from '../../host/src/entry/reading.ts';
import { doubtOf, type Doubt } from '../../host/src/entry/doubts.ts';
import type { TypedOhms, TypedSwing } from '../../host/src/entry/values.ts';
import type { Logic } from '../../host/src/logic/module.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { inventPickup, type LotPickup } from '../lots/generator.ts';
import { judge, type Class } from '../lots/judge.ts';
import { solveRecord } from '../lots/solve-record.ts';
import { truthOf, type Truth } from '../lots/truth.ts';
import { wrongWords } from '../logic/wrong-words.ts';
import { METER_most_ohm, Person } from './person.ts';

/** What came of one pickup. */
export interface Entered {
  readonly answers: readonly Answered[];
  readonly map: WireMap;
  /** What the map gets wrong, or misses: classes of the judge, and wrong plus and minus. */
  readonly wrong: readonly string[];
}

/** Both ways of one pickup, and how long each plan took, milliseconds. */
export interface Both {
  readonly one: LotPickup;
  readonly planned: Entered;
  readonly every: Entered;
  readonly plans_ms: readonly number[];
  /** Readings that were right and were asked back all the same. */
  readonly askedBack: readonly string[];
}

/** Rounds of swings of somebody who reads everything. */
const ROUNDS = 2;
/** More than anybody is ever asked for. */
const ANSWERS_most = 80;
/** What a plain-meter record cannot show, or the map is not to be blamed for. */
const NO_MATTER: ReadonlySet<Class> = new Set<Class>([
  'sign not given', 'place not given', 'pole not given', 'ohms wrong', 'shorted turns missed', 'intermittent missed', 'live missed',
  'mismatch missed', 'not good though sound', 'false alarm', 'out of phase missed',
]);

/** The pickups of a seed, without those whose fault no ohmmeter can meet with. */
export function* pickupsToEnter(seed: number, count: number): Generator<LotPickup> {
  for (let [number, found] = [0, 0]; found < count; number++) {
    const one = inventPickup(seed, number, { health: 'any' });
    if (one.faults.some((kind) => kind === 'live' || kind === 'intermittent')) continue;
    found++;
    yield one;
  }
}

export function enterBoth(logic: Logic, one: LotPickup, seed: number, clock: () => number): Both {
  const truth = truthOf(one.pickup);
  const solve = (lying: Lying, answers: readonly Answered[]): WireMap => solveRecord(logic, recordOf(lying, answers));
  const person = new Person(one, new RandomStream(seed + one.number, 'meters'));
  const plans_ms: number[] = [];
  const askedBack: string[] = [];
  // Asked back, the person looks again, reads the same, and keeps it.
  const { answers, map } = enterAll(logic, person, clock, (ms) => plans_ms.push(ms), (answered, doubt) => {
    if (doubt !== null) askedBack.push(doubt.text);
    return answered;
  });
  const all = everyReading(person, (so) => solve(person.lying, so));
  const judged = (what: readonly Answered[], found: WireMap): Entered => ({ answers: what, map: found, wrong: wrongOf(one, truth, found) });
  return { one, planned: judged(answers, map), every: judged(all, solve(person.lying, all)), plans_ms, askedBack };
}

/** Reads what the planner asks for until it asks for nothing. @param note - what is noted of a reading, and of the question about it */
function enterAll(
  logic: Logic, person: Person, clock: () => number, timed: (ms: number) => void,
  note: (answered: Answered, doubt: Doubt | null) => Answered,
  slip: (answered: Answered) => Answered = (answered) => answered,
): { readonly answers: readonly Answered[]; readonly map: WireMap } {
  const { lying } = person;
  const answers: Answered[] = [];
  let asked = clock();
  const planner = new Planner(lying, (record) => solveRecord(logic, record));
  for (;;) {
    const next = planner.next(answers);
    timed(clock() - asked);
    if (next.ask === null || answers.length >= ANSWERS_most) return { answers, map: next.map };
    const answered = slip(person.read(next.ask));
    const doubt = doubtOf(answered, { lying, answers, belief: planner.belief(answers), coils: stretchesOf(next.map) });
    answers.push(note(answered, doubt));
    asked = clock();
  }
}

/** What a person may type wrong. */
export const ENTRY_SLIPS = [
  'kilohms as ohms', 'a digit too many', 'a digit too few', 'open for a reading', 'a reading for open', 'swing reversed', 'none for a swing',
  'swing for none', 'pole exchanged',
] as const;
export type EntrySlip = (typeof ENTRY_SLIPS)[number];

/** What became of one slip. */
export interface Slipped {
  /** It was asked back at once, and the person then typed what was there. */
  readonly isAskedBack: boolean;
  readonly map: WireMap;
  readonly wrong: readonly string[];
}

/** The same pickup with one slip of the fingers. @returns null when there was nothing that could be mistaken so */
export function enterWithSlip(logic: Logic, one: LotPickup, seed: number, slip: EntrySlip): Slipped | null {
  const truth = truthOf(one.pickup);
  const chance = new RandomStream(seed + one.number, slip);
  const person = new Person(one, new RandomStream(seed + one.number, 'meters'));
  // One of the first readings that can be mistaken so.
  let until = chance.below(3);
  let meant: Answered | null = null;
  let [isMade, isAskedBack] = [false, false];
  const { map } = enterAll(logic, person, () => 0, () => undefined, (answered, doubt) => {
    const right = meant;
    meant = null;
    if (right === null || doubt === null) return answered;
    isAskedBack = true;
    return right;
  }, (answered) => {
    const value = isMade ? null : slippedValue(answered, slip);
    if (value === null || until-- > 0) return answered;
    isMade = true;
    meant = answered;
    return { ask: answered.ask, value } as Answered;
  });
  return isMade ? { isAskedBack, map, wrong: wrongOf(one, truth, map) } : null;
}

function slippedValue({ ask, value }: Answered, slip: EntrySlip): Answered['value'] {
  const scaled = (factor: number): TypedOhms | null => {
    const ohm = ask.kind === 'ohms' ? (value as TypedOhms).ohm : null;
    return ohm === null || ohm < 100 || ohm > 1e5 ? null : { ohm: Number((ohm * factor).toPrecision(6)) };
  };
  const swing = ask.kind === 'swing' ? (value as TypedSwing).swing : null;
  switch (slip) {
    case 'kilohms as ohms': return scaled(1e-3);
    case 'a digit too many': return scaled(10);
    case 'a digit too few': return scaled(0.1);
    case 'open for a reading': return scaled(1) === null ? null : { ohm: null, above_ohm: METER_most_ohm };
    case 'a reading for open': return ask.kind === 'ohms' && (value as TypedOhms).ohm === null ? { ohm: 4300 } : null;
    case 'swing reversed': return swing === null || swing === 'none' ? null : { ...(value as TypedSwing), swing: swing === 'positive' ? 'negative' : 'positive' };
    case 'none for a swing': return swing === null || swing === 'none' ? null : { swing: 'none' };
    case 'swing for none': return swing === 'none' ? { swing: 'positive' } : null;
    case 'pole exchanged': return ask.kind === 'compass' ? (value === 'N' ? 'S' : 'N') : null;
  }
}

/** All pairs, then every coil of the map at every place, twice, then every face. */
function everyReading(person: Person, solve: (answers: readonly Answered[]) => WireMap): Answered[] {
  const { leads, places } = person.lying;
  const answers = leads.flatMap(({ clip: a }, index) => leads.slice(index + 1).map(({ clip: b }) => person.read({ kind: 'ohms', a, b })));
  const coils = stretchesOf(solve(answers));
  const swings = places.flatMap((at) => coils.map(({ ends: [minus, plus] }): Ask =>
    ({ kind: 'swing', at, plus, minus, wantsSize: true, isAgain: false })));
  const faces = places.map((at): Ask => ({ kind: 'compass', at }));
  return [...answers, ...[...Array.from({ length: ROUNDS }, () => swings).flat(), ...faces].map((ask) => person.read(ask))];
}

function wrongOf(one: LotPickup, truth: Truth, map: WireMap): string[] {
  const { disagreements } = judge(one, truth, map, { signs: true, places: true, poles: true, inductance: false, complete: false });
  // What leaks less than the last range shows is over range.
  const isHidden = truth.faults.every(({ kind, size }) => kind !== 'leak' || size > 0.9 * METER_most_ohm);
  return [
    ...disagreements.filter(({ class: name }) => !NO_MATTER.has(name) && !(name === 'leak missed' && isHidden)).map(({ class: name, detail }) => `${name}: ${detail}`),
    ...wrongWords(one, truth, map).map(({ what, text }) => `${what}: ${text}`),
  ];
}
