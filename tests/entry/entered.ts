/** Invented pickups entered by meters: with the planner's readings, and with every reading that there is; both judged by the truth. */
import { Planner, stretchesOf } from '../../host/src/entry/planner.ts';
import { recordOf, type Answered, type Ask, type Lying } from '../../host/src/entry/reading.ts';
import { doubtOf } from '../../host/src/entry/doubts.ts';
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
  const { lying } = person;
  const plans_ms: number[] = [];
  const askedBack: string[] = [];
  const answers: Answered[] = [];
  const begun = clock();
  const planner = new Planner(lying, (record) => solveRecord(logic, record));
  let next = planner.next(answers);
  plans_ms.push(clock() - begun);
  while (next.ask !== null && answers.length < ANSWERS_most) {
    const answered = person.read(next.ask);
    // The person looks again, reads the same, and keeps it.
    const doubt = doubtOf(answered, { lying, answers, belief: planner.belief(answers), coils: stretchesOf(next.map) });
    if (doubt !== null) askedBack.push(doubt.text);
    answers.push(answered);
    const asked = clock();
    next = planner.next(answers);
    plans_ms.push(clock() - asked);
  }
  const all = everyReading(person, (so) => solve(lying, so));
  const judged = (what: readonly Answered[], map: WireMap): Entered => ({ answers: what, map, wrong: wrongOf(one, truth, map) });
  return { one, planned: judged(answers, next.map), every: judged(all, solve(lying, all)), plans_ms, askedBack };
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
