/**
 * What no network of resistances reads: between two leads there is at most what lies along any chain of leads beside them, since what
 * else connects the two can only lower it (resistances in series add; in between two nodes the effective one is a metric).
 */
import { typedUncertainty_ohm } from '../evidence/hand-meter.ts';
import { LEAK_ohm } from './ohms-belief.ts';
import type { Ask } from './reading.ts';
import type { TypedOhms } from './values.ts';

export type OhmsAsk = Extract<Ask, { kind: 'ohms' }>;
export interface OhmsRead { readonly ask: OhmsAsk; readonly value: TypedOhms }

/** Readings are apart from so many standard uncertainties of their difference on. */
const APART_u = 4;

/** Readings that cannot all be right, by which of them is to be looked at. */
export type Contradiction =
  /** A pair is over range, though a chain beside it conducts. */
  | { readonly kind: 'open'; readonly chain: readonly OhmsRead[] }
  /** It has more than the chain beside it. */
  | { readonly kind: 'more'; readonly chain: readonly OhmsRead[]; readonly most_ohm: number }
  /** It has less than what is left of another pair, the rest of that one's chain taken away. */
  | { readonly kind: 'less'; readonly other: OhmsRead; readonly rest: readonly OhmsRead[]; readonly least_ohm: number }
  /** One pair that read over range, or leaked, lies beside a chain that conducts now. */
  | { readonly kind: 'was open'; readonly other: OhmsRead; readonly chain: readonly OhmsRead[] };

/** What a reading of a pair that was not read before contradicts; null for nothing, and for pairs that come and go.
 * @param read - the readings before it
 */
export function contradictionOf(typed: OhmsRead, read: readonly OhmsRead[]): Contradiction | null {
  const steady = steadyReadings(read);
  if (read.some((one) => isSamePair(one, typed))) return null;
  const beside = leastChain(typed, steady);
  if (beside !== null && isAbove(typed, beside)) {
    return typed.value.ohm === null ? { kind: 'open', chain: beside } : { kind: 'more', chain: beside, most_ohm: sumOf(beside) };
  }
  // What the typed one contradicts for the first time: what was kept before was asked about then.
  const broken = steady.flatMap((other) => {
    const others = steady.filter((one) => one !== other);
    const before = leastChain(other, others);
    const chain = leastChain(other, [...others, typed]);
    return chain === null || !isAbove(other, chain) || (before !== null && isAbove(other, before)) ? [] : [{ other, chain }];
  });
  const [first] = broken;
  if (first === undefined) return null;
  if (broken.length === 1 && !conducts(first.other)) return { kind: 'was open', ...first };
  const rest = first.chain.filter((one) => one !== typed);
  return { kind: 'less', other: first.other, rest, least_ohm: boundOf(first.other) - sumOf(rest) };
}

/** Readings that lead from one end of a pair to the other by way of other leads, with the least ohms together; null when there are none. */
export function leastChain({ ask: { a, b } }: Pair, read: readonly OhmsRead[]): readonly OhmsRead[] | null {
  const ways = new Map<number, readonly OhmsRead[]>([[a, []]]);
  // A way is improved at most once for each reading on it.
  for (let isChanged = true; isChanged;) {
    isChanged = false;
    for (const one of read) {
      if (!conducts(one) || isSamePair(one, { ask: { a, b } })) continue;
      for (const [near, far] of [[one.ask.a, one.ask.b], [one.ask.b, one.ask.a]] as const) {
        const way = ways.get(near);
        const known = ways.get(far);
        if (way === undefined || (known !== undefined && sumOf(known) <= sumOf(way) + one.value.ohm)) continue;
        ways.set(far, [...way, one]);
        isChanged = true;
      }
    }
  }
  return ways.get(b) ?? null;
}

/** The last reading of each pair, without the pairs whose readings disagree. */
function steadyReadings(read: readonly OhmsRead[]): readonly OhmsRead[] {
  return read.filter((one, at) => {
    const same = read.filter((other) => isSamePair(one, other));
    const isLast = !read.slice(at + 1).some((other) => isSamePair(one, other));
    const isSteady = same.every((other) =>
      conducts(other) === conducts(one) && (!conducts(other) || areAlike(other.value.ohm, one.value.ohm!)));
    return isLast && isSteady;
  });
}

/** Whether two readings of one pair agree within their uncertainties. */
export function areAlike(one_ohm: number, other_ohm: number): boolean {
  return Math.abs(one_ohm - other_ohm) < APART_u * Math.hypot(typedUncertainty_ohm(one_ohm), typedUncertainty_ohm(other_ohm));
}

/** Whether a pair has more than a chain beside it, by more than the uncertainties. */
function isAbove(one: OhmsRead, chain: readonly OhmsRead[]): boolean {
  const all = [one, ...chain].map(({ value }) => (value.ohm === null ? 0 : typedUncertainty_ohm(value.ohm)));
  return boundOf(one) - sumOf(chain) > APART_u * Math.hypot(...all);
}

type Conducting = OhmsRead & { readonly value: { readonly ohm: number } };
function conducts(one: OhmsRead): one is Conducting {
  return one.value.ohm !== null && one.value.ohm < LEAK_ohm;
}

/** What a pair has, or has at least where it was over range. */
const boundOf = ({ value }: OhmsRead): number => (value.ohm === null ? value.above_ohm : value.ohm);
const sumOf = (chain: readonly OhmsRead[]): number => chain.reduce((sum, one) => sum + boundOf(one), 0);
/** A pair, whichever lead is named first. */
interface Pair { readonly ask: Pick<OhmsAsk, 'a' | 'b'> }
const isSamePair = ({ ask: { a, b } }: Pair, { ask: other }: Pair): boolean =>
  (a === other.a && b === other.b) || (a === other.b && b === other.a);
