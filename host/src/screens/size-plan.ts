/** Decides what fits a terminal. The one place that knows sizes; components draw what they are given. */

export type SizePlan = {
  /** Matrix with colours in words, with codes only, or one line a pair. */
  readonly matrix: 'wide' | 'codes' | 'list';
  /** Whether what the tester does stands beside the matrix. */
  readonly statusBeside: boolean;
  /** Rows of the trace plot without its label; 0 hides it. */
  readonly traceRows: number;
  /** Whether the two channels stand side by side. */
  readonly traceBeside: boolean;
  /** Rows of the lower panel, its title included. */
  readonly panelRows: number;
  /** Rows that the head gets: the title below the source where both do not fit beside each other. */
  readonly headRows: number;
  /** Rows that the keys get. */
  readonly keyRows: number;
};

/** Columns that the matrix takes with words, and with codes. */
export const WIDE_MATRIX = 58;
export const CODE_MATRIX = 44;
const STATUS_WIDTH = 20;
/** Rows below which the panel shows too little to be of use. */
const PANEL_LEAST = 4;

/**
 * @param columns - of the terminal @param rows - of the terminal
 * @param clipCount - clips in use, 1 to 6 @param final - the test is over: the map takes the trace's place
 * @param wanted - rows that head, keys, and prompt with message have use for; the first two get one each where rows are few
 */
export function planSize(
  columns: number, rows: number, clipCount: number, final: boolean,
  wanted: { readonly head: number; readonly keys: number; readonly prompt: number },
): SizePlan {
  const matrix = columns >= WIDE_MATRIX ? 'wide' : columns >= CODE_MATRIX ? 'codes' : 'list';
  const statusBeside = columns >= WIDE_MATRIX + STATUS_WIDTH;
  const pairCount = (clipCount * (clipCount - 1)) / 2;
  const matrixRows = matrix === 'list' ? Math.ceil(pairCount / 2) : clipCount + 1;
  const fixed = matrixRows + (statusBeside ? 0 : 1) + wanted.prompt;
  const isRoomy = rows - 1 - fixed - wanted.head - wanted.keys >= PANEL_LEAST;
  const headRows = isRoomy ? wanted.head : 1;
  const keyRows = isRoomy ? wanted.keys : 1;
  const left = Math.max(0, rows - 1 - fixed - headRows - keyRows);
  const traceBeside = columns >= 76;
  let traceRows = 0;
  if (!final && left >= 8) {
    const share = Math.min(13, Math.floor(left * 0.45) - 1);
    traceRows = traceBeside ? share : Math.floor((share - 1) / 2);
    if (traceRows % 2 === 0) traceRows -= 1;
    if (traceRows < 3) traceRows = 0;
  }
  const traceTotal = traceRows === 0 ? 0 : (traceRows + 1) * (traceBeside ? 1 : 2);
  return { matrix, statusBeside, traceRows, traceBeside, panelRows: Math.max(0, left - traceTotal), headRows, keyRows };
}
