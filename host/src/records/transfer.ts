/**
 * The stock as JSON lines, to take from one computer to another without loss (format `stock/1`).
 * The first line says what the file is; each further one is an entry of the journal, a test with its whole bench record and map.
 */
import { asBenchRecord } from '../files/bench-file.ts';
import { FieldError } from '../files/field-walk.ts';
import { asWholeMap } from '../files/wiremap-file.ts';
import { jsonLine, printable } from '../text/printable.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { factsOf, NO_FACTS } from './facts.ts';
import type { Entry } from './journal.ts';
import type { NewEvent, NewLot, NewPickup, NewTest } from './keeping.ts';
import { numberFault } from './numbers.ts';
import { DamagedEvidence, packRecord, packText, unpackRecord, unpackText } from './packing.ts';
import { isState } from './states.ts';

export const TRANSFER_FORMAT = 'stock/1';

/** @param taken - time of day, UTC @param entries - lines that follow */
export function headLine(taken: string, entries: number): string {
  return jsonLine({ format: TRANSFER_FORMAT, taken, entries });
}

/** One entry as a line. Evidence that cannot be read any more is handed on as the bytes that it is. */
export function entryLine(entry: Entry): string {
  if (entry.op !== 'test') return jsonLine(entry);
  const { op, args, evidence } = entry;
  try {
    const map = unpackText(evidence.map);
    const parsed = asWholeMap(JSON.parse(map));
    if (JSON.stringify(parsed) === map) return jsonLine({ op, args, record: unpackRecord(evidence.record), map: parsed });
  } catch (error) {
    if (!(error instanceof DamagedEvidence || error instanceof SyntaxError || error instanceof FieldError)) throw error;
  }
  const base64 = (bytes: Uint8Array): string => Buffer.from(bytes).toString('base64');
  return jsonLine({ op, args, packed: { record: base64(evidence.record), map: base64(evidence.map) } });
}

/** A line that is no entry; the message is the sentence, without the file's name. */
export class BadEntry extends Error {}

/** How many entries follow the first line of such a file; null for any other line. @throws BadEntry when it is of a newer program */
export function headOf(line: unknown): number | null {
  const format = (line as { format?: unknown } | null)?.format;
  if (typeof format !== 'string' || !format.startsWith('stock/')) return null;
  if (format !== TRANSFER_FORMAT)
    throw new BadEntry(`format: "${printable(format, 40)}" is of a newer tapstone; expected "${TRANSFER_FORMAT}", update this one`);
  return new FieldReader(line, 'line').count('entries');
}

const TEXT_MOST = 4000;
type Fields = Readonly<Record<string, unknown>>;

class FieldReader {
  readonly #fields: Fields;
  readonly #path: string;

  constructor(value: unknown, path: string) {
    if (typeof value !== 'object' || value === null || Array.isArray(value)) throw new BadEntry(`${path}: expected an object`);
    this.#fields = value as Fields;
    this.#path = path;
  }

