/** Pictures of a lot in characters; any terminal shows them, without colour. */
import { kilohms } from './list-text.ts';

/** Bars of a histogram at most. */
const BINS_MOST = 12;

/** A round step near a size: 1, 2 or 5 times a power of ten. */
function roundStep(size: number): number {
  const decade = 10 ** Math.floor(Math.log10(size));
  return [1, 2, 5, 10].map((factor) => factor * decade).find((step) => step >= size * (1 - 1e-9)) ?? 10 * decade;
}

/**
 * How often values fall into steps, a line for each.
 * @param values - finite @param width - of a line, columns @param words - how a value is written
 */
export function histogram(values: readonly number[], width: number, words: (value: number) => string): string[] {
  if (values.length === 0) return ['nothing to count'];
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const wanted = Math.min(BINS_MOST, Math.max(1, Math.ceil(Math.sqrt(values.length)) + 1));
  const step = high > low ? roundStep((high - low) / wanted) : Math.max(Math.abs(high) * 0.01, Number.MIN_VALUE);
  const first = Math.floor(low / step + 1e-9);
  const count = Math.floor(high / step + 1e-9) - first + 1;
  const bins = Array.from({ length: count }, () => 0);
  for (const value of values) bins[Math.min(count - 1, Math.max(0, Math.floor(value / step + 1e-9) - first))] += 1;
  const most = Math.max(...bins);
  const labels = bins.map((_, index) => words((first + index) * step));
  const room = Math.max(...labels.map(({ length }) => length));
  const bars = Math.max(1, width - room - 8);
  return bins.map((n, index) => {
    const bar = '█'.repeat(Math.round((n / most) * bars)) || (n > 0 ? '▏' : '');
    return `${labels[index].padStart(room)} │${bar}${n > 0 ? ` ${n}` : ''}`;
  });
}

export interface Point {
  readonly x: number;
  readonly y: number;
}

/**
 * Points on a plane, the number of them in a cell where there are several (`+` above nine).
 * @param width - columns @param height - rows, axes included
 */
export function scatter(
  points: readonly Point[], width: number, height: number,
  { x: xWords, y: yWords }: { readonly x: (value: number) => string; readonly y: (value: number) => string },
): string[] {
  if (points.length === 0) return ['nothing to draw'];
  const range = (values: readonly number[]): readonly [number, number] => {
    const [low, high] = [Math.min(...values), Math.max(...values)];
    const margin = high > low ? (high - low) * 0.05 : Math.max(Math.abs(high) * 0.05, Number.MIN_VALUE);
    return [low - margin, high + margin];
  };
  const [xLow, xHigh] = range(points.map(({ x }) => x));
  const [yLow, yHigh] = range(points.map(({ y }) => y));
  const labels = [yWords(yHigh), yWords(yLow)];
  const room = Math.max(...labels.map(({ length }) => length));
  const [columns, rows] = [Math.max(4, width - room - 2), Math.max(2, height - 2)];
  const cells = Array.from({ length: rows }, () => Array.from({ length: columns }, () => 0));
  for (const { x, y } of points) {
    const column = Math.min(columns - 1, Math.floor(((x - xLow) / (xHigh - xLow)) * columns));
    const row = Math.min(rows - 1, Math.floor(((yHigh - y) / (yHigh - yLow)) * rows));
    cells[row]![column]! += 1;
  }
  const drawn = cells.map((row, index) => {
    const label = index === 0 ? labels[0]! : index === rows - 1 ? labels[1]! : '';
    const line = row.map((n) => (n === 0 ? ' ' : n === 1 ? '·' : n <= 9 ? String(n) : '+')).join('');
    return `${label.padStart(room)} │${line}`.trimEnd();
  });
  const [left, right] = [xWords(xLow), xWords(xHigh)];
  const axis = `${' '.repeat(room)} └${'─'.repeat(columns)}`;
  return [...drawn, axis, `${' '.repeat(room + 2)}${left}${right.padStart(Math.max(right.length + 1, columns - left.length))}`];
}

/** Ohms for an axis. */
export const ohmAxis = (value: number): string => kilohms(value);
/** Henries for an axis. */
export const henryAxis = (value: number): string => `${value.toFixed(2)} H`;
