/** The stock from one finished view, at any size. */
import type { StockRow, StockView } from '../shop/stock-model.ts';
import { cellsOf } from '../text/cells.ts';
import { wrap } from '../text/wrap.ts';
import { bold, dim, footLines, headLines, pageOf, plain, roomBetween, windowFrom, type PageLine } from './page.tsx';
import { fit } from './parts.tsx';

const KEYS = [
  { key: 'up/down', does: 'choose' }, { key: 'enter', does: 'open' }, { key: 'left/right', does: 'state' }, { key: 'tab', does: 'virtual bench' },
  { key: 'esc', does: 'clear, back' }, { key: '?', does: 'help' },
];

interface Column {
  readonly title: string;
  readonly width: number;
  readonly isNumber?: boolean;
  readonly of: (row: StockRow) => string;
  /** Columns of the terminal from which it is shown, and from which it is not. */
  readonly from: number;
  readonly to?: number;
}

const COLUMNS: readonly Column[] = [
  { title: 'number', width: 10, of: ({ number }) => number, from: 0 },
  { title: 'state', width: 11, of: ({ state }) => state, from: 0 },
  { title: 'ohms', width: 6, isNumber: true, of: ({ ohms }) => ohms, from: 33 },
  { title: 'leads', width: 5, isNumber: true, of: ({ leads }) => leads, from: 60 },
  { title: 'pole', width: 4, of: ({ poles }) => poles, from: 60 },
  { title: 'tested', width: 10, of: ({ taken }) => taken.slice(0, 10), from: 92, to: 110 },
  { title: 'tested', width: 16, of: ({ taken }) => taken, from: 110 },
];
/** Least of the last column, lot and title, for which there is room or not. */
const WHERE_least = 12;

function rowText(columns: number, cells: (column: Column) => string, where: string): string {
  const shown = COLUMNS.filter(({ from, to = Infinity }) => columns >= from && columns < to)
    .map((column) => (column.isNumber === true ? cells(column).padStart(column.width) : fit(cells(column), column.width)));
  const text = shown.join('  ');
  const room = columns - 2 - cellsOf(text) - 2;
  return room < WHERE_least ? text : `${text}  ${fit(where, room).trimEnd()}`;
}

/** The screen, line by line. */
export function stockLines(view: StockView, columns: number, rows: number): PageLine[] {
  const { query, state, withVirtual, total } = view;
  const count = total === null ? '' : `${total} ${total === 1 ? 'pickup' : 'pickups'}`;
  const narrowed = [state === '' ? 'every state' : `only ${state}`, withVirtual ? 'virtual bench too' : ''].filter((part) => part !== '').join(', ');
  const head = [
    ...headLines('stock', count, columns),
    ...wrap(`find  ${query}_`, columns, 6).map(bold),
    dim(fit(`      ${narrowed}`, columns).trimEnd()),
    dim(`  ${rowText(columns, ({ title, isNumber, width }) => (isNumber === true ? title.padStart(width) : title), 'title and lot')}`),
  ];
  const foot = footLines({ ask: null, message: view.message, keys: KEYS }, columns);
  const room = roomBetween(head, foot, rows);
  const from = windowFrom(view.rows.length, view.chosen, room);
  const middle = view.rows.slice(from, from + room).map((row, index) => {
    const isChosen = from + index === view.chosen;
    const text = `${isChosen ? '>' : ' '} ${rowText(columns, ({ of }) => of(row), row.where)}`;
    return isChosen ? bold(text) : plain(text);
  });
  return pageOf(head, middle.length === 0 ? wrap(view.empty, columns, 0).map(plain) : middle, foot, rows);
}

/** Rows that a page key moves by. */
export function stockPage(view: StockView, columns: number, rows: number): number {
  return Math.max(1, roomBetween(headLines('stock', '', columns), footLines({ ask: null, message: view.message, keys: KEYS }, columns), rows) - 4);
}
