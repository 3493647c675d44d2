/** Draws responses over frequency as rows of letters: no colour, so that two can be told apart and tested as text. */

/** What a point of the first curve, of the second, and of both is drawn with. */
export const MARKS = ['*', 'o', '@'] as const;
/** Steps between labels of the upper and lower edge, decibels, and the most that is shown. */
const STEP_dB = 5;
const SPAN_dB = 25;
/** Columns of the labels. */
const LABEL = 7;
const TICKS: readonly (readonly [number, string])[] = [
  [100, '100'], [200, '200'], [500, '500'], [1000, '1k'], [2000, '2k'], [5000, '5k'], [10_000, '10k'], [20_000, '20k Hz'],
];

/**
 * Rows of a plot, its axis last.
 * @param curves - one or two, decibels at evenly spaced logarithms of the frequency
 * @param from_Hz - of the first point @param to_Hz - of the last
 * @param columns - of the whole, labels included @param height - rows without the axis
 */
export function curvePlot(
  curves: readonly (readonly number[])[], from_Hz: number, to_Hz: number, columns: number, height: number,
): string[] {
  const width = columns - LABEL;
  const all = curves.flat();
  const top = Math.ceil(Math.max(...all) / STEP_dB) * STEP_dB;
  const bottom = Math.max(top - SPAN_dB, Math.min(top - STEP_dB, Math.floor(Math.min(...all) / STEP_dB) * STEP_dB));
  // Beyond the lower edge there is nothing to draw.
  const rowOf = (decibel: number): number => (Math.floor(((top - decibel) / (top - bottom)) * (height - 1) + 0.5));
  const cells = Array.from({ length: height }, () => Array.from({ length: width }, () => 0));
  curves.forEach((curve, which) => {
    const rows = Array.from({ length: width }, (_, column) => rowOf(between(curve, (column / (width - 1)) * (curve.length - 1))));
    rows.forEach((row, column) => {
      // Down or up to where the next column goes on, so that a steep flank is one line.
      const next = rows[column + 1] ?? row;
      const last = next > row ? Math.max(row, next - 1) : Math.min(row, next + 1);
      for (let at = Math.min(row, last); at <= Math.max(row, last); at++) if (cells[at] !== undefined) cells[at]![column]! |= 1 << which;
    });
  });
  const lines = cells.map((row, at) => {
    const isLabelled = at === 0 || at === height - 1;
    const label = isLabelled ? `${at === 0 ? top : bottom} dB`.padStart(LABEL - 1) : ' '.repeat(LABEL - 1);
    return `${label}|${row.map((bits) => (bits === 0 ? ' ' : MARKS[bits - 1])).join('')}`.trimEnd();
  });
  return [...lines, axis(from_Hz, to_Hz, width)];
}

/** A value between two points. */
function between(curve: readonly number[], at: number): number {
  const low = Math.floor(at);
  const [one, next] = [curve[low]!, curve[low + 1] ?? curve[low]!];
  return one + (next - one) * (at - low);
}

/** Labels below their columns, from the right; one that would touch the label after it is left out. */
function axis(from_Hz: number, to_Hz: number, width: number): string {
  const line = Array.from({ length: LABEL + width }, () => ' ');
  let free = line.length;
  for (const [hertz, label] of TICKS.filter(([at]) => at >= from_Hz && at <= to_Hz * 1.0001).reverse()) {
    const column = LABEL + Math.round((Math.log(hertz / from_Hz) / Math.log(to_Hz / from_Hz)) * (width - 1));
    const start = Math.min(column, line.length - label.length);
    if (start + label.length > free) continue;
    [...label].forEach((letter, at) => (line[start + at] = letter));
    free = start - 1;
  }
  return line.join('').trimEnd();
}
