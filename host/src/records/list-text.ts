/** Lines of a list for people, for spreadsheets and for programs. */
import { cut, padded } from '../text/cells.ts';
import { csvLine } from '../text/csv.ts';
import { jsonLine, printable } from '../text/printable.ts';
import type { Line, Sort } from './searching.ts';
import { STATE_COLUMN, standingInList } from './states.ts';

/** A time of day as people of the place read it; from UTC. */
export type LocalTime = (utc: string) => string;

/** The verdict of a test with its doubt, or what became of it. */
function outcome(line: Line): string {
  if (line.isWithdrawn) return 'withdrawn';
  if (line.isBroken) return 'broken off';
  return line.verdict === null ? '' : standingInList(line.verdict, line.doubt);
}

/** Kilohms as a shop speaks of them: `8.34k`; below one, ohms. */
export function kilohms(ohm: number | null): string {
  if (ohm === null) return '-';
  return ohm < 999.5 ? ohm.toFixed(0) : ohm < 99_995 ? `${(ohm / 1e3).toFixed(2)}k` : `${(ohm / 1e3).toFixed(0)}k`;
}

function fit(text: string, width: number): string {
  return padded(cut(printable(text, width), width), width);
}

/** One line for a terminal; whatever stands in the database, its text is safe. */
export function textLine(sort: Sort, line: Line, local: LocalTime): string {
  const facts = [
    fit(line.number ?? '-', 8),
    kilohms(line.ohm).padStart(6),
    String(line.leads).padStart(1),
    fit(line.poles === '' ? '-' : line.poles, 3),
  ];
  const time = fit(line.taken === null ? '' : local(line.taken).replace(/:\d\d (?=[+-])/, ' '), 23);
  const where = [line.lot === null || line.lot === '' ? '' : `[${line.lot}]`, line.title, line.isVirtual ? '(virtual bench)' : '']
    .filter((part) => part !== '').join(' ');
  const columns = sort === 'tests'
    ? [String(line.test ?? '').padStart(6), time, fit(outcome(line), STATE_COLUMN), ...facts, printable(where, 80)]
    : [facts[0], fit(standingInList(line.state, line.doubt), STATE_COLUMN), ...facts.slice(1), time, printable(where, 80)];
  return `${columns.join('  ').trimEnd()}\n`;
}

/** The names of the columns, for a terminal. */
export function textHead(sort: Sort): string {
  const [number, ohms] = ['number  ', '  ohms'];
  const columns = sort === 'tests'
    ? ['  test', 'taken'.padEnd(23), 'outcome'.padEnd(STATE_COLUMN), number, ohms, 'l', 'pol', '[lot] title']
    : [number, 'state'.padEnd(STATE_COLUMN), ohms, 'l', 'pol', 'taken'.padEnd(23), '[lot] title'];
  return `${columns.join('  ')}\n`;
}

const CSV_COLUMNS = [
  'number', 'state', 'lot', 'title', 'test', 'taken', 'taken_local', 'verdict', 'broken_off', 'withdrawn', 'ohm', 'henry', 'coils', 'leads',
  'colours', 'poles', 'virtual',
] as const;
/** Behind the columns that a list has of its own too: tables that were read by place before it was there are still. */
const CSV_LAST = ['doubt'] as const;

function fields(line: Line, local: LocalTime): Record<(typeof CSV_COLUMNS | typeof CSV_LAST)[number], string | number | boolean | null> {
  return {
    number: line.number, state: line.state, lot: line.lot, title: line.title, test: line.test, taken: line.taken,
    taken_local: line.taken === null ? null : local(line.taken), verdict: line.verdict, broken_off: line.isBroken,
    withdrawn: line.isWithdrawn, ohm: line.ohm, henry: line.henry, coils: line.coils, leads: line.leads, colours: line.colours,
    poles: line.poles, virtual: line.isVirtual, doubt: line.doubt,
  };
}

/** @param more - names of columns that only this list has */
export function csvHead(more: readonly string[] = []): string {
  return csvLine([...CSV_COLUMNS, ...more, ...CSV_LAST]);
}

/** @param more - values of those columns */
export function csvRow(line: Line, local: LocalTime, more: readonly string[] = []): string {
  const named = fields(line, local);
  return csvLine([...CSV_COLUMNS.map((name) => named[name]), ...more, ...CSV_LAST.map((name) => named[name])]);
}

/** `id` is the test's, as older programs printed it. */
export function jsonRow(line: Line, local: LocalTime): string {
  return jsonLine({ id: line.test, ...fields(line, local) });
}
