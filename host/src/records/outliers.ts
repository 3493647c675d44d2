/** Which of many look-alikes differs, in what and by how much: a reversed one first of all, then by robust statistics. */
import type { WireMapCoil } from '../wiremap/wiremap.ts';
import { comparedOhm } from './facts.ts';
import { coilKey, type Compared } from './leads-of.ts';

/**
 * Modified z-score above which a value is called an outlier.
 * @see NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17 (after Iglewicz and Hoaglin): 0.6745 (x - median) / MAD, 3.5
 */
const Z_MOST = 3.5;
const Z_SCALE = 0.6745;
/** Values below which median and MAD say nothing. */
export const N_LEAST = 5;
/** Pickups below which nobody can say which of them is reversed. */
export const SENSES_LEAST = 3;
/** A share of the median below which a difference is nobody's concern, however alike the others are. */
const SHARE_LEAST = 0.02;

export interface Outlier {
  readonly number: string;
  /** Reversed ones stand first. */
  readonly isReversed: boolean;
  /** Of its value; null for a reversed one. */
  readonly z: number | null;
  readonly text: string;
}

/** What of a group could be compared; values and senses each need enough pickups in which they are known. */
export interface ComparedGroup {
  /** Leads of the coils. */
  readonly leads: string;
  readonly n: number;
  /** `split` where two ways round are there and neither is that of the others. */
  readonly senses: 'compared' | 'too few' | 'split';
  readonly values: 'compared' | 'too few';
}

export interface OutlierReport {
  /** Groups of look-alikes. */
  readonly groups: readonly ComparedGroup[];
  readonly outliers: readonly Outlier[];
}

/** The middle of a list; of an even number the mean of the two in the middle. @throws RangeError when it is empty */
export function median(values: readonly number[]): number {
  if (values.length === 0) throw new RangeError('no values');
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
}

/** Median of the distances from the median. */
export function medianDeviation(values: readonly number[]): number {
  const middle = median(values);
  return median(values.map((value) => Math.abs(value - middle)));
}

interface Quantity {
  readonly words: string;
  readonly unit: string;
  readonly of: (coil: WireMapCoil) => number | null | undefined;
}

const QUANTITIES: readonly Quantity[] = [
  { words: 'resistance', unit: 'ohm', of: comparedOhm },
  { words: 'inductance', unit: 'H', of: ({ inductance_H }) => inductance_H },
  { words: 'capacitance', unit: 'F', of: ({ capacitance_F }) => capacitance_F },
  { words: 'core loss', unit: 's', of: ({ loss_s }) => loss_s },
];

/** Look-alikes: coils on leads of the same names. */
function groupKey(one: Compared): string {
  return one.map.coils.map((coil) => coilKey(one, coil) ?? 'open').sort().join(', ');
}

