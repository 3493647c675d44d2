/** How much room a text takes in a terminal, whose cells some letters fill two of and some marks none. */
import { eastAsianWidth } from 'get-east-asian-width';

/** What stands on the letter before it. */
const MARK = /^[\p{Mn}\p{Me}\p{Cf}]$/u;
const PLAIN = /^[\x20-\x7e]*$/;
/** Asks for a picture in place of the sign before it, and so for a second cell. */
const AS_PICTURE = '\ufe0f';

function widthOf(character: string, isAfterNarrow: boolean): number {
  if (character === AS_PICTURE) return isAfterNarrow ? 1 : 0;
  return MARK.test(character) ? 0 : eastAsianWidth(character.codePointAt(0)!);
}

/** Cells that a text fills. */
export function cellsOf(text: string): number {
  if (PLAIN.test(text)) return text.length;
  let [cells, last] = [0, 0];
  for (const character of text) {
    last = widthOf(character, last === 1);
    cells += last;
  }
  return cells;
}

/** How long the part of a text is that fits, in units of its length; a letter and what stands on it stay together. */
export function lengthThatFits(text: string, cells: number): number {
  if (PLAIN.test(text)) return Math.min(text.length, Math.max(0, cells));
  let [left, length, last] = [cells, 0, 0];
  for (const character of text) {
    last = widthOf(character, last === 1);
    left -= last;
    if (left < 0) break;
    length += character.length;
  }
  return length;
}

/** Filled up with spaces. */
export function padded(text: string, cells: number): string {
  return `${text}${' '.repeat(Math.max(0, cells - cellsOf(text)))}`;
}

/** Cut, where it is too long, with a sign that says so. */
export function cut(text: string, cells: number): string {
  return cellsOf(text) <= cells ? text : `${text.slice(0, lengthThatFits(text, cells - 1))}…`;
}
