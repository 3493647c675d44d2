/**
 * The fewest readings with which the map of a few leads can be had, by looking ahead through every order of readings and every
 * outcome, beside what the planner takes: ohms over all networks of the list, weighed as they are likely; then swings and
 * poles over all ways in which coils may sit. Readings have no error.
 *
 * Outcomes of ohms are symbols, so that nothing is known beforehand of the windings: over range, a joint, a number that is
 * nothing new (a sum or difference of numbers that were read), or a new number.
 */
import { APART, JOINED, pairIndex, pairsOf, possibleNetworks } from '../../host/src/entry/networks.ts';
import { Planner, usefulAnswer, wholeAnswer } from '../../host/src/entry/planner.ts';
import { isSameAsk, recordOf, type Answered, type Ask, type Lying } from '../../host/src/entry/reading.ts';
import { OVER_RANGE_ohm, type TypedOhms } from '../../host/src/entry/values.ts';
import type { Logic } from '../../host/src/logic/module.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { solveRecord } from '../lots/solve-record.ts';

/** Windings whose sums and differences are all apart by more than a meter's uncertainty, ohms. */
const WINDINGS_ohm = [4100, 5300, 6740, 3070, 8210];
const JOINT_ohm = 0.2;
/** Two numbers this near are one, ohms. */
const SAME_ohm = 0.5;

/** One way in which all may be, and what the module makes of each choice of its readings. */
interface Case {
  readonly weight: number;
  /** What one more reading says, beside those of a mask. */
  readonly symbolOf: (asked: number, item: number) => string;
  /** Whether the readings of a mask settle the map as all of them do. */
  readonly isSettled: (mask: number) => boolean;
}

export interface LookAhead {
  readonly cases: number;
  /** All readings that there are. */
  readonly all: number;
  /** Mean readings, weighed by how likely each network is. */
  readonly planner: number;
  readonly best: number;
}

/** Ohms. @param bare - which leads are uncoated @param places - where steel could touch */
export function lookAheadOhms(logic: Logic, bare: readonly boolean[], places: readonly string[]): LookAhead {
  const leads = bare.map((isBare, index) => ({ clip: index + 1, ...(isBare ? { colour: 'BARE' } : {}) }));
  const lying: Lying = { leads, places };
  const pairs = pairsOf(bare.length);
  const planner = new Planner(lying, (record) => solveRecord(logic, record));
  const cases = possibleNetworks(bare, places.length).map(({ paths, weight }) => {
    const values = pairs.map(([i, j]) => valueOf(paths[pairIndex(i, j)]!));
    const answers = pairs.map(([i, j], at): Answered => ({ ask: { kind: 'ohms', a: i + 1, b: j + 1 }, value: values[at]! }));
    const isSettled = settledBy(answers, (some) => wholeAnswer(solveRecord(logic, recordOf(lying, some))));
    // Nobody slips here, so that nothing is read again.
    const planned = plannedCount(planner, [], answers, (ask) => ask.kind === 'ohms' && ask.isAgain !== true);
    return { weight, isSettled, planned, symbolOf: (asked: number, item: number) => symbolOf(values, asked, item) };
  });
  return compared(cases, pairs.length);
}

/** How often poles of neighbours differ, as the planner takes it. */
const POLES_DIFFER = 0.92;

/** Swings, each twice, and poles, when all ohms are known. @param ends - a coil for each place, or one that holds the coils of all */
export function lookAheadSwings(logic: Logic, ends: readonly (readonly [number, number])[], places: readonly string[]): LookAhead {
  const leads = ends.flat().sort((a, b) => a - b).map((clip) => ({ clip }));
  const lying: Lying = { leads, places };
  const solve = (answers: readonly Answered[]): WireMap => solveRecord(logic, recordOf(lying, answers));
  const ohms = pairsOf(leads.length).map(([i, j]): Answered => {
    const coil = ends.findIndex(([a, b]) => a === leads[i]!.clip && b === leads[j]!.clip);
    const value: TypedOhms = coil < 0 ? { ohm: null, above_ohm: OVER_RANGE_ohm } : { ohm: WINDINGS_ohm[coil]! };
    return { ask: { kind: 'ohms', a: leads[i]!.clip, b: leads[j]!.clip }, value };
  });
  const planner = new Planner(lying, (record) => solveRecord(logic, record));
  const cases = orders(places.map((_, place) => Math.min(place, ends.length - 1))).flatMap((seats) =>
    signsOf(places.length).flatMap((senses) => signsOf(places.length).map((poles) => {
      const swings = places.flatMap((at, place) => ends.map(([minus, plus], coil): Answered => {
        const swing = seats[place] !== coil ? 'none' : senses[place]! > 0 ? 'positive' : 'negative';
        return { ask: { kind: 'swing', at, plus, minus, wantsSize: false, isAgain: false }, value: { swing } };
      }));
      const faces = places.map((at, place): Answered => ({ ask: { kind: 'compass', at }, value: poles[place]! > 0 ? 'N' : 'S' }));
      const answers = [...swings, ...swings, ...faces];
      const weight = poles.slice(1).reduce((product, pole, at) =>
        product * (pole === poles[at] ? 1 - POLES_DIFFER : POLES_DIFFER), 1 as number);
      return {
        weight, isSettled: settledBy(answers, (some) => usefulAnswer(solve([...ohms, ...some]))),
        planned: plannedCount(planner, ohms, answers, () => true),
        symbolOf: (_: number, item: number) => JSON.stringify(answers[item]!.value),
      };
    })));
  return compared(cases, 2 * places.length * ends.length + places.length);
}

