/** Lead colours: the letter codes of IEC 60757 and the words for them. */

/** The codes in the order of the standard, and `BARE`, which is ours: an uncoated shield or drain wire.
 * @see IEC 60757:1983, table I; `GNYE` is the one combination with a word of its own
 */
const WORDS: ReadonlyMap<string, string> = new Map([
  ['BK', 'black'],
  ['BN', 'brown'],
  ['RD', 'red'],
  ['OG', 'orange'],
  ['YE', 'yellow'],
  ['GN', 'green'],
  ['BU', 'blue'],
  ['VT', 'violet'],
  ['GY', 'grey'],
  ['WH', 'white'],
  ['PK', 'pink'],
  ['GD', 'gold'],
  ['TQ', 'turquoise'],
  ['SR', 'silver'],
]);

/** The code of an uncoated wire. */
export const BARE = 'BARE';

/** What a colour field is expected to hold, for error messages. */
export const COLOUR_EXPECTED = 'a colour code of IEC 60757 such as BU, RDBU or GNYE, or BARE';

/** Whether a text is `BARE`, one colour code, or two different ones joined; green with yellow only as `GNYE`. */
export function isColour(code: string): boolean {
  if (code === BARE || WORDS.has(code)) return true;
  if (code.length !== 4 || code === 'YEGN') return false;
  const [first, second] = [code.slice(0, 2), code.slice(2)];
  return first !== second && WORDS.has(first) && WORDS.has(second);
}

/** A colour in words and code, for people: `blue (BU)`, `red and blue (RDBU)`, `bare wire (BARE)`.
 * @param code - a valid code, or undefined when the record names no colour
 */
export function colourInWords(code: string | undefined): string {
  if (code === undefined) return 'colour not noted';
  if (code === BARE) return 'bare wire (BARE)';
  const words = [code.slice(0, 2), code.slice(2)]
    .filter((part) => part !== '')
    .map((part) => WORDS.get(part) ?? part);
  return `${code === 'GNYE' ? words.join('-') : words.join(' and ')} (${code})`;
}
