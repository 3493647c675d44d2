/** What a run over many boards leaves (`npm run figures -- coverage 10000 1 --keep`). */

export const QUANTITIES = [
  'ohms below 1 k', 'ohms of 1 k to 16 k', 'ohms above 16 k', 'henries, whole', "henries, the board's part", 'leaks below 10 M', 'leaks above 10 M',
] as const;
export type Quantity = (typeof QUANTITIES)[number];

/** How many readings lie within their stated standard uncertainty, and within twice that. */
export interface Coverage {
  readonly quantity: Quantity;
  readonly readings: number;
  readonly within1: number;
  readonly within2: number;
  /** Root mean square and greatest of error over uncertainty: 1 and 3 to 4 when the uncertainty is that of a normal distribution. */
  readonly rms: number;
  readonly most: number;
}

export interface CoverageFile {
  readonly boards: number;
  readonly seed: number;
  readonly all: readonly Coverage[];
  /** The same of the first boards alone, which a test reads again. */
  readonly againBoards: number;
  readonly again: readonly Coverage[];
}
