/** Finds where a text stops being JSON and says so in one sentence; used only after the fast parser refused it. */
import { printable } from '../text/printable.ts';
import { pathText } from './field-walk.ts';

/** Where the reading stopped. */
interface Place {
  readonly at: number;
  readonly keys: readonly (string | number)[];
  readonly expected: string;
}

const NUMBER = /-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?/y;
const ESCAPE = /["\\/bfnrt]|u[0-9a-fA-F]{4}/y;
const [NEWLINE, QUOTE, BACKSLASH, FIRST_VISIBLE] = [0x0a, 0x22, 0x5c, 0x20];
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
  const { line, column } = lineOf(text, place.at);
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
      const outer = keys.slice(0, -1);
      if (text[at] !== '"') return { at, keys: outer, expected: 'a field name in double quotes' };
      const { end, fault } = readText(text, at);
      if (fault !== null) return { ...fault, keys: outer };
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
      const { end, fault } = text[at] === '"' ? readText(text, at) : readWord(text, at);
      if (fault !== null) return { ...fault, keys };
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

/** A text or a word that was read: the index after it, or what is wrong with it. */
interface Read {
  readonly end: number;
  readonly fault: { readonly at: number; readonly expected: string } | null;
}

/** A text is wrong at its first raw control or escape that is none, or when it does not end. A loop: a text may be of any length. */
function readText(text: string, start: number): Read {
  for (let at = start + 1; at < text.length; at++) {
    const code = text.charCodeAt(at);
    if (code === QUOTE) return { end: at + 1, fault: null };
    if (code < FIRST_VISIBLE) {
      return { end: -1, fault: { at, expected: `\\u${code.toString(16).padStart(4, '0')} for this character` } };
    }
    if (code !== BACKSLASH) continue;
    ESCAPE.lastIndex = at + 1;
    if (at + 1 >= text.length) break;
    if (!ESCAPE.test(text)) return { end: -1, fault: { at, expected: 'an escape such as \\n or \\u001b' } };
    at = ESCAPE.lastIndex - 1;
  }
  return { end: -1, fault: { at: text.length, expected: 'the end of a text' } };
}

function readWord(text: string, at: number): Read {
  for (const word of ['true', 'false', 'null']) {
    if (text.startsWith(word, at)) return { end: at + word.length, fault: null };
  }
  NUMBER.lastIndex = at;
  if (!NUMBER.test(text)) return { end: -1, fault: { at, expected: 'a value' } };
  return { end: NUMBER.lastIndex, fault: null };
}

function skipSpace(text: string, from: number): number {
  let at = from;
  for (; at < text.length; at++) {
    const code = text.charCodeAt(at);
    if (code !== 0x20 && code !== NEWLINE && code !== 0x09 && code !== 0x0d) break;
  }
  return at;
}

/** Line and column of a place, both from 1. */
function lineOf(text: string, place: number): { line: number; column: number } {
  let line = 1;
  let start = 0;
  for (let at = text.indexOf('\n'); at >= 0 && at < place; at = text.indexOf('\n', at + 1)) {
    line += 1;
    start = at + 1;
  }
  return { line, column: place - start + 1 };
}
