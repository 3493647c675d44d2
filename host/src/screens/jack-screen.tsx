/** The screen at a guitar's jack from one finished view, at any size. */
import { Box, Text } from 'ink';
import type { JSX } from 'react';
import type { JackRow, JackView } from '../jack/view.ts';
import { cellsOf } from '../text/cells.ts';
import { wrap } from '../text/wrap.ts';
import { footLines, headLines, Page, panelTitle, plain, scrolled, windowFrom, type PageLine } from './page.tsx';
import { fit, Trace } from './parts.tsx';

/** Names of the lower panel: the chosen setting, or the proof of all that was read. */
export const JACK_PANELS = ['setting', 'proof'] as const;
export type JackPanel = (typeof JACK_PANELS)[number];

/** Columns of the list: the first and the last take what is left. */
const [READ_width, PLANNED_width] = [11, 11];
const ALONE_width = 18;
const SETTING_most = 48;
/** Settings that stay in sight beside the panel, and rows that the panel has use for. */
const SETTINGS_beside = 6;
const PANEL_least = 5;
const TRACE_rows = 3;

interface Shown {
  readonly view: JackView;
  readonly columns: number;
  readonly rows: number;
  readonly panel: JackPanel;
  /** The proof, as lines; asked for where it is shown only. */
  readonly proof: readonly string[];
}

/** What goes where on a terminal of this size. */
function arrange({ view, columns, rows, panel, proof }: Shown) {
  const prompt = wrap(view.prompt, columns, 0).map((text): PageLine => ({ text, look: 'bold' }));
  const wholeHead = [...headLines(`at the jack, ${view.source}`, view.count, columns), ...wrap(view.title, columns, 2).map(plain)];
  const wholeFoot = footLines({ ask: view.ask, message: view.message, keys: view.keys }, columns);
  // Where rows are few, what is to be done now comes before all else.
  const isRoomy = wholeHead.length + prompt.length + wholeFoot.length < rows;
  const head = isRoomy ? wholeHead : wholeHead.slice(0, 1);
  const foot = isRoomy ? wholeFoot : wholeFoot.slice(0, Math.max(0, rows - 1 - head.length - prompt.length));
  const left = Math.max(0, rows - 1 - head.length - prompt.length - foot.length);
  const count = view.rows.length;
  // The proof has a table of its own.
  const wanted = panel === 'proof' ? 0 : count;
  const settings = Math.max(0, Math.min(wanted, Math.max(SETTINGS_beside, left - 1 - 3 * PANEL_least), left - 1 - PANEL_least));
  const room = Math.max(0, left - (settings === 0 ? 0 : settings + 1) - 1);
  const lines = panel === 'proof'
    ? proof.flatMap((text) => wrap(text, columns, 4)) : view.detail.flatMap(({ text, indent }) => wrap(text, columns, indent));
  return { head, prompt, foot, settings, room, lines };
}

/** How far the panel can be scrolled, and how much of it is seen at once, lines. */
export function jackScrollRange(shown: Shown): { readonly most: number; readonly page: number } {
  const { lines, room } = arrange(shown);
  return { most: Math.max(0, lines.length - room), page: Math.max(1, room) };
}

/** The list of settings, those in sight. */
function listLines({ titles, rows }: JackView, columns: number, count: number): PageLine[] {
  if (count === 0) return [];
  const planned = titles[2] === 'planned' ? PLANNED_width : ALONE_width;
  const left = columns - 2 - READ_width - planned - 6;
  const longest = Math.max(cellsOf(titles[0]), ...rows.map(({ cells }) => cellsOf(cells[0])));
  const setting = Math.min(SETTING_most, longest, Math.max(8, Math.floor(left / 2)));
  const sounds = Math.max(0, left - setting);
  const line = ([name, read, other, what]: JackRow['cells']): string =>
    `${fit(name, setting)}  ${fit(read, READ_width).trimEnd().padStart(READ_width)}  ${fit(other, planned).trimEnd().padStart(planned)}  ${fit(what, sounds).trimEnd()}`.trimEnd();
  const chosen = Math.max(0, rows.findIndex(({ isChosen }) => isChosen));
  const from = windowFrom(rows.length, chosen, count);
  return [
    { text: `  ${line(titles)}`, look: 'dim' },
    ...rows.slice(from, from + count).map(({ cells, isChosen, differs }): PageLine => ({
      text: `${isChosen ? '>' : ' '}${differs ? '!' : ' '}${line(cells)}`,
      ...(differs ? { look: 'warn' as const } : isChosen ? { look: 'bold' as const } : {}),
    })),
  ];
}

export function JackScreen({ scroll, ...shown }: Shown & { readonly scroll: number }): JSX.Element {
  const { view, columns, panel } = shown;
  const { head, prompt, foot, settings, room, lines } = arrange(shown);
  const { shown: inSight, from } = scrolled(lines, room, scroll);
  const title = panelTitle(JACK_PANELS, panel, from, room, lines.length, columns);
  // As long as steel is awaited the picture stands below what was read.
  const withTrace = panel === 'setting' && view.trace.length > 0 && room >= TRACE_rows + 1 + lines.length;
  const above = withTrace ? lines : inSight;
  return (
    <Box flexDirection="column" width={columns}>
      <Page lines={[...head, ...listLines(view, columns, settings), ...prompt]} columns={columns} />
      {room === 0 ? null : (
        <Box flexDirection="column" height={room + 1} overflow="hidden">
          <Text wrap="truncate" dimColor>{title}</Text>
          {above.map((line, index) => <Text key={index} wrap="truncate">{line === '' ? ' ' : line}</Text>)}
          {withTrace ? <Trace channels={view.trace} columns={columns} rows={TRACE_rows} beside={false} /> : null}
        </Box>
      )}
      <Page lines={foot} columns={columns} />
    </Box>
  );
}
