/**
 * The fewest readings of resistance with which the map of a few leads can be had, by looking ahead through every order of
 * readings and every outcome, beside what the planner takes: for all networks of the list, weighed as they are likely.
 *
 * Outcomes are symbols, so that nothing is known beforehand of the windings' ohms: over range, a joint, a number that is
 * nothing new (a sum or difference of numbers that were read), or a new number. Readings have no error.
 */
import { APART, JOINED, pairIndex, pairsOf, possibleNetworks, type Network } from '../../host/src/entry/networks.ts';
import { Planner, wholeAnswer } from '../../host/src/entry/planner.ts';
import { recordOf, type Answered, type Lying } from '../../host/src/entry/reading.ts';
import { OVER_RANGE_ohm, type TypedOhms } from '../../host/src/entry/values.ts';
import type { Logic } from '../../host/src/logic/module.ts';
import { solveRecord } from '../lots/solve-record.ts';

/** Windings whose sums and differences are all apart by more than a meter's uncertainty, ohms. */
const WINDINGS_ohm = [4100, 5300, 6740, 3070, 8210];
const JOINT_ohm = 0.2;
/** Two numbers this near are one, ohms. */
const SAME_ohm = 0.5;

/** One network with its readings and what the module makes of each choice of them. */
interface Case {
  readonly weight: number;
  readonly values: readonly TypedOhms[];
  /** Whether the readings of a mask settle the map as all of them do. */
  readonly isSettled: (mask: number) => boolean;
}

export interface LookAhead {
  readonly networks: number;
  readonly pairs: number;
  /** Mean readings, weighed by how likely each network is. */
  readonly planner: number;
  readonly best: number;
}

/** @param bare - which leads are uncoated @param places - where steel could touch */
export function lookAhead(logic: Logic, bare: readonly boolean[], places: readonly string[]): LookAhead {
  const leads = bare.map((isBare, index) => ({ clip: index + 1, ...(isBare ? { colour: 'BARE' } : {}) }));
  const lying: Lying = { leads, places };
  const pairs = pairsOf(bare.length);
  const cases = possibleNetworks(bare, places.length).map((network) => caseOf(logic, lying, pairs, network));
  const total = cases.reduce((sum, { weight }) => sum + weight, 0);
  const planner = new Planner(lying, (record) => solveRecord(logic, record));
  const planned = cases.reduce((sum, { weight, values }) => sum + weight * plannerCount(planner, pairs, values), 0);
  const best = new Search(cases, pairs.length).least(0, cases.map((_, at) => at));
  return { networks: cases.length, pairs: pairs.length, planner: planned / total, best: best / total };
}

function caseOf(logic: Logic, lying: Lying, pairs: readonly (readonly [number, number])[], { paths, weight }: Network): Case {
  const values = pairs.map(([i, j]): TypedOhms => {
    const path = paths[pairIndex(i, j)]!;
    if (path === APART) return { ohm: null, above_ohm: OVER_RANGE_ohm };
    if (path === JOINED) return { ohm: JOINT_ohm };
    return { ohm: WINDINGS_ohm.reduce((sum, ohm, winding) => ((path & (1 << winding)) === 0 ? sum : sum + ohm), 0) };
  });
  const answers = pairs.map((pair, at) => answered(pair, values[at]!));
  const answerOf = (mask: number): string =>
    wholeAnswer(solveRecord(logic, recordOf(lying, answers.filter((_, at) => (mask & (1 << at)) !== 0))));
  const whole = answerOf((1 << pairs.length) - 1);
  const known = new Map<number, boolean>();
  const isSettled = (mask: number): boolean => {
    const before = known.get(mask);
    if (before !== undefined) return before;
    known.set(mask, answerOf(mask) === whole);
    return known.get(mask)!;
  };
  return { weight, values, isSettled };
}

const answered = ([i, j]: readonly [number, number], value: TypedOhms): Answered => ({ ask: { kind: 'ohms', a: i + 1, b: j + 1 }, value });

/** Readings of resistance that the planner asks for. */
function plannerCount(planner: Planner, pairs: readonly (readonly [number, number])[], values: readonly TypedOhms[]): number {
  const answers: Answered[] = [];
  for (;;) {
    const { ask } = planner.next(answers);
    if (ask?.kind !== 'ohms') return answers.length;
    answers.push(answered([ask.a - 1, ask.b - 1], values[pairs.findIndex(([i, j]) => i === ask.a - 1 && j === ask.b - 1)]!));
  }
}

class Search {
  readonly #cases: readonly Case[];
  readonly #pairs: number;
  readonly #known = new Map<string, number>();

  constructor(cases: readonly Case[], pairs: number) {
    this.#cases = cases;
    this.#pairs = pairs;
  }

  /** Readings that are still needed, weighed. @param asked - mask of the pairs that were read @param left - cases that read alike so far */
  least(asked: number, left: readonly number[]): number {
    if (left.every((at) => this.#cases[at]!.isSettled(asked))) return 0;
    const key = `${asked} ${left.join()}`;
    const before = this.#known.get(key);
    if (before !== undefined) return before;
    const weight = left.reduce((sum, at) => sum + this.#cases[at]!.weight, 0);
    let best = Infinity;
    for (let pair = 0; pair < this.#pairs; pair++) {
      if ((asked & (1 << pair)) !== 0) continue;
      const groups = new Map<string, number[]>();
      for (const at of left) {
        const symbol = symbolOf(this.#cases[at]!.values, asked, pair);
        groups.set(symbol, [...(groups.get(symbol) ?? []), at]);
      }
      let sum = weight;
      for (const group of groups.values()) {
        sum += this.least(asked | (1 << pair), group);
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
