/**
 * Cuts an input into records: one JSON document, or JSON lines.
 *
 * Nothing is parsed here but a first and a second line; a batch of whole lines is handed on as bytes,
 * so that a worker can take it without a copy. Memory is bounded by one record (limits.ts) and one batch.
 */
import type { ByteSource } from '../edge/files.ts';
import { RECORD_MOST_MiB } from './limits.ts';

/** Bytes of one or more whole records of an input. */
export interface Batch {
  readonly kind: 'batch';
  /** Whole lines, or one whole document. */
  readonly bytes: Uint8Array;
  /** Number of the first line, from 1; null when the input is one document. */
  readonly firstLine: number | null;
}

/** A record that is not even read. */
export interface Refusal {
  readonly kind: 'refusal';
  readonly line: number | null;
  readonly message: string;
}

export type Portion = Batch | Refusal;

/** Lines gathered into one batch before it is handed on, bytes. */
const BATCH_bytes = 1 << 20;
const MiB_bytes = 1 << 20;
const NEWLINE = 0x0a;
const EMPTY = new Uint8Array(0);

/** The sentence on a record, or on the one document of a file, that is too long to be read. */
function tooLong(most_MiB: number): string {
  return `more than ${most_MiB} MiB in one record; expected at most ${most_MiB} MiB`;
}

/** Records of an input, in order.
 * @param source - read to its end, or until it is refused; the caller closes it
 * @param most_MiB - of one record
 */
export async function* portions(source: ByteSource, most_MiB = RECORD_MOST_MiB): AsyncGenerator<Portion> {
  const head = await readHead(source, most_MiB * MiB_bytes);
  if (head.kind === 'tooLong') {
    yield { kind: 'refusal', line: null, message: tooLong(most_MiB) };
    return;
  }
  if (head.kind === 'document') {
    yield { kind: 'batch', bytes: head.bytes, firstLine: null };
    return;
  }
  yield* lines(source, head.bytes, most_MiB);
}

/** The beginning of an input, and what it turned out to be; a document is read whole. */
type Head = { kind: 'document' | 'lines'; bytes: Uint8Array } | { kind: 'tooLong' };

async function readHead(source: ByteSource, most_bytes: number): Promise<Head> {
  const gathered = new Gathered();
  let look: 'document' | 'lines' | 'more' = 'more';
  // Looked at again only when twice as much is there, so that looking costs as much as reading at most.
  let lookAt_bytes = 1;
  for (;;) {
    const chunk = await source.next();
    const ended = chunk === null;
    if (chunk !== null) gathered.add(chunk);
    if (look === 'more' && (ended || gathered.length >= lookAt_bytes)) {
      look = kindOf(gathered.whole(), ended);
      lookAt_bytes = gathered.length * 2;
    }
    if (look === 'lines') return { kind: 'lines', bytes: gathered.whole() };
    if (ended) return { kind: 'document', bytes: gathered.whole() };
    if (gathered.length > most_bytes) {
      const all = gathered.whole();
      if (kindOf(all, false) === 'lines' || beginsLines(all)) return { kind: 'lines', bytes: all };
      return { kind: 'tooLong' };
    }
  }
}

/** Bytes gathered in one buffer that doubles: what it costs is their number, however small the pieces are in which they come. */
class Gathered {
  length = 0;
  private buffer = EMPTY;

  add(chunk: Uint8Array): void {
    const length = this.length + chunk.length;
    if (length > this.buffer.length) {
      const larger = new Uint8Array(Math.max(length, 2 * this.buffer.length));
      larger.set(this.whole());
      this.buffer = larger;
    }
    this.buffer.set(chunk, this.length);
    this.length = length;
  }

  /** A view of what is here; it stays as it is, whatever is added. */
  whole(): Uint8Array {
    return this.buffer.subarray(0, this.length);
  }
}

/**
 * What the beginning of an input says: several lines of which the first is a whole object, or the second
 * is a record by itself, are JSON lines; everything else is one document, however it is broken into lines.
 */
function kindOf(bytes: Uint8Array, ended: boolean): 'document' | 'lines' | 'more' {
  const undecided = ended ? 'document' : 'more';
  const first = nextLine(bytes, 0);
  if (first === null) return undecided;
  const second = firstContent(bytes, first.end);
  if (second < 0) return undecided;
  if (bytes[first.start] === 0x7b && isBalanced(bytes.subarray(first.start, first.end)))
    return 'lines';
  const candidate =
    nextLine(bytes, second) ?? (ended ? { start: second, end: bytes.length } : null);
  if (candidate === null) return undecided;
  return isRecord(bytes.subarray(candidate.start, candidate.end)) ? 'lines' : 'document';
}

