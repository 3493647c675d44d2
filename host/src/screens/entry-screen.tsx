/** The screen of the entry by meters from one finished view, at any size. */
import { Box, Text } from 'ink';
import type { JSX } from 'react';
import { ENTRY_PANELS, type EntryView } from '../entry/view.ts';
import { wrap } from '../text/wrap.ts';
import { doubtOf } from '../wiremap/doubt.ts';
import { pairKey } from '../bench/view.ts';
import { findingLines, KEPT, mapLines } from './map-lines.ts';
import { doubtWords, Header, headRows, keyLines, Keys, PairList, PairMatrix } from './parts.tsx';
import { CODE_MATRIX, WIDE_MATRIX } from './size-plan.ts';

const SOURCE = 'entry by meters';
/** Rows below which the panel is left out. */
const PANEL_LEAST = 2;

/** Lines of the lower panel, wrapped to the width. */
export function entryPanelLines({ panel, how, readings, map, isDone }: EntryView, columns: number): string[] {
  const lines = panel === 'how' ? how : panel === 'readings' ? readings
    : map === null ? [] : [...(isDone ? [`verdict  ${map.verdict}${doubtWords[doubtOf(map)]}`] : []), ...mapLines(map, [], isDone), ...(isDone ? findingLines(map) : [])];
  const none = { how: '', readings: 'Nothing was read yet.', map: 'Known when something was read.' }[panel];
  return (lines.length === 0 ? [none] : lines).flatMap((line) => wrap(line, columns, 2)).map((line) => line.replaceAll(KEPT, ' '));
}

/** What goes where. */
function arrange(view: EntryView, columns: number, rows: number) {
  const question = wrap(view.question, columns, 0);
  const answer = wrap(view.answer, columns, 0);
  const wrong = view.wrong === null ? [] : wrap(`${view.wrong}.`, columns, 0);
  const keys = keyLines(view.keys, columns);
  const pairs = (view.leads.length * (view.leads.length - 1)) / 2;
  const matrix = view.leads.length < 2 ? 'none' : columns >= WIDE_MATRIX ? 'wide' : columns >= CODE_MATRIX ? 'codes' : 'list';
  const matrixRows = matrix === 'none' ? 0 : matrix === 'list' ? Math.ceil(pairs / 2) : view.leads.length + 1;
  const head = headRows(`Tapstone  ${SOURCE}`, view.title, columns);
  // The question and the line that is typed come before everything else.
  const needed = head + question.length + answer.length + wrong.length + 1 + keys.length;
  const withMatrix = rows - 1 - needed >= matrixRows;
  const left = rows - 1 - needed - (withMatrix ? matrixRows : 0);
  return {
    question, answer, wrong, keys, head, matrix: withMatrix ? matrix : 'none',
    room: left >= PANEL_LEAST ? left - 1 : 0, lines: entryPanelLines(view, columns),
  };
}

/** How far the panel can be scrolled, and how much of it is seen at once, lines. */
export function entryScrollRange(view: EntryView, columns: number, rows: number): { readonly most: number; readonly page: number } {
  const { lines, room } = arrange(view, columns, rows);
  return { most: Math.max(0, lines.length - room), page: Math.max(1, room) };
}

export function EntryScreen(
  { view, columns, rows, scroll }: { readonly view: EntryView; readonly columns: number; readonly rows: number; readonly scroll: number },
): JSX.Element {
  const { question, answer, wrong, keys, head, matrix, room, lines } = arrange(view, columns, rows);
  const from = Math.max(0, Math.min(scroll, lines.length - room));
  const names = ENTRY_PANELS.map((name) => (name === view.panel ? `[${name}]` : ` ${name} `)).join(' ');
  const range = lines.length <= room ? '' : `   lines ${from + 1}-${Math.min(lines.length, from + room)} of ${lines.length}, up and down keys`;
  const cells = {
    clips: view.leads, activePair: view.pair,
    readings: new Map(view.ohms.map(({ a, b, value }) => [pairKey(a, b), value])),
  };
  return (
    <Box flexDirection="column" width={columns}>
      <Header source={SOURCE} title={view.title} columns={columns} rows={head} />
      {matrix === 'none' ? null : matrix === 'list' ? <PairList {...cells} /> : <PairMatrix {...cells} words={matrix === 'wide'} />}
      {question.map((line, index) => <Text key={index} bold wrap="truncate">{line}</Text>)}
      {answer.map((line, index) => <Text key={index} dimColor wrap="truncate">{line}</Text>)}
      <Text wrap="truncate">{`> ${view.typed}_`}</Text>
      {wrong.map((line, index) => <Text key={index} color="yellow" wrap="truncate">{line}</Text>)}
      {room > 0 ? (
        <Box flexDirection="column" height={room + 1} overflow="hidden">
          <Text wrap="truncate" dimColor>{`${names}${range}`.slice(0, columns)}</Text>
          {lines.slice(from, from + room).map((line, index) => <Text key={index} wrap="truncate">{line === '' ? ' ' : line}</Text>)}
        </Box>
      ) : null}
      <Keys lines={keys} />
    </Box>
  );
}
