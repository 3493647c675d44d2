/** The lot that is on the bench from one finished view, at any size. */
import type { LotRow, LotView } from '../shop/lot-model.ts';
import { cellsOf } from '../text/cells.ts';
import { wrap } from '../text/wrap.ts';
import { bold, dim, footLines, headLines, pageOf, panelTitle, plain, roomBetween, scrolled, windowFrom, type PageLine } from './page.tsx';
import { fit } from './parts.tsx';

export const LOT_PANELS = ['pickups', 'compared'] as const;
export type LotPanel = (typeof LOT_PANELS)[number];

const KEYS = [
  { key: 'up/down', does: 'choose' }, { key: 'enter', does: 'lay on the bench' }, { key: 'v', does: 'view' }, { key: 'j', does: 'next unsure' },
  { key: 'u', does: 'take back' }, { key: 'l', does: 'labels' }, { key: 'tab', does: 'panel' }, { key: 'esc', does: 'back' }, { key: '?', does: 'help' },
];

/** Columns of the state. */
const STATE = 11;

function rowText({ place, number, state, taken, title, isHere }: LotRow, columns: number): string {
  const mark = isHere ? '*' : ' ';
  const text = `${String(place + 1).padStart(5)}${mark}  ${fit(number, 10)}  ${fit(state, STATE)}`;
  const timed = columns >= 70 ? `${text}  ${fit(taken, 19)}` : text;
  const room = columns - 2 - cellsOf(timed) - 2;
  return room < 8 ? timed : `${timed}  ${fit(title, room).trimEnd()}`.trimEnd();
}

function rowHead(columns: number): string {
  return `place   ${fit('number', 10)}  ${fit('state', STATE)}${columns >= 70 ? `  ${fit('tested', 19)}` : ''}  pickup`;
}

function arrange(view: LotView, columns: number, rows: number) {
  const head = [
    ...headLines(`lot ${view.name}${view.isVirtual ? ', virtual bench' : ''}`, '', columns),
    ...wrap(`${view.progress}; ${view.counts}`, columns, 2).map(bold),
    ...wrap(view.pace, columns, 2).map(plain),
  ];
  const foot = footLines({ ask: view.ask, message: view.message, keys: KEYS }, columns);
  return { head, foot, room: Math.max(1, roomBetween(head, foot, rows) - 1) };
}

/** How far the comparison can be scrolled, and how much is seen at once, lines. */
export function lotRange(view: LotView, columns: number, rows: number): { readonly most: number; readonly page: number } {
  const { room } = arrange(view, columns, rows);
  return { most: Math.max(0, (view.report?.(columns).length ?? 0) - room), page: room };
}

/** The screen, line by line. */
export function lotLinesOf(view: LotView, columns: number, rows: number, panel: LotPanel, scroll: number): PageLine[] {
  const { head, foot, room } = arrange(view, columns, rows);
  if (panel === 'compared') {
    const lines = view.report?.(columns) ?? ['Looking.'];
    const { shown, from } = scrolled(lines, room, scroll);
    return pageOf(head, [dim(panelTitle(LOT_PANELS, panel, from, room, lines.length, columns)), ...shown.map(plain)], foot, rows);
  }
  const least = Math.max(1, room - 1);
  const from = windowFrom(view.rows.length, view.chosen, least);
  const title = panelTitle(LOT_PANELS, panel, from, least, view.rows.length, columns);
  return pageOf(head, [
    dim(title), dim(`  ${rowHead(columns)}`),
    ...view.rows.slice(from, from + least).map((row) => (
      row.place === view.chosen ? bold(`> ${rowText(row, columns)}`) : plain(`  ${rowText(row, columns)}`))),
  ], foot, rows);
}
