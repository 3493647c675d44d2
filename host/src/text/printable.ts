/** Text that came from a file, made safe and visible before it reaches a terminal. */

/**
 * What must not reach a terminal as it is: C0 and C1 controls, line and paragraph separators,
 * bidirectional controls, characters of no width, tags, lone surrogates. Sources: Unicode 15,
 * general categories Cc, Cf, Zl, Zp, Cs; a soft hyphen and a byte order mark are among Cf.
 */
const HIDDEN = /[\p{Cc}\p{Cf}\p{Zl}\p{Zp}\p{Cs}]/gu;

const SHORT: ReadonlyMap<string, string> = new Map([
  ['\n', '\\n'],
  ['\r', '\\r'],
  ['\t', '\\t'],
]);

/** The text with every invisible character written out, such as `\x1b` or `\u{202e}`.
 * @param text - any text, from a file or a name given by the user
 * @param most - longest result in characters; a longer one ends in `...`
 */
export function printable(text: string, most = Infinity): string {
  // Cut before the replacement, which may lengthen sixfold: a name of 100 MB costs nothing.
  const head = text.length > most ? text.slice(0, most) : text;
  const shown = head.replace(HIDDEN, escape);
  if (text.length <= most && shown.length <= most) return shown;
  return `${shown.slice(0, Math.max(0, most - 3))}...`;
}

function escape(character: string): string {
  const known = SHORT.get(character);
  if (known !== undefined) return known;
  const code = character.codePointAt(0) as number;
  return code < 0x100 ? `\\x${code.toString(16).padStart(2, '0')}` : `\\u{${code.toString(16)}}`;
}

/** A value as one line of JSON that a terminal can be shown: invisible characters stand as escapes, the value is the same. */
export function jsonLine(value: unknown): string {
  return `${JSON.stringify(value).replace(HIDDEN, escapeUnits)}\n`;
}

function escapeUnits(character: string): string {
  let escaped = '';
  for (let unit = 0; unit < character.length; unit++) {
    escaped += `\\u${character.charCodeAt(unit).toString(16).padStart(4, '0')}`;
  }
  return escaped;
}