function compared(cases: readonly (Case & { readonly planned: number })[], all: number): LookAhead {
  const total = cases.reduce((sum, { weight }) => sum + weight, 0);
  const planned = cases.reduce((sum, { weight, planned: count }) => sum + weight * count, 0);
  const best = new Search(cases, all).least(0, cases.map((_, at) => at));
  return { cases: cases.length, all, planner: planned / total, best: best / total };
}

function valueOf(path: number): TypedOhms {
  if (path === APART) return { ohm: null, above_ohm: OVER_RANGE_ohm };
  if (path === JOINED) return { ohm: JOINT_ohm };
  return { ohm: WINDINGS_ohm.reduce((sum, ohm, winding) => ((path & (1 << winding)) === 0 ? sum : sum + ohm), 0) };
}

/** Whether some of the answers give the same map as all of them. */
function settledBy(answers: readonly Answered[], answerOf: (some: readonly Answered[]) => string): (mask: number) => boolean {
  const whole = answerOf(answers);
  const known = new Map<number, boolean>();
  return (mask) => {
    const isSettled = known.get(mask) ?? answerOf(answers.filter((_, at) => (mask & (1 << at)) !== 0)) === whole;
    known.set(mask, isSettled);
    return isSettled;
  };
}

/** All orders of a list, each once. */
function orders(items: readonly number[]): number[][] {
  if (items.length === 0) return [[]];
  return [...new Set(items)].flatMap((item) => {
    const at = items.indexOf(item);
    return orders([...items.slice(0, at), ...items.slice(at + 1)]).map((rest) => [item, ...rest]);
  });
}

const signsOf = (count: number): (1 | -1)[][] =>
  count === 0 ? [[]] : signsOf(count - 1).flatMap((rest): (1 | -1)[][] => [[1, ...rest], [-1, ...rest]]);

/** Readings that the planner asks for, answered from a list. */
function plannedCount(
  planner: Planner, before: readonly Answered[], list: readonly Answered[], isCounted: (ask: Ask) => boolean,
): number {
  const answers = [...before];
  for (;;) {
    const { ask } = planner.next(answers);
    if (ask === null || !isCounted(ask)) return answers.length - before.length;
    answers.push({ ask, value: list.find((one) => isSameAsk(one.ask, ask))!.value } as Answered);
  }
}

class Search {
  readonly #cases: readonly Case[];
  readonly #items: number;
  readonly #known = new Map<string, number>();

  /** @param items - readings that there are */
  constructor(cases: readonly Case[], items: number) {
    this.#cases = cases;
    this.#items = items;
  }

  /** Readings that are still needed, weighed. @param asked - mask of those that were taken @param left - cases that read alike so far */
  least(asked: number, left: readonly number[]): number {
    if (left.every((at) => this.#cases[at]!.isSettled(asked))) return 0;
    const key = `${asked} ${left.join()}`;
    const before = this.#known.get(key);
    if (before !== undefined) return before;
    const weight = left.reduce((sum, at) => sum + this.#cases[at]!.weight, 0);
    let best = Infinity;
    for (let item = 0; item < this.#items; item++) {
      if ((asked & (1 << item)) !== 0) continue;
      const groups = new Map<string, number[]>();
      for (const at of left) {
        const symbol = this.#cases[at]!.symbolOf(asked, item);
        groups.set(symbol, [...(groups.get(symbol) ?? []), at]);
      }
      let sum = weight;
      for (const group of groups.values()) {
        sum += this.least(asked | (1 << item), group);
        if (sum >= best) break;
      }
      best = Math.min(best, sum);
    }
    this.#known.set(key, best);
    return best;
  }
}

/** What a reading says besides a number that nobody could know. */
function symbolOf(values: readonly TypedOhms[], asked: number, pair: number): string {
  const { ohm } = values[pair]!;
  if (ohm === null) return 'open';
  if (ohm < 1) return 'joint';
  const read = values.flatMap(({ ohm: other }, at) =>
    ((asked & (1 << at)) !== 0 && other !== null && other >= 1 ? [{ at, ohm: other }] : []));
  const near = (other: number): boolean => Math.abs(other - ohm) < SAME_ohm + JOINT_ohm;
  const facts = read.flatMap((one, index) => [
    ...(near(one.ohm) ? [`=${one.at}`] : []),
    ...read.slice(index + 1).flatMap((other) => [
      ...(near(one.ohm + other.ohm) ? [`${one.at}+${other.at}`] : []),
      ...(near(Math.abs(one.ohm - other.ohm)) ? [`${one.at}-${other.at}`] : []),
    ]),
  ]);
  return facts.length === 0 ? 'new' : facts.join(' ');
}
