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
const N_LEAST = 5;
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

export interface OutlierReport {
  /** Groups of look-alikes that were compared: their leads, and how many they are. */
  readonly groups: readonly { readonly leads: string; readonly n: number }[];
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
  const outliers = [...groups].flatMap(([key, group]) => {
    const keys = key === '' ? [] : [...new Set(key.split(', '))];
    return keys.flatMap((coil) => [...reversed(group, coil), ...QUANTITIES.flatMap((quantity) => apart(group, coil, quantity))]);
  });
  return {
    groups: [...groups].map(([leads, { length }]) => ({ leads: leads === '' ? 'no coil' : leads, n: length })),
    outliers: outliers.sort((a, b) => Number(b.isReversed) - Number(a.isReversed) || (b.z ?? 0) - (a.z ?? 0)),
  };
}

function coilOf(one: Compared, key: string): WireMapCoil | undefined {
  return one.map.coils.find((coil) => coilKey(one, coil) === key);
}

/** The word that most say, when two thirds of three or more do. */
function majority(words: readonly (string | null)[]): { readonly word: string; readonly n: number; readonly of: number } | null {
  const known = words.filter((word) => word !== null);
  for (const word of new Set(known)) {
    const n = known.filter((one) => one === word).length;
    if (known.length >= 3 && n * 3 >= known.length * 2 && n < known.length) return { word, n, of: known.length };
  }
  return null;
}

/**
 * Plus, the pole, or both are the other way round. By the conventions plus follows from winding and pole together, so what
 * differs tells what was done: a turned magnet moves both, another winding (or exchanged leads) plus alone, and both of them the pole alone.
 */
function reversed(group: readonly Compared[], key: string): Outlier[] {
  const plusOf = (one: Compared): string | null => {
    const plus = coilOf(one, key)?.plus ?? null;
    return plus === null ? null : one.lead(plus);
  };
  const poleOf = (one: Compared): string | null => coilOf(one, key)?.pole ?? null;
  const [plus, pole] = [majority(group.map(plusOf)), majority(group.map(poleOf))];
  return group.flatMap((one) => {
    const [ownPlus, ownPole] = [plusOf(one), poleOf(one)];
    const isTurned = plus !== null && ownPlus !== null && ownPlus !== plus.word;
    const isFlipped = pole !== null && ownPole !== null && ownPole !== pole.word;
    if (!isTurned && !isFlipped) return [];
    const parts = [
      isTurned ? `plus is ${ownPlus}, of ${plus.n} in ${plus.of} it is ${plus.word}` : '',
      isFlipped ? `the pole is ${ownPole}, of ${pole.n} in ${pole.of} it is ${pole.word}` : '',
    ].filter((part) => part !== '').join('; ');
    const poleTells = ownPole !== null && group.some((other) => poleOf(other) !== null);
    const meaning = isTurned && isFlipped ? 'its magnet is the other way round'
      : isFlipped ? 'it is wound the other way and its magnet is turned: hum cancels with one of the others'
        : poleTells ? 'it is wound the other way, or its two leads are exchanged'
          : 'it is reversed; a magnet reading would tell whether by its winding or its magnet';
    return [{ number: one.number, isReversed: true, z: null, text: `coil ${key}: ${parts}; ${meaning}` }];
  });
}

function apart(group: readonly Compared[], key: string, { words, unit, of }: Quantity): Outlier[] {
  const known = group.flatMap((one) => {
    const coil = coilOf(one, key);
    const value = coil === undefined ? null : of(coil);
    return typeof value === 'number' && Number.isFinite(value) ? [{ one, value }] : [];
  });
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
