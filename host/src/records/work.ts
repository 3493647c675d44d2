/**
 * A piece of work on the stock, written once for every database: it yields queries and is handed their rows.
 * A file answers at once and a server later, so whoever runs it decides about waiting.
 */

export type Value = string | number | null | Uint8Array;
export type Row = Readonly<Record<string, unknown>>;

/** One statement with a question mark for each value. */
export interface Query {
  readonly sql: string;
  readonly values: readonly Value[];
}

export type Steps<T> = Generator<Query, T, readonly Row[]>;

/** What the databases say differently. */
export interface Dialect {
  /** A condition on pickups for all words, each as the beginning of one, with its value. */
  hasWords(words: readonly string[]): Query;
  /** Keeps the words of a pickup for the search, in place of older ones. */
  setWords(pickup: number, words: string): Query;
}

/** Work for `Stock.do`. */
export interface Work<T> {
  /** `look` changes nothing. */
  readonly use: 'look' | 'keep';
  /** May be run again when another program was in the way. */
  readonly steps: (dialect: Dialect) => Steps<T>;
}

/** Where the shop's pickups and tests are: a file of this computer, or a server that several benches share. */
export interface Stock {
  /** Whole or not at all. @throws StoreProblem */
  do<T>(work: Work<T>): T | Promise<T>;
  close(): void | Promise<void>;
}

/** Rows of a query. */
export function* rows(sql: string, ...values: readonly Value[]): Steps<readonly Row[]> {
  return yield { sql, values };
}

/** The only or first row, or undefined. */
export function* row(sql: string, ...values: readonly Value[]): Steps<Row | undefined> {
  return (yield { sql, values })[0];
}

/** Runs work whose queries are answered at once. */
export function runAtOnce<T>(steps: Steps<T>, answer: (query: Query) => readonly Row[]): T {
  let next = steps.next();
  while (next.done !== true) next = steps.next(answer(next.value));
  return next.value;
}

/** Runs work whose queries are answered later. */
export async function runLater<T>(steps: Steps<T>, answer: (query: Query) => Promise<readonly Row[]>): Promise<T> {
  let next = steps.next();
  while (next.done !== true) next = steps.next(await answer(next.value));
  return next.value;
}