/** A first line that is too long to be kept is skipped when what came before the limit shows a whole line at all. */
function beginsLines(bytes: Uint8Array): boolean {
  return bytes[firstContent(bytes, 0)] === 0x7b && nextLine(bytes, 0) === null;
}

/** The next line that is not blank and is ended by a newline. */
function nextLine(bytes: Uint8Array, from: number): { start: number; end: number } | null {
  const start = firstContent(bytes, from);
  if (start < 0) return null;
  const end = bytes.indexOf(NEWLINE, start);
  return end < 0 ? null : { start, end };
}

/** Index of the first byte that is no white space (and no byte order mark), or -1. */
function firstContent(bytes: Uint8Array, from: number): number {
  let at = from;
  if (at === 0 && bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf) at = 3;
  while (at < bytes.length && isSpace(bytes[at] as number)) at++;
  return at < bytes.length ? at : -1;
}

function isSpace(byte: number): boolean {
  return byte === 0x20 || byte === 0x09 || byte === 0x0a || byte === 0x0d;
}

/** Whether every bracket that a line opens is closed on it. */
function isBalanced(line: Uint8Array): boolean {
  let depth = 0;
  let quoted = false;
  for (let at = 0; at < line.length; at++) {
    const byte = line[at] as number;
    if (quoted) {
      if (byte === 0x5c) at++;
      else if (byte === 0x22) quoted = false;
    } else if (byte === 0x22) quoted = true;
    else if (byte === 0x7b || byte === 0x5b) depth++;
    else if (byte === 0x7d || byte === 0x5d) depth--;
  }
  return depth === 0 && !quoted;
}

function isRecord(line: Uint8Array): boolean {
  if (line[0] !== 0x7b) return false;
  try {
    return Object.hasOwn(JSON.parse(Buffer.from(line).toString('utf8')) as object, 'format');
  } catch {
    return false;
  }
}

/** JSON lines, batch by batch; a line beyond the limit is skipped without being kept. */
async function* lines(source: ByteSource, begun: Uint8Array, most_MiB: number): AsyncGenerator<Portion> {
  const most_bytes = most_MiB * MiB_bytes;
  let line = 1;
  let held = new Gathered();
  let skipping = false;
  let chunk: Uint8Array | null = begun;
  for (; chunk !== null; chunk = await source.next()) {
    let fresh = chunk;
    if (skipping) {
      const end = fresh.indexOf(NEWLINE);
      if (end < 0) continue;
      skipping = false;
      line += 1;
      fresh = fresh.subarray(end + 1);
    }
    const last = fresh.lastIndexOf(NEWLINE);
    if (last >= 0) {
      held.add(fresh.subarray(0, last + 1));
      if (held.length >= BATCH_bytes) {
        const bytes = held.whole();
        yield { kind: 'batch', bytes, firstLine: line };
        line += newlines(bytes);
        held = new Gathered();
      }
      fresh = fresh.subarray(last + 1);
    }
    if (fresh.length > 0) held.add(fresh);
    if (held.length <= most_bytes) continue;
    // What is held is less than a batch of whole lines and then one line that does not end.
    const bytes = held.whole();
    const lastEnd = bytes.lastIndexOf(NEWLINE);
    if (bytes.length - (lastEnd + 1) <= most_bytes) continue;
    if (lastEnd >= 0) {
      const whole = bytes.slice(0, lastEnd + 1);
      yield { kind: 'batch', bytes: whole, firstLine: line };
      line += newlines(whole);
    }
    yield { kind: 'refusal', line, message: tooLong(most_MiB) };
    held = new Gathered();
    skipping = true;
  }
  if (held.length > 0) yield { kind: 'batch', bytes: held.whole(), firstLine: line };
}

function newlines(bytes: Uint8Array): number {
  let count = 0;
  for (let at = bytes.indexOf(NEWLINE); at >= 0; at = bytes.indexOf(NEWLINE, at + 1)) count++;
  return count;
}

/** The records of a batch: its document, or its lines that are not blank.
 * @returns each record's bytes and its line number, null for a document
 */
export function* records(batch: Batch): Generator<{ bytes: Uint8Array; line: number | null }> {
  if (batch.firstLine === null) {
    yield { bytes: batch.bytes, line: null };
    return;
  }
  let line = batch.firstLine;
  for (let start = 0; start < batch.bytes.length; line++) {
    const found = batch.bytes.indexOf(NEWLINE, start);
    const end = found < 0 ? batch.bytes.length : found;
    const bytes = batch.bytes.subarray(start, end);
    if (firstContent(bytes, 0) >= 0) yield { bytes, line };
    start = end + 1;
  }
}
