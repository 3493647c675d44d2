/**
 * Checks the fields of a parsed JSON document and says in one sentence which one is wrong.
 *
 * The walk keeps the path of the field it stands on; text is made only when something is refused, so
 * that a sound record costs a comparison per field.
 */
import { fieldMeant } from '../text/edit-distance.ts';
import { printable } from '../text/printable.ts';
import { NESTING_MOST } from './limits.ts';

/** Any object of a parsed document. */
export type JsonObject = Record<string, unknown>;

/** What was wrong: `PATH: WHAT STOOD THERE; expected WHAT`. */
export class FieldError extends Error {
  constructor(path: string, stood: string, expected: string) {
    super(`${path === '' ? '' : `${path}: `}${stood}; expected ${expected}`);
    this.name = 'FieldError';
  }
}

/** A number with its unit and bounds. */
export interface NumberRange {
  /** What the reader is told to write, such as `ohms, 0 or more`. */
  readonly expected: string;
  readonly unit: string;
  readonly least: number;
  readonly most: number;
  /** The least value itself is refused too. */
  readonly above?: boolean;
}

/** What stood in a place, in a few words. */
export function describe(value: unknown): string {
  if (value === undefined) return 'missing';
  if (value === null) return 'null';
  if (typeof value === 'string')
    return JSON.stringify(printable(value, 60)).replaceAll('\\\\', '\\');
  if (Array.isArray(value))
    return value.length === 0 ? 'an empty list' : `a list of ${value.length}`;
  if (typeof value === 'object') return 'an object';
  return String(value);
}

/** The same as the subject of `is not a number`. */
function wrongType(value: unknown, type: string): string {
  return value === undefined ? 'missing' : `${describe(value)} is not ${type}`;
}

/** Deeper than any field of ours: what lies further down is not spelt out. */
const PATH_MOST = 12;

/** A text that names a path: `touches[0].channels[1].plus`. */
export function pathText(keys: readonly (string | number)[]): string {
  if (keys.length > PATH_MOST) return `${pathText(keys.slice(0, PATH_MOST))}...`;
  let text = '';
  for (const key of keys) {
    if (typeof key === 'number') text += `[${key}]`;
    else text += `${text === '' ? '' : '.'}${printable(key, 60)}`;
  }
  return text;
}

/** More warnings of one document than this nobody reads. */
const WARNINGS_MOST = 20;

export class FieldWalk {
  private readonly path: (string | number)[] = [];
  private readonly suspected = new Set<string>();
  /** Fields that are not known but look like one that is, a sentence each. */
  readonly warnings: string[] = [];

  enter(key: string | number): void {
    this.path.push(key);
  }

  leave(): void {
    this.path.pop();
  }

  /** Refuses the field on which the walk stands. */
  refuse(stood: string, expected: string): never {
    throw new FieldError(pathText(this.path), stood, expected);
  }

  /** Refuses a field or entry of the object or list on which the walk stands. */
  refuseAt(key: string | number, stood: string, expected: string): never {
    this.path.push(key);
    return this.refuse(stood, expected);
  }

  /** A whole document.
   * @param known - its fields; others must only be of bearable depth
   */
  document(value: unknown, known: ReadonlySet<string>, expected: string): JsonObject {
    if (typeof value !== 'object' || value === null || Array.isArray(value)) {
      this.refuse(`${describe(value)} where a record was to be`, expected);
    }
    this.strangers(value as JsonObject, known);
    return value as JsonObject;
  }

  /** The object on which the walk stands, an entry of a list or a field entered. */
  object(value: unknown, known: ReadonlySet<string>, expected: string): JsonObject {
    if (typeof value !== 'object' || value === null || Array.isArray(value)) {
      this.refuse(wrongType(value, 'an object'), expected);
    }
    this.strangers(value as JsonObject, known);
    return value as JsonObject;
  }

  /** Unknown fields are kept; their depth is bounded, since writing them again recurses. One that looks like a field of ours is told. */
  private strangers(owner: JsonObject, known: ReadonlySet<string>): void {
    for (const key in owner) {
      if (known.has(key)) continue;
      const value = owner[key];
      if (typeof value === 'object' && value !== null) this.bounded(key, value);
      this.suspect(key, known);
    }
  }

  /** Tells a misspelt field, once for all entries of a list. */
  private suspect(key: string, known: ReadonlySet<string>): void {
    const kind = [...this.path.filter((part) => typeof part === 'string'), key].join('.');
    if (this.warnings.length === WARNINGS_MOST || this.suspected.has(kind)) return;
    this.suspected.add(kind);
    const meant = fieldMeant(key, known);
    if (meant !== null) this.warnings.push(`${pathText([...this.path, key])}: no such field, so it is ignored; did you mean ${meant}?`);
  }

  private bounded(key: string, value: object): void {
    let level: object[] = [value];
    for (let depth = 1; level.length > 0; depth++) {
      if (depth > NESTING_MOST) {
        this.refuseAt(
          key,
          `nested more than ${NESTING_MOST} deep`,
          `at most ${NESTING_MOST} levels`,
        );
      }
      const next: object[] = [];
      for (const item of level) {
        // A list may be as long as the record is: no copy of it is made.
        if (Array.isArray(item)) for (const inner of item) pushObject(next, inner);
        else for (const key in item) pushObject(next, (item as JsonObject)[key]);
      }
      level = next;
    }
  }

