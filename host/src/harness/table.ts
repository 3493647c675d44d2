/** Tables of text for a terminal of 80 columns. */
import { printable } from '../text/printable.ts';
import { wrap } from '../text/wrap.ts';

/** Width of a line, columns. */
export const COLUMNS = 80;

/** A column of a table. */
export interface Column {
  readonly title: string;
  readonly width: number;
  readonly isNumber?: boolean;
}

/** Lines of a table; cells that are too wide go on below themselves.
 * @param rows - texts by row and column, made safe to print here
 */
export function tableLines(columns: readonly Column[], rows: readonly (readonly string[])[]): string[] {
  return [columns.map(({ title }) => title), ...rows].flatMap((row) => {
    const cells = row.map((text, at) =>
      printable(text.replaceAll('\n', '; ')).split('; ').flatMap((line, part, all) =>
        wrap(part < all.length - 1 ? `${line};` : line, columns[at]!.width, 2)));
    const height = Math.max(...cells.map(({ length }) => length));
    return Array.from({ length: height }, (_, line) =>
      cells
        .map((cell, at) => {
          const { width, isNumber = false } = columns[at]!;
          const text = cell[line] ?? '';
          return isNumber ? text.padStart(width) : text.padEnd(width);
        })
        .join('  ')
        .trimEnd());
  });
}

/** A text of its own, wrapped. */
export function paragraph(text: string, indent = 0): string[] {
  return wrap(printable(text), COLUMNS, indent);
}