/** @param pickups - of a lot, or whoever look alike */
export function findOutliers(pickups: readonly Compared[]): OutlierReport {
  const groups = new Map<string, Compared[]>();
  for (const one of pickups) {
    const key = groupKey(one);
    groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  const outliers = [...groups].flatMap(([key, group]) => coilsOf(key).flatMap((coil) => [
    ...reversed(group, coil), ...QUANTITIES.flatMap((quantity) => apart(group, coil, quantity)),
  ]));
  return {
    groups: [...groups].map(([leads, group]) => ({ leads: leads === '' ? 'no coil' : leads, n: group.length, ...comparable(leads, group) })),
    outliers: outliers.sort((a, b) => Number(b.isReversed) - Number(a.isReversed) || (b.z ?? 0) - (a.z ?? 0)),
  };
}

/** Keys of the coils of a group. */
function coilsOf(groupsKey: string): string[] {
  return groupsKey === '' ? [] : [...new Set(groupsKey.split(', '))];
}

function comparable(groupsKey: string, group: readonly Compared[]): Pick<ComparedGroup, 'senses' | 'values'> {
  const coils = coilsOf(groupsKey);
  const said = coils.flatMap((key) => [plusOf, poleOf].map((of) => group.flatMap((one) => of(one, key) ?? [])))
    .filter(({ length }) => length >= SENSES_LEAST);
  const isSplit = said.some((words) => new Set(words).size > 1 && majority(words) === null);
  return {
    senses: isSplit ? 'split' : said.length > 0 ? 'compared' : 'too few',
    values: coils.some((key) => QUANTITIES.some((quantity) => knownOf(group, key, quantity).length >= N_LEAST)) ? 'compared' : 'too few',
  };
}

function coilOf(one: Compared, key: string): WireMapCoil | undefined {
  return one.map.coils.find((coil) => coilKey(one, coil) === key);
}

/** The lead that is its plus. */
function plusOf(one: Compared, key: string): string | null {
  const plus = coilOf(one, key)?.plus ?? null;
  return plus === null ? null : one.lead(plus);
}

function poleOf(one: Compared, key: string): string | null {
  return coilOf(one, key)?.pole ?? null;
}

/** Which way it is wound from the first lead of its key to the second: from minus to plus it is clockwise exactly when its pole is N. */
function windingOf(one: Compared, key: string): 'cw' | 'ccw' | null {
  const [plus, pole] = [plusOf(one, key), poleOf(one, key)];
  const [first, second] = coilOf(one, key)?.ends?.map(one.lead).sort() ?? [];
  if (plus === null || pole === null || first === second) return null;
  return (plus === second) === (pole === 'N') ? 'cw' : 'ccw';
}

/** The word that two thirds or more of those say that say one. */
function mostSaid(words: readonly (string | null)[]): { readonly word: string; readonly n: number; readonly of: number } | null {
  const known = words.filter((word) => word !== null);
  for (const word of new Set(known)) {
    const n = known.filter((one) => one === word).length;
    if (n * 3 >= known.length * 2) return { word, n, of: known.length };
  }
  return null;
}

/** The same where there are three or more, and some say another. */
function majority(words: readonly (string | null)[]): ReturnType<typeof mostSaid> {
  const most = mostSaid(words);
  return most === null || most.of < SENSES_LEAST || most.n === most.of ? null : most;
}

/** Plus, the pole, or both are the other way round. */
function reversed(group: readonly Compared[], key: string): Outlier[] {
  const [plus, pole] = [plusOf, poleOf].map((of) => majority(group.map((one) => of(one, key))));
  return group.flatMap((one) => {
    const [ownPlus, ownPole] = [plusOf(one, key), poleOf(one, key)];
    const isTurned = plus !== null && ownPlus !== null && ownPlus !== plus.word;
    const isFlipped = pole !== null && ownPole !== null && ownPole !== pole.word;
    if (!isTurned && !isFlipped) return [];
    const parts = [
      isTurned ? `plus is ${ownPlus}, of ${plus.n} in ${plus.of} it is ${plus.word}` : '',
      isFlipped ? `the pole is ${ownPole}, of ${pole.n} in ${pole.of} it is ${pole.word}` : '',
    ].filter((part) => part !== '').join('; ');
    return [{ number: one.number, isReversed: true, z: null, text: `coil ${key}: ${parts}; ${meaning(one, group, key, isTurned, isFlipped)}` }];
  });
}

/**
 * What was done to one. Plus follows from winding and pole together, so a turned magnet moves both, another winding (or exchanged
 * leads) plus alone, and both of them the pole alone. Windings are compared by themselves, since poles may be known of few.
 */
function meaning(one: Compared, group: readonly Compared[], key: string, isTurned: boolean, isFlipped: boolean): string {
  const own = windingOf(one, key);
  const others = mostSaid(group.map((other) => (other === one ? null : windingOf(other, key))));
  const isOtherWay = own === null || others === null ? null : own !== others.word;
  if (isOtherWay === null) {
    if (!isFlipped) return 'it is wound the other way, its two leads are exchanged, or its magnet is turned: a magnet reading would tell';
    return isTurned ? 'its magnet is the other way round' : 'its magnet is turned; which way it is wound is not known';
  }
  if (!isOtherWay) return 'its magnet is the other way round';
  return isTurned ? 'it is wound the other way, or its two leads are exchanged'
    : 'it is wound the other way and its magnet is turned: hum cancels with one of the others';
}

/** Pickups of a group with a value that is known. */
function knownOf(group: readonly Compared[], key: string, { of }: Quantity): { readonly one: Compared; readonly value: number }[] {
  return group.flatMap((one) => {
    const coil = coilOf(one, key);
    const value = coil === undefined ? null : of(coil);
    return typeof value === 'number' && Number.isFinite(value) ? [{ one, value }] : [];
  });
}

function apart(group: readonly Compared[], key: string, quantity: Quantity): Outlier[] {
  const { words, unit } = quantity;
  const known = knownOf(group, key, quantity);
  if (known.length < N_LEAST) return [];
  const values = known.map(({ value }) => value);
  const middle = median(values);
  // Where more than half agree to the digit, half a percent stands for how far look-alikes lie apart.
  const spread = Math.max(medianDeviation(values), Math.abs(middle) * 0.005 * Z_SCALE);
  if (spread === 0) return [];
  return known.flatMap(({ one, value }) => {
    const z = (Z_SCALE * Math.abs(value - middle)) / spread;
    const part = value / middle - 1;
    if (z <= Z_MOST || Math.abs(part) < SHARE_LEAST) return [];
    const text = `coil ${key}: ${words} ${inUnit(value, unit)}, ${(Math.abs(part) * 100).toFixed(1)} % ${part > 0 ? 'above' : 'below'} ` +
      `the median ${inUnit(middle, unit)} (MAD ${inUnit(medianDeviation(values), unit)}, n = ${known.length})`;
    return [{ number: one.number, isReversed: false, z, text }];
  });
}

/** `8.34 kohm`, `2.31 H`, `95 pF`, `12 us`: three digits. */
export function inUnit(value: number, unit: string): string {
  const [factor, prefix] = unit === 'F' ? [1e12, 'p'] : unit === 's' ? [1e6, 'u'] : value >= 1000 ? [1e-3, 'k'] : [1, ''];
  return `${Number((value * factor).toPrecision(4))} ${prefix}${unit}`;
}
