/** One pickup of the stock from one finished view, at any size. */
import type { KeyHint } from '../bench/view.ts';
import type { PickupView, TouchLine } from '../shop/pickup-model.ts';
import { wrap } from '../text/wrap.ts';
import { doubtOf } from '../wiremap/doubt.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { verdictLine } from '../wiring/render-text.ts';
import { findingLines, KEPT, mapLines } from './map-lines.ts';
import { bold, dim, footLines, headLines, pageOf, panelTitle, plain, roomBetween, scrolled, windowFrom, type PageLine } from './page.tsx';
import { largest, plot, squeeze, voltWords } from './trace-plot.ts';

export const PICKUP_PANELS = ['map', 'findings', 'touches', 'wiring', 'history', 'partners'] as const;
export type PickupPanel = (typeof PICKUP_PANELS)[number];

/** Rows of a plot, an odd number. */
const PLOT_ROWS = 7;

function keysOf(view: PickupView, panel: PickupPanel): KeyHint[] {
  const some = (holds: boolean, key: string, does: string): KeyHint[] => (holds ? [{ key, does }] : []);
  return [
    { key: 'tab', does: 'panel' }, ...some(panel === 'partners' && (view.partners?.length ?? 0) > 0, 'enter', 'open partner'),
    ...some(panel === 'wiring' && view.ways !== null, 'w', view.ways ?? ''),
    { key: 's', does: 'state' }, { key: 'n', does: 'note' }, { key: '#', does: 'number' }, { key: 'l', does: 'label' }, { key: 'a', does: 'A4 sheet' },
    { key: 'o', does: 'offer' }, { key: 'h', does: 'harness' }, { key: 'esc', does: 'back' }, { key: '?', does: 'help' },
  ];
}

/** A touch as it was heard: all channels on one scale. */
function touchLines({ label, channels }: TouchLine, columns: number): string[] {
  const fullScale_V = Math.max(0, ...channels.map(({ spans }) => largest(squeeze(spans, columns))));
  return [
    ...wrap(label, columns, 2),
    ...channels.flatMap(({ label: name, spans }) => {
      const drawn = plot(spans, columns, PLOT_ROWS, fullScale_V);
      return [`  ${name}, plus is up  ±${voltWords(drawn.fullScale_V)}`, ...drawn.rows.map((row) => row.trimEnd())];
    }),
    '',
  ];
}

/** Lines of a panel, wrapped to the width; of `partners` see `partnerLines`. */
export function pickupPanel(view: PickupView, panel: PickupPanel, columns: number): string[] {
  if (panel === 'history') return view.history.flatMap((line) => wrap(line, columns, 28));
  if (view.map === null) return view.number === '' ? ['Looking.'] : ['It has no whole test yet; test it on the bench.'];
  if (panel === 'touches') {
    return view.touches.length === 0 ? ['Nobody touched a coil, or nothing was kept of it.'] : view.touches.flatMap((touch) => touchLines(touch, columns));
  }
  const lines = panel === 'wiring' ? view.wiring
    : (panel === 'map' ? mapLines(view.map, view.clips, true) : findingLines(view.map)).map((text) => ({ text, indent: 2 }));
  return lines.flatMap(({ text, indent }) => wrap(text, columns, indent)).map((line) => line.replaceAll(KEPT, ' '));
}

/** Partners with the chosen one marked, and which of the lines it begins at. */
function partnerLines(view: PickupView, columns: number): { readonly lines: readonly PageLine[]; readonly at: number } {
  if (view.partners === null || view.partners.length === 0) return { lines: wrap(view.noPartners, columns, 0).map(plain), at: 0 };
  let at = 0;
  const lines: PageLine[] = [];
  for (const [index, { number, reason }] of view.partners.entries()) {
    const isChosen = index === view.chosen;
    if (isChosen) at = lines.length;
    lines.push(...wrap(`${isChosen ? '>' : ' '} ${number}: ${reason}`, columns, 4).map(isChosen ? bold : plain));
  }
  return { lines, at };
}

/** Green is for a pickup that can be soldered as its map says. */
function lookOf(map: WireMap): PageLine['look'] {
  return map.verdict === 'fault' ? 'fault' : map.verdict === 'good' && doubtOf(map) === '' ? 'good' : 'warn';
}

/** What stands where. */
function arrange(view: PickupView, columns: number, rows: number, panel: PickupPanel) {
  const verdict = view.map === null ? [] : wrap(verdictLine(view.map), columns, 2)
    .map((text): PageLine => ({ text, look: lookOf(view.map!) }));
  const head = [...headLines(`pickup ${view.number}`, '', columns), ...wrap(view.about, columns, 2).map(plain), ...verdict];
  const foot = footLines({ ask: view.ask, message: view.message, keys: keysOf(view, panel) }, columns);
  return { head, foot, room: Math.max(1, roomBetween(head, foot, rows) - 1) };
}

/** How far a panel can be scrolled, and how much of it is seen at once, lines. */
export function pickupRange(
  view: PickupView, columns: number, rows: number, panel: PickupPanel,
): { readonly most: number; readonly page: number } {
  const { room } = arrange(view, columns, rows, panel);
  return { most: Math.max(0, pickupPanel(view, panel, columns).length - room), page: room };
}

/** The screen, line by line. */
export function pickupLines(view: PickupView, columns: number, rows: number, panel: PickupPanel, scroll: number): PageLine[] {
  const { head, foot, room } = arrange(view, columns, rows, panel);
  if (panel === 'partners') {
    const { lines, at } = partnerLines(view, columns);
    const from = windowFrom(lines.length, at, room);
    const title = panelTitle(PICKUP_PANELS, panel, from, room, lines.length, columns);
    return pageOf(head, [dim(title), ...lines.slice(from, from + room)], foot, rows);
  }
  const lines = pickupPanel(view, panel, columns);
  const { shown, from } = scrolled(lines, room, scroll);
  return pageOf(head, [dim(panelTitle(PICKUP_PANELS, panel, from, room, lines.length, columns)), ...shown.map(plain)], foot, rows);
}
