/** What a person types, as people write it: ohms, swings, poles, leads and places. */
import { OHM_MOST, NAME_MOST, VOLT_MOST } from '../files/limits.ts';
import { printable } from '../text/printable.ts';
import { BARE, isColour } from '../wiremap/colours.ts';

/** Why something that was typed is not taken: one sentence that names it and what was expected. */
export interface Wrong {
  readonly wrong: string;
}

/** Whether something typed was refused. */
export function isWrong(read: unknown): read is Wrong {
  return typeof read === 'object' && read !== null && 'wrong' in read;
}

/** Ohms as a meter shows them; null with `above_ohm` is over range. */
export type TypedOhms = { readonly ohm: number } | { readonly ohm: null; readonly above_ohm: number };

/** What over range stands for when nobody says more: the megohm range of the simplest meters. */
export const OVER_RANGE_ohm = 2e6;

const OHMS_EXPECTED = 'ohms such as 4.13k, 4k13, 7,9k, 3.9M or 0.4, or OL for over range';
const SHOWN = 30;

/** Over range as meters show it and people say it. */
const OVER_RANGE = /^(ol|0l|o\.l\.?|\.ol|0\.l|open|inf|infinity|infinite|∞)$/;
const PREFIX: Readonly<Record<string, number>> = { '': 1, r: 1, k: 1e3, M: 1e6 };

/** Ohms: `4.13k`, `4k13`, `7,9k`, `3.9M`, `4130`, `0.4`, `4.13 kOhm`, `OL`, `>20M`.
 * A letter in the place of the point is the usual code of resistances (IEC 60062: R, K, M).
 */
export function readOhms(typed: string): TypedOhms | Wrong {
  const wrong = (why = 'is no resistance'): Wrong => ({ wrong: `"${printable(typed, SHOWN)}" ${why}; expected ${OHMS_EXPECTED}` });
  const text = typed.normalize('NFKC').replace(/\s+/g, '').replace(/(ohms?|[ωΩ])$/i, '').replace(/K/g, 'k').replace(/R/g, 'r');
  if (OVER_RANGE.test(text.toLowerCase())) return { ohm: null, above_ohm: OVER_RANGE_ohm };
  const isAbove = text.startsWith('>');
  const number = isAbove ? text.slice(1) : text;
  const [, whole, letter, rest] = /^(\d+)([rkmM])(\d+)$/.exec(number) ?? [];
  const [, plain, prefix] = /^(\d+(?:[.,]\d+)?|[.,]\d+)([rkmM]?)$/.exec(number) ?? [];
  const unit = letter ?? prefix;
  if (unit === 'm') return wrong('ends in m, which is a thousandth');
  if (/^-\d/.test(number)) return wrong('is below 0');
  const value = whole !== undefined ? Number(`${whole}.${rest}`) : plain !== undefined ? Number(plain.replace(',', '.')) : NaN;
  if (!Number.isFinite(value)) return wrong();
  // Through decimal digits: 4.13 * 1e3 is no whole number in binary.
  const ohm = Number((value * PREFIX[unit!]!).toPrecision(12));
  if (ohm > OHM_MOST) return wrong('is beyond any meter');
  if (!isAbove) return { ohm };
  return ohm > 0 ? { ohm: null, above_ohm: ohm } : wrong();
}

/** The first move of a needle, or of the digits, as steel arrives. */
export interface TypedSwing {
  readonly swing: 'positive' | 'negative' | 'none';
  /** A magnitude; missing when it was not noted. */
  readonly peak_V?: number;
}

const SWING_EXPECTED = '+, - or 0, or with its size in millivolts such as +66';
/** A number without a unit is millivolts up to here. */
const SWING_UNIT: Readonly<Record<string, number>> = { '': 1e-3, m: 1e-3, mv: 1e-3, v: 1 };

