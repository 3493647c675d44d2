/** Tables for other programs: comma-separated values (RFC 4180), harmless whatever a text holds. */
import { printable } from './printable.ts';

export type Cell = string | number | boolean | null | undefined;

/**
 * A cell that begins like a formula is run by a spreadsheet that opens the file; an apostrophe in front makes it text.
 * @see OWASP, "CSV Injection": `=`, `+`, `-`, `@`, tab and carriage return
 */
const FORMULA = /^[=+\-@\t\r＝＋－＠]/;

function cell(value: Cell): string {
  if (value === null || value === undefined) return '';
  if (typeof value === 'number') return Number.isFinite(value) ? String(value) : '';
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  const safe = printable(FORMULA.test(value.trimStart()) ? `'${value}` : value);
  return /[",]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/** One line of a table, with its end. */
export function csvLine(cells: readonly Cell[]): string {
  return `${cells.map(cell).join(',')}\r\n`;
}