  /** A number within its range. */
  number(owner: JsonObject, key: string, range: NumberRange): number {
    const value = owner[key];
    if (typeof value !== 'number') this.refuseAt(key, wrongType(value, 'a number'), range.expected);
    this.inRange(key, value, range, '');
    return value;
  }

  /** A number or null. */
  numberOrNull(owner: JsonObject, key: string, range: NumberRange): number | null {
    const value = owner[key];
    if (value === null) return null;
    if (typeof value !== 'number') {
      this.refuseAt(key, wrongType(value, 'a number'), `${range.expected}, or null`);
    }
    this.inRange(key, value, range, ', or null');
    return value;
  }

  /** A number that may be left out. */
  optionalNumber(owner: JsonObject, key: string, range: NumberRange): number | undefined {
    return owner[key] === undefined ? undefined : this.number(owner, key, range);
  }

  private inRange(key: string, value: number, range: NumberRange, orNull: string): void {
    if (
      value >= range.least &&
      value <= range.most &&
      !(range.above === true && value === range.least)
    )
      return;
    if (value > range.most || range.least < 0) {
      const from = range.above === true ? `above ${range.least} and up to` : `${range.least} to`;
      const stood = Number.isFinite(value) ? String(value) : 'a number beyond all range';
      const side = value > range.most ? `more than ${range.most}` : `less than ${range.least}`;
      this.refuseAt(key, `${stood} is ${side}`, `${range.unit}, ${from} ${range.most}${orNull}`);
    }
    const stood =
      value === 0 ? '0 is not above 0' : `${value} is ${value < 0 ? 'negative' : 'too small'}`;
    this.refuseAt(key, stood, `${range.expected}${orNull}`);
  }

  /** A whole number from a range, such as a clip. */
  whole(owner: JsonObject, key: string, least: number, most: number, what: string): number {
    const value = owner[key];
    const expected = `${what}, ${least} to ${most}`;
    if (typeof value !== 'number') this.refuseAt(key, wrongType(value, 'a number'), expected);
    if (!Number.isInteger(value) || value < least || value > most) {
      this.refuseAt(key, `${value} is not ${what}`, expected);
    }
    return value;
  }

  /** A text of bounded length, not empty. */
  text(owner: JsonObject, key: string | number, most: number, expected: string): string {
    this.enter(key);
    const text = this.textHere(owner[key], most, expected);
    this.leave();
    return text;
  }

  /** The text on which the walk stands. */
  textHere(value: unknown, most: number, expected: string): string {
    if (typeof value !== 'string') this.refuse(wrongType(value, 'a text'), expected);
    if (value === '') this.refuse('an empty text', expected);
    if (value.length > most)
      this.refuse(`a text of ${value.length} characters`, `${expected}, at most ${most} characters`);
    return value;
  }

  optionalText(owner: JsonObject, key: string, most: number, expected: string): string | undefined {
    return owner[key] === undefined ? undefined : this.text(owner, key, most, expected);
  }

  truth(owner: JsonObject, key: string): boolean {
    const value = owner[key];
    if (typeof value !== 'boolean')
      this.refuseAt(key, wrongType(value, 'true or false'), 'true or false');
    return value;
  }

  /** One of a few words. */
  oneOf<Word extends string>(owner: JsonObject, key: string, words: readonly Word[]): Word {
    const value = owner[key];
    if (!words.includes(value as Word)) {
      const expected = words.map((word) => `"${word}"`).join(words.length === 2 ? ' or ' : ', ');
      const listed = words.length > 2 ? `one of ${expected}` : expected;
      this.refuseAt(
        key,
        value === undefined ? 'missing' : `${describe(value)} is not known here`,
        listed,
      );
    }
    return value as Word;
  }

  /** A list; the walk stands on the entry while it is checked. */
  list(
    owner: JsonObject,
    key: string,
    least: number,
    most: number,
    what: string,
    check: (entry: unknown, index: number) => void,
  ): void {
    this.enter(key);
    this.listHere(owner[key], least, most, what, check);
    this.leave();
  }

  /** The list on which the walk stands. */
  listHere(
    value: unknown,
    least: number,
    most: number,
    what: string,
    check: (entry: unknown, index: number) => void,
  ): void {
    const expected = listExpected(least, most, what);
    if (!Array.isArray(value)) this.refuse(wrongType(value, 'a list'), expected);
    if (value.length < least || value.length > most) this.refuse(describe(value), expected);
    for (let index = 0; index < value.length; index++) {
      this.enter(index);
      check(value[index], index);
      this.leave();
    }
  }

  optionalList(
    owner: JsonObject,
    key: string,
    least: number,
    most: number,
    what: string,
    check: (entry: unknown, index: number) => void,
  ): void {
    if (owner[key] !== undefined) this.list(owner, key, least, most, what, check);
  }
}

function pushObject(list: object[], value: unknown): void {
  if (typeof value === 'object' && value !== null) list.push(value);
}

function listExpected(least: number, most: number, what: string): string {
  if (least === most) return `a list of ${least} ${what}`;
  return least === 0
    ? `a list of ${what}, at most ${most}`
    : `a list of ${least} to ${most} ${what}`;
}
