/** Bytes of one record to a JSON value, or one sentence on why not. */
import { isUtf8 } from 'node:buffer';
import { jsonFault } from './json-fault.ts';
import { BRACKETS_MOST } from './limits.ts';

/** A record that is not JSON at all; the message is the sentence. */
export class SyntaxFault extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'SyntaxFault';
  }
}

/** Records shorter than this cannot hold too many brackets to bear. */
const SMALL_bytes = 2 * BRACKETS_MOST;

/** The JSON value that some bytes hold.
 * @param bytes - one whole document, with or without a byte order mark
 * @throws SyntaxFault when it is empty, not UTF-8, not JSON or nested beyond what can be borne
 */
export function parseJson(bytes: Uint8Array): unknown {
  if (!isUtf8(bytes)) throw new SyntaxFault(`${notUtf8(bytes)}; expected JSON in UTF-8`);
  const view = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (view.length > SMALL_bytes) refuseBrackets(view);
  const hasMark = view.length >= 3 && view[0] === 0xef && view[1] === 0xbb && view[2] === 0xbf;
  const text = view.toString('utf8', hasMark ? 3 : 0);
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

/** Each list or object costs tens of bytes once read: millions of them in one record are no record. */
function refuseBrackets(view: Buffer): void {
  let count = 0;
  for (const bracket of [0x5b, 0x7b]) {
    for (let at = view.indexOf(bracket); at >= 0; at = view.indexOf(bracket, at + 1)) {
      if (++count > BRACKETS_MOST) {
        throw new SyntaxFault(
          `more than ${BRACKETS_MOST} lists and objects in one record; expected at most ${BRACKETS_MOST}`,
        );
      }
    }
  }
}