/** `+`, `-`, `0`; with its size `+66` (millivolts), `-12.5mV`, `+0.066V`. */
export function readSwing(typed: string): TypedSwing | Wrong {
  const wrong: Wrong = { wrong: `"${printable(typed, SHOWN)}" is no swing; expected ${SWING_EXPECTED}` };
  const text = typed.normalize('NFKC').replace(/\s+/g, '').replace(/[−–]/g, '-').toLowerCase();
  if (/^(0|none)$/.test(text)) return { swing: 'none' };
  const [, sign, size, unit = ''] = /^([+-])(?:(\d+(?:[.,]\d+)?|[.,]\d+)(mv|m|v)?)?$/.exec(text) ?? [];
  if (sign === undefined) return wrong;
  const swing = sign === '+' ? 'positive' : 'negative';
  if (size === undefined) return { swing };
  const peak_V = Number((Number(size.replace(',', '.')) * SWING_UNIT[unit]!).toPrecision(6));
  if (peak_V > VOLT_MOST) return wrong;
  return peak_V === 0 ? { swing: 'none' } : { swing, peak_V };
}

/** The pole of a face: `n` or `s`. */
export function readPole(typed: string): 'N' | 'S' | Wrong {
  const text = typed.trim().toLowerCase();
  if (text === 'n' || text === 'north') return 'N';
  if (text === 's' || text === 'south') return 'S';
  return { wrong: `"${printable(typed, SHOWN)}" is no pole; expected n for a north face or s for a south face` };
}

/** A lead that the person can tell from the others. */
export interface Lead {
  /** 1 to 6. */
  readonly clip: number;
  /** IEC 60757 code or `BARE`; missing where none was noted. */
  readonly colour?: string;
}

const LEADS = { least: 2, most: 6 } as const;
const LEADS_EXPECTED = `how many, ${LEADS.least} to ${LEADS.most}, or their colours in order such as BU YE GY BARE, with ? for one not noted`;

/** Leads: how many, or their colours in order, parted by spaces or commas. */
export function readLeads(typed: string): readonly Lead[] | Wrong {
  const wrong = (why: string): Wrong => ({ wrong: `${why}; expected ${LEADS_EXPECTED}` });
  const words = typed.toUpperCase().split(/[\s,;]+/).filter((word) => word !== '');
  if (words.length === 1 && /^\d+$/.test(words[0]!)) {
    const count = Number(words[0]);
    if (count < LEADS.least || count > LEADS.most) return wrong(`${printable(words[0]!, SHOWN)} leads are not what a pickup has here`);
    return Array.from({ length: count }, (_, index) => ({ clip: index + 1 }));
  }
  if (words.length < LEADS.least || words.length > LEADS.most)
    return wrong(words.length === 0 ? 'No lead is named' : `"${printable(typed, SHOWN)}" names ${words.length === 1 ? 'one lead' : `${words.length} leads`}`);
  const bad = words.find((word) => word !== '?' && !isColour(word));
  if (bad !== undefined) return wrong(`"${printable(bad, SHOWN)}" is no colour code (IEC 60757, or ${BARE})`);
  return words.map((word, index) => ({ clip: index + 1, ...(word === '?' ? {} : { colour: word }) }));
}

const PLACES_MOST = 3;
const PLACE_NAMES: Readonly<Record<number, readonly string[]>> = { 1: ['single'], 2: ['upper', 'lower'], 3: ['upper', 'middle', 'lower'] };
const PLACES_EXPECTED = `1, 2 or 3, or their names with commas such as ${PLACE_NAMES[2]!.join(', ')}`;

/** Places where steel can touch a coil: how many, or their names. */
export function readPlaces(typed: string): readonly string[] | Wrong {
  const wrong = (why: string): Wrong => ({ wrong: `${why}; expected ${PLACES_EXPECTED}` });
  const text = typed.trim();
  if (/^\d+$/.test(text)) return PLACE_NAMES[Number(text)] ?? wrong(`${printable(text, SHOWN)} places are not what a pickup has here`);
  const names = text.split(/[,;]/).map((name) => name.trim()).filter((name) => name !== '');
  if (names.length === 0) return wrong('No place is named');
  if (names.length > PLACES_MOST) return wrong(`${names.length} places are named`);
  const odd = names.find((name) => name.length > NAME_MOST || printable(name) !== name);
  if (odd !== undefined) return wrong(`"${printable(odd, SHOWN)}" is no name`);
  if (new Set(names).size < names.length) return wrong('One name stands twice');
  return names;
}

/** Ohms as a person reads them: `4.13 k`, `3.9 M`, `0.4 ohm`, four digits at most. */
export function ohmsInWords(ohm: number): string {
  const digits = Number(ohm.toPrecision(4));
  if (digits >= 1e6) return `${digits / 1e6} M`;
  return digits >= 1000 ? `${digits / 1e3} k` : `${digits} ohm`;
}
