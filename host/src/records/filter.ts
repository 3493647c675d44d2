/** What is looked for, as people write it: the same words on the command line and on the screen. */
import { isColour } from '../wiremap/colours.ts';
import { offer } from '../text/offer.ts';
import { printable } from '../text/printable.ts';
import { searchWords } from './facts.ts';
import type { Filter } from './searching.ts';
import { isState, STATES } from './states.ts';

/** By what lists are narrowed. */
export const FILTER_NAMES = ['number', 'lot', 'state', 'verdict', 'ohms', 'leads', 'pole', 'text'] as const;
export type FilterName = (typeof FILTER_NAMES)[number];
export type FilterTexts = Readonly<Partial<Record<FilterName, string>>>;

/** A value that is not understood; the message says what was expected. */
export class FilterFault extends Error {
  readonly of: FilterName;

  /** @param words - those that there are, where it is one of a few; `expected` is then what it is one of */
  constructor(of: FilterName, given: string, expected: string, words: readonly string[] = []) {
    super(`"${printable(given, 60)}" is ${words.length === 0 ? `not understood; expected ${expected}` : `no ${expected}; ${offer(given.toLowerCase(), words)}`}`);
    this.name = 'FilterFault';
    this.of = of;
  }
}

const VERDICTS = ['good', 'fault', 'unsure'];
const OHMS = /^(\d+(?:\.\d+)?)?(k)?\.\.(?:(\d+(?:\.\d+)?)(k)?)?$/i;

/** @throws FilterFault */
export function readFilter({ number, lot, state, verdict, ohms, leads, pole, text }: FilterTexts): Filter {
  if (state !== undefined && !isState(state)) throw new FilterFault('state', state, 'state', STATES);
  if (verdict !== undefined && !VERDICTS.includes(verdict)) throw new FilterFault('verdict', verdict, 'verdict', VERDICTS);
  return {
    ...(number === undefined ? {} : { number }), ...(lot === undefined ? {} : { lot }),
    ...(state === undefined ? {} : { state }), ...(verdict === undefined ? {} : { verdict }),
    ...(ohms === undefined ? {} : readOhms(ohms)), ...(leads === undefined ? {} : readLeads(leads)),
    ...(pole === undefined ? {} : { poles: readPoles(pole) }),
    ...(text === undefined ? {} : { words: searchWords(text) }),
  };
}

function readOhms(given: string): Filter {
  const range = OHMS.exec(given);
  if (range === null || given === '..') throw new FilterFault('ohms', given, 'two values with .. between them, such as 7k..8.5k');
  const ohm = (digits: string | undefined, kilo: string | undefined): number | undefined =>
    digits === undefined ? undefined : Number(digits) * (kilo === undefined ? 1 : 1000);
  const [ohmLeast, ohmMost] = [ohm(range[1], range[2]), ohm(range[3], range[4])];
  if (ohmLeast !== undefined && ohmMost !== undefined && ohmLeast > ohmMost)
    throw new FilterFault('ohms', given, 'the smaller value first, such as 7k..8.5k');
  return { ...(ohmLeast === undefined ? {} : { ohmLeast }), ...(ohmMost === undefined ? {} : { ohmMost }) };
}

function readLeads(given: string): Filter {
  if (/^[1-6]$/.test(given)) return { leads: Number(given) };
  const colours = given.toUpperCase().split(',');
  if (!colours.every(isColour)) throw new FilterFault('leads', given, 'a count from 1 to 6, or colour codes with commas between them, such as BU,GY');
  return { colours };
}

function readPoles(given: string): ('N' | 'S')[] {
  const poles = [...new Set(given.toUpperCase())];
  if (!poles.every((one) => one === 'N' || one === 'S')) throw new FilterFault('pole', given, 'N, S or NS');
  return poles as ('N' | 'S')[];
}

/** A word with the name of what it narrows before it: `state:good`, `lot:"box 3"`. */
const WORD = /(?:([a-z]+):)?(?:"([^"]*)"?|(\S+))/giu;

/**
 * A line as it is typed on a screen: `name:value` narrows, two values with `..` between them are ohms, all else is looked for in the text.
 * @returns the filter, or the sentence that says what is not understood
 */
export function readSearchLine(line: string): Filter | { readonly wrong: string } {
  const texts: Partial<Record<FilterName, string>> = {};
  const words: string[] = [];
  for (const [whole, name, quoted, plain] of line.matchAll(WORD)) {
    const value = quoted ?? plain ?? '';
    const known = FILTER_NAMES.find((one) => one === name?.toLowerCase());
    if (known !== undefined && known !== 'text') texts[known] = value;
    else if (known === undefined && name === undefined && quoted === undefined && OHMS.test(value) && value !== '..') texts.ohms = value;
    else if (known === undefined && name !== undefined) return { wrong: `${printable(name, 20)}: is not known; ${offer(name, FILTER_NAMES.map((one) => `${one}:`))}` };
    else words.push(known === 'text' ? value : whole.replaceAll('"', ''));
  }
  try {
    return readFilter({ ...texts, ...(words.length === 0 ? {} : { text: words.join(' ') }) });
  } catch (error) {
    if (!(error instanceof FilterFault)) throw error;
    return { wrong: `${error.of}: ${error.message}` };
  }
}
