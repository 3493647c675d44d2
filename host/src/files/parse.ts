/** Bytes of one record to a JSON value, or one sentence on why not. */
import { isUtf8 } from 'node:buffer';
import { FieldError } from './field-walk.ts';
import { jsonFault } from './json-fault.ts';
import { BRACKETS_MOST, FIELDS_MOST } from './limits.ts';
import { repeatedKey } from './repeated-keys.ts';

/** A record that is not JSON at all; the message is the sentence. */
export class SyntaxFault extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'SyntaxFault';
  }
}

/** Records shorter than this hold neither too many brackets nor too many fields to bear. */
const SMALL_bytes = BRACKETS_MOST;

/** The JSON value that some bytes hold.
 * @param bytes - one whole document, with or without a byte order mark
 * @throws SyntaxFault when it is empty, not UTF-8, not JSON or nested beyond what can be borne; FieldError for a name that stands twice
 */
export function parseJson(bytes: Uint8Array): unknown {
  if (!isUtf8(bytes)) throw new SyntaxFault(`${notUtf8(bytes)}; expected JSON in UTF-8`);
  const view = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (view.length > SMALL_bytes) refuseMany(view);
  const hasMark = view.length >= 3 && view[0] === 0xef && view[1] === 0xbb && view[2] === 0xbf;
  const text = view.toString('utf8', hasMark ? 3 : 0);
  const value = parsed(text);
  // The parser keeps the last of them, so that "plus" said twice could turn a coil over without a word.
  const repeated = repeatedKey(text);
  if (repeated !== null) throw new FieldError(repeated, 'stands twice', 'each name once');
  return value;
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text) as unknown;
  } catch {
    throw new SyntaxFault(jsonFault(text));
  }
}

/** Where the bytes stop being UTF-8. */
function notUtf8(bytes: Uint8Array): string {
  let low = 0;
  let high = bytes.length;
  // Halving for the longest sound beginning; a character cut in two at the edge is at most 3 bytes long.
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (soundBeginning(bytes, middle)) low = middle;
    else high = middle - 1;
  }
  while (!isUtf8(bytes.subarray(0, low))) low--;
  const value = (bytes[low] ?? 0).toString(16).padStart(2, '0');
  return `byte ${low} is 0x${value}, which is not UTF-8`;
}

function soundBeginning(bytes: Uint8Array, length: number): boolean {
  for (let cut = 0; cut <= 3 && cut <= length; cut++) {
    if (isUtf8(bytes.subarray(0, length - cut)))
      return cut === 0 || isPartial(bytes, length - cut, length);
  }
  return false;
}

/** Whether the bytes from start to end are the beginning of one character. */
function isPartial(bytes: Uint8Array, start: number, end: number): boolean {
  const lead = bytes[start] as number;
  const size =
    lead >= 0xf0 && lead <= 0xf4
      ? 4
      : lead >= 0xe0 && lead < 0xf0
        ? 3
        : lead >= 0xc2 && lead < 0xe0
          ? 2
          : 0;
  if (size <= end - start) return false;
  for (let at = start + 1; at < end; at++)
    if (((bytes[at] as number) & 0xc0) !== 0x80) return false;
  return true;
}

/** Each list, object and field costs tens of bytes once read: millions of them in one record are no record. */
function refuseMany(view: Buffer): void {
  if (countOf(view, [OPEN_LIST, OPEN_OBJECT]) > BRACKETS_MOST && countOutside(view, OPEN_LIST, OPEN_OBJECT) > BRACKETS_MOST) {
    throw tooMany(BRACKETS_MOST, 'lists and objects');
  }
  if (countOf(view, [COLON]) > FIELDS_MOST && countOutside(view, COLON, COLON) > FIELDS_MOST) {
    throw tooMany(FIELDS_MOST, 'fields');
  }
}

function tooMany(most: number, what: string): SyntaxFault {
  return new SyntaxFault(`more than ${most} ${what} in one record; expected at most ${most}`);
}

const [QUOTE, COLON, OPEN_LIST, BACKSLASH, OPEN_OBJECT] = [0x22, 0x3a, 0x5b, 0x5c, 0x7b];

/** How often some bytes occur anywhere: fast, and nearly always few enough. */
function countOf(view: Buffer, bytes: readonly number[]): number {
  let count = 0;
  for (const byte of bytes) {
    for (let at = view.indexOf(byte); at >= 0; at = view.indexOf(byte, at + 1)) count++;
  }
  return count;
}

/** How often either of two bytes occurs outside of texts. */
function countOutside(view: Buffer, one: number, other: number): number {
  let count = 0;
  let quoted = false;
  for (let at = 0; at < view.length; at++) {
    const byte = view[at];
    if (quoted) {
      if (byte === BACKSLASH) at++;
      else if (byte === QUOTE) quoted = false;
    } else if (byte === QUOTE) quoted = true;
    else if (byte === one || byte === other) count++;
  }
  return count;
}
