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
};

/** Columns that the matrix takes with words, and with codes. */
export const WIDE_MATRIX = 58;
export const CODE_MATRIX = 44;
const STATUS_WIDTH = 20;

/**
 * @param columns - of the terminal @param rows - of the terminal
 * @param clipCount - clips in use, 1 to 6 @param final - the test is over: the map takes the trace's place
 * @param extraRows - rows that prompt and message need beyond one
 */
export function planSize(
  columns: number, rows: number, clipCount: number, final: boolean, extraRows: number,
): SizePlan {
  const matrix = columns >= WIDE_MATRIX ? 'wide' : columns >= CODE_MATRIX ? 'codes' : 'list';
  const statusBeside = columns >= WIDE_MATRIX + STATUS_WIDTH;
  const pairCount = (clipCount * (clipCount - 1)) / 2;
  const matrixRows = matrix === 'list' ? Math.ceil(pairCount / 2) : clipCount + 1;
  // header, matrix, status when below, prompt, keys
  const fixed = 1 + matrixRows + (statusBeside ? 0 : 1) + 1 + extraRows + 1;
  const left = Math.max(0, rows - 1 - fixed);
  const traceBeside = columns >= 76;
  let traceRows = 0;
  if (!final && left >= 8) {
    const share = Math.min(13, Math.floor(left * 0.45) - 1);
    traceRows = traceBeside ? share : Math.floor((share - 1) / 2);
    if (traceRows % 2 === 0) traceRows -= 1;
    if (traceRows < 3) traceRows = 0;
  }
  const traceTotal = traceRows === 0 ? 0 : (traceRows + 1) * (traceBeside ? 1 : 2);
  return { matrix, statusBeside, traceRows, traceBeside, panelRows: Math.max(0, left - traceTotal) };
}