  #refuse(name: string, expected: string): never {
    const stood = printable(JSON.stringify(this.#fields[name]) ?? 'nothing', 60);
    throw new BadEntry(`${this.#path}.${name}: ${stood} stands there; expected ${expected}`);
  }

  text(name: string, most = TEXT_MOST): string {
    const value = this.#fields[name];
    // A zero character is the one that a server's text cannot hold.
    return typeof value === 'string' && value.length <= most ? value.replaceAll('\0', '') : this.#refuse(name, `a text of up to ${most} characters`);
  }

  uid(name: string): string {
    const value = this.text(name, 100);
    return /^[\w.-]{1,100}$/.test(value) ? value : this.#refuse(name, 'a name of letters and digits');
  }

  uidOrNull(name: string): string | null {
    return this.#fields[name] === null ? null : this.uid(name);
  }

  yesOrNo(name: string): boolean {
    const value = this.#fields[name];
    return typeof value === 'boolean' ? value : this.#refuse(name, 'true or false');
  }

  count(name: string): number {
    const value = this.#fields[name];
    return Number.isInteger(value) && (value as number) >= 0 && (value as number) < 1e9 ? (value as number) : this.#refuse(name, 'a whole number');
  }

  countOrNull(name: string): number | null {
    return this.#fields[name] === null ? null : this.count(name);
  }

  number(name: string): string | null {
    if (this.#fields[name] === null) return null;
    const value = this.text(name);
    return numberFault(value) === null ? value : this.#refuse(name, 'a shop number, or null');
  }

  one<T extends string>(name: string, words: readonly T[]): T {
    const value = this.#fields[name] as T;
    return words.includes(value) ? value : this.#refuse(name, words.join(', '));
  }
}

/** A parsed line as an entry; facts are taken from the evidence anew, whatever the line says. @throws BadEntry, FieldError of a bench record */
export function readEntry(line: unknown): Entry {
  const whole = line as Fields;
  const op = new FieldReader(line, 'line').one('op', ['lot', 'pickup', 'test', 'event'] as const);
  const read = new FieldReader(whole.args, 'args');
  if (op === 'lot') return { op, args: readLot(read) };
  if (op === 'pickup') return { op, args: readPickup(read) };
  if (op === 'event') return { op, args: readEvent(read) };
  return readTest(whole, read);
}

function readLot(read: FieldReader): NewLot {
  return {
    uid: read.uid('uid'), name: read.text('name', 200), setup: read.text('setup', 1 << 16), size: read.count('size'),
    isVirtual: read.yesOrNo('isVirtual'), opened: read.text('opened', 40),
  };
}

function readPickup(read: FieldReader): NewPickup {
  return {
    uid: read.uid('uid'), lot: read.uidOrNull('lot'), place: read.countOrNull('place'), number: read.number('number'),
    title: read.text('title'), isVirtual: read.yesOrNo('isVirtual'), added: read.text('added', 40),
  };
}

function readEvent(read: FieldReader): NewEvent {
  const event: NewEvent = {
    uid: read.uid('uid'), pickup: read.uid('pickup'), at: read.text('at', 40),
    kind: read.one('kind', ['note', 'state', 'number', 'withdraw'] as const), text: read.text('text'),
  };
  if (event.kind === 'state' && !isState(event.text)) throw new BadEntry(`args.text: "${printable(event.text, 40)}" is no state`);
  if (event.kind === 'number' && numberFault(event.text) !== null) throw new BadEntry(`args.text: ${numberFault(event.text)}`);
  return event;
}

function readTest(whole: Fields, read: FieldReader): Entry {
  const told = read.text('module', 100);
  const common = {
    uid: read.uid('uid'), pickup: read.uid('pickup'), taken: read.text('taken', 40), title: read.text('title'),
    isBroken: read.yesOrNo('isBroken'), isVirtual: read.yesOrNo('isVirtual'), module: told, serial: read.text('serial', 200),
  };
  if (whole.packed !== undefined) return packedEntry(whole, common);
  const record = asBenchRecord(whole.record);
  const map = readMap(whole.map);
  return {
    op: 'test', args: { ...common, facts: factsOf(record, map) }, evidence: { record: packRecord(record), map: packText(JSON.stringify(map)) },
  };
}

/** @throws BadEntry */
function readMap(map: unknown): WireMap {
  try {
    return asWholeMap(map);
  } catch (error) {
    throw error instanceof FieldError ? new BadEntry(`map: ${error.message}`) : error;
  }
}

/** Evidence that nobody could read where it came from; what can be told of it stands in the line. */
function packedEntry(whole: Fields, common: Omit<NewTest, 'facts'>): Entry {
  const packed = new FieldReader(whole.packed, 'packed');
  const bytes = (name: string): Uint8Array => Buffer.from(packed.text(name, 1 << 29), 'base64');
  const facts = new FieldReader((whole.args as Fields).facts, 'args.facts');
  const verdict = facts.text('verdict', 20);
  return {
    op: 'test',
    args: { ...common, facts: { ...NO_FACTS, verdict } },
    evidence: { record: bytes('record'), map: bytes('map') },
  };
}
