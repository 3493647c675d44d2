/** Finds where a text stops being JSON and says so in one sentence; used only after the fast parser refused it. */
import { printable } from './printable.ts';
import { pathText } from './field-walk.ts';

/** Where the reading stopped. */
interface Place {
  readonly at: number;
  readonly keys: readonly (string | number)[];
  readonly expected: string;
}

const NUMBER = /-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?/y;
/** The first thing in a text that JSON does not allow there: a control character, or a backslash before anything but an escape. */
const BAD_IN_TEXT = /^(?:[^\\\u0000-\u001f]|\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4}))*?([\u0000-\u001f]|\\(?!["\\/bfnrt]|u[0-9a-fA-F]{4})[^]?)/;
const WORD = /[^\s,:[\]{}"]{1,40}/y;

/** One sentence on the first fault of a text that is not JSON.
 * @param text - a text that `JSON.parse` refused
 */
export function jsonFault(text: string): string {
  if (text.trim() === '') return 'empty; expected a JSON object';
  const place = findFault(text);
  const path = pathText(place.keys);
  const prefix = path === '' ? '' : `${path}: `;
  if (place.at >= text.trimEnd().length) {
    return `${prefix}the text ends here, at character ${text.length}; expected ${place.expected} (is the file cut short?)`;
  }
  const before = text.slice(0, place.at);
  const line = before.split('\n').length;
  const column = place.at - before.lastIndexOf('\n');
  WORD.lastIndex = place.at;
  const stood = WORD.exec(text)?.[0] ?? text[place.at] ?? '';
  const shown = stood === '"' ? "'\"'" : `"${printable(stood, 60)}"`;
  return `${prefix}${shown} at line ${line}, column ${column} is not JSON; expected ${place.expected}`;
}

/** Reads JSON without building it; iterative, so depth costs memory only. */
function findFault(text: string): Place {
  // One entry for each open list (its index) or object (its key).
  const keys: (string | number)[] = [];
  let at = skipSpace(text, 0);
  let wantsKey = false;
  for (;;) {
    if (wantsKey) {
      const end = stringEnd(text, at);
      if (end < 0) return fault(text, at, keys.slice(0, -1), 'a field name in double quotes');
      keys[keys.length - 1] = text.slice(at + 1, end - 1);
      at = skipSpace(text, end);
      if (text[at] !== ':') return { at, keys, expected: 'a colon' };
      at = skipSpace(text, at + 1);
      wantsKey = false;
      continue;
    }
    const opener = text[at];
    if (opener === '{' || opener === '[') {
      const inner = skipSpace(text, at + 1);
      const empty = text[inner] === (opener === '{' ? '}' : ']');
      if (!empty) {
        keys.push(opener === '{' ? '' : 0);
        wantsKey = opener === '{';
        at = inner;
        continue;
      }
      at = inner + 1;
    } else {
      const end = scalarEnd(text, at);
      if (end < 0) return fault(text, at, keys, 'a value');
      at = end;
    }
    // A value has ended: close what ends with it, or go on to the next entry.
    for (;;) {
      at = skipSpace(text, at);
      const key = keys.at(-1);
      if (key === undefined) return { at, keys, expected: 'nothing after the record' };
      const closer = typeof key === 'number' ? ']' : '}';
      if (text[at] === closer) {
        keys.pop();
        at += 1;
        continue;
      }
      if (text[at] !== ',') return { at, keys, expected: `a comma or ${closer}` };
      at = skipSpace(text, at + 1);
      if (typeof key === 'number') keys[keys.length - 1] = key + 1;
      else wantsKey = true;
      break;
    }
  }
}

/** A text is wrong at its first raw control or escape that is none, or cut short; anything else is wrong where it starts. */
function fault(
  text: string,
  at: number,
  keys: readonly (string | number)[],
  expected: string,
): Place {
  if (text[at] !== '"') return { at, keys, expected };
  const close = closingQuote(text, at);
  const inner = text.slice(at + 1, close < 0 ? undefined : close);
  const found = BAD_IN_TEXT.exec(inner);
  if (found !== null) {
    const raw = found[1] as string;
    const wanted = raw.startsWith('\\') ? 'an escape such as \\n or \\u001b' : `\\u${raw.charCodeAt(0).toString(16).padStart(4, '0')} for this character`;
    return { at: at + 1 + found.index + found[0].length - raw.length, keys, expected: wanted };
  }
  return { at: text.length, keys, expected: 'the end of a text' };
}

function skipSpace(text: string, from: number): number {
  let at = from;
  while (at < text.length && ' \t\n\r'.includes(text[at] as string)) at++;
  return at;
}

function scalarEnd(text: string, at: number): number {
  if (text[at] === '"') return stringEnd(text, at);
  for (const word of ['true', 'false', 'null']) {
    if (text.startsWith(word, at)) return at + word.length;
  }
  NUMBER.lastIndex = at;
  const number = NUMBER.exec(text)?.[0];
  return number === undefined ? -1 : at + number.length;
}

/** The index after a string's closing quote, or -1 when it is not a JSON string. */
function stringEnd(text: string, at: number): number {
  if (text[at] !== '"') return -1;
  const close = closingQuote(text, at);
  if (close < 0) return -1;
  try {
    JSON.parse(text.slice(at, close + 1));
  } catch {
    return -1;
  }
  return close + 1;
}

function closingQuote(text: string, at: number): number {
  for (let index = at + 1; index < text.length; index++) {
    if (text[index] === '\\') index++;
    else if (text[index] === '"') return index;
  }
  return -1;
}
