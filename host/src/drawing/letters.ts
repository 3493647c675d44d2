/** Widths of letters: Helvetica, one of the fonts that every reader of PDF has (ISO 32000-1, 9.6.2.2); Arial is as wide. */
import { StandardFontEmbedder, StandardFontValues } from '@cantoo/pdf-lib';
import { printable } from '../text/printable.ts';
import type { TextShape } from './scene.ts';

type FontName = Parameters<typeof StandardFontEmbedder.for>[0];

/** The same name in the library's list of fonts. */
function font(name: 'Helvetica' | 'Helvetica-Bold'): StandardFontEmbedder {
  if (!StandardFontValues.some((known) => (known as string) === name)) throw new Error(`no font ${name}`);
  return StandardFontEmbedder.for(name as unknown as FontName);
}

const REGULAR = font('Helvetica');
const BOLD = font('Helvetica-Bold');

/** Highest and lowest point of letters, parts of the size: of Helvetica's d and p (its metrics file). */
export const ASCENT = 0.72;
export const DESCENT = 0.21;

/** Width of a text, in the unit of its size. A letter that the font lacks is taken to be as wide as its widest. */
export function widthOf(words: string, size: number, bold = false): number {
  const key = `${bold ? 'b' : 'r'}${words}`;
  let unit = units.get(key);
  if (unit === undefined) {
    const known = [...words].map((letter) => (hasLetter(letter) ? letter : 'W')).join('');
    unit = (bold ? BOLD : REGULAR).widthOfTextAtSize(known, 1);
    units.set(key, unit);
  }
  return unit * size;
}

/** Widths at size 1 that were needed so far. */
const units = new Map<string, number>();

/** Whether the fonts have a letter. */
export function hasLetter(letter: string): boolean {
  return REGULAR.encoding.canEncodeUnicodeCodePoint(letter.codePointAt(0) as number);
}

/** A text that the fonts can show: what is invisible, or not among their letters, is written out, such as `\u{416}`. */
export function legible(words: string): string {
  return [...printable(words)].map((letter) => (hasLetter(letter) ? letter : `\\u{${letter.codePointAt(0)!.toString(16)}}`)).join('');
}

/** The rectangle that a text fills. */
export function boxOf({ at, text, size, bold, anchor }: TextShape): { left: number; top: number; right: number; bottom: number } {
  const width = widthOf(text, size, bold);
  const left = anchor === 'start' ? at.x : anchor === 'middle' ? at.x - width / 2 : at.x - width;
  return { left, top: at.y - ASCENT * size, right: left + width, bottom: at.y + DESCENT * size };
}

/** The text, or as much of its beginning as fits, with three dots. */
export function fitted(words: string, size: number, most: number, bold = false): string {
  if (widthOf(words, size, bold) <= most) return words;
  const letters = [...words];
  while (letters.length > 0 && widthOf(`${letters.join('')}...`, size, bold) > most) letters.pop();
  return `${letters.join('').trimEnd()}...`;
}

/** Lines of a text, broken at spaces; a word that is wider than a line is broken hard. */
export function wrapped(words: string, size: number, most: number, bold = false): string[] {
  const lines: string[] = [];
  let now = '';
  for (const word of words.split(' ')) {
    const longer = now === '' ? word : `${now} ${word}`;
    if (widthOf(longer, size, bold) <= most) {
      now = longer;
      continue;
    }
    if (now !== '') lines.push(now);
    now = '';
    for (const letter of word) {
      if (widthOf(now + letter, size, bold) > most) {
        lines.push(now);
        now = '';
      }
      now += letter;
    }
  }
  return [...lines, now];
}
