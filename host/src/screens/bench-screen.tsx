/** The whole bench screen from one finished view, at any size. */
import { Box, Text } from 'ink';
import type { JSX } from 'react';
import { wrap } from '../text/wrap.ts';
import type { BenchView, PanelLine } from '../bench/view.ts';
import { planSize } from './size-plan.ts';
import { findingLines, KEPT, mapLines } from './map-lines.ts';
import { panelTitle } from './page.tsx';
import { Header, headRows, keyLines, Keys, PairList, PairMatrix, Status, Trace } from './parts.tsx';

/** Tabs of the lower panel. A new one is added here and in `panelLines`. */
export const TABS = ['map', 'findings', 'wiring'] as const;
export type Tab = (typeof TABS)[number];

/** Lines of a tab, wrapped to the width. */
export function panelLines(view: BenchView, tab: Tab, columns: number): string[] {
  const plain = (lines: readonly string[]): PanelLine[] => lines.map((text) => ({ text, indent: 2 }));
  // Before anything is known of it: how it lies there.
  const isEmpty = view.map === null || (view.map.coils.length === 0 && view.step === 'ready');
  if (tab === 'map' && isEmpty && !view.final) return view.laying.flatMap((line) => wrap(line, columns, 2));
  const lines = tab === 'wiring' ? view.wiring
    : view.map === null ? []
      : plain(tab === 'map' ? mapLines(view.map, view.clips, view.final) : findingLines(view.map));
  const none = plain([view.final ? 'Nothing to show.' : 'Known when the test has got that far.']);
  return (lines.length === 0 ? none : lines)
    .flatMap(({ text, indent }) => wrap(text, columns, indent))
    .map((line) => line.replaceAll(KEPT, ' '));
}

/** Title of the lower panel: the tabs, and where the scroll stands. */
function titleOf(view: BenchView, tab: Tab, from: number, shown: number, total: number, columns: number): string {
  const count = view.map?.findings.length ?? 0;
  const nameOf = (one: Tab): string => (one === 'findings' && count > 0 ? `findings (${count})` : one);
  return panelTitle(TABS.map(nameOf), nameOf(tab), from, shown, total, columns);
}

/** What goes where on a terminal of this size. */
function arrange(view: BenchView, columns: number, rows: number, tab: Tab) {
  const prompt = wrap(view.prompt, columns, 0);
  const message = view.message === null ? [] : wrap(view.message, columns, 0);
  const keys = keyLines(view.keys, columns);
  const plan = planSize(columns, rows, view.clips.length, view.final, {
    head: headRows(view.source, view.title, columns), keys: keys.length, prompt: prompt.length + message.length,
  });
  return { prompt, message, keys, plan, lines: panelLines(view, tab, columns), room: Math.max(0, plan.panelRows - 1) };
}

/** How far the lower panel can be scrolled, and how much of it is seen at once, lines. */
export function scrollRange(view: BenchView, columns: number, rows: number, tab: Tab): { readonly most: number; readonly page: number } {
  const { lines, room } = arrange(view, columns, rows, tab);
  return { most: Math.max(0, lines.length - room), page: Math.max(1, room) };
}

export function BenchScreen(
  { view, columns, rows, tab, scroll }: {
    readonly view: BenchView; readonly columns: number; readonly rows: number;
    readonly tab: Tab; readonly scroll: number;
  },
): JSX.Element {
  const { prompt, message, keys, plan, lines, room } = arrange(view, columns, rows, tab);
  const from = Math.max(0, Math.min(scroll, lines.length - room));
  const matrix = { clips: view.clips, readings: view.readings, activePair: view.activePair };
  return (
    <Box flexDirection="column" width={columns}>
      <Header source={view.source} title={view.title} columns={columns} rows={plan.headRows} />
      <Box flexDirection={plan.statusBeside ? 'row' : 'column'} gap={plan.statusBeside ? 2 : 0}>
        {plan.matrix === 'list'
          ? <PairList {...matrix} />
          : <PairMatrix {...matrix} words={plan.matrix === 'wide'} />}
        <Status view={view} inline={!plan.statusBeside} />
      </Box>
      {prompt.map((line, index) => <Text key={index} bold wrap="truncate">{line}</Text>)}
      {message.map((line, index) => <Text key={index} color="yellow" wrap="truncate">{line}</Text>)}
      {plan.traceRows > 0 && view.trace.length > 0
        ? <Trace channels={view.trace} columns={columns} rows={plan.traceRows} beside={plan.traceBeside} />
        : null}
      {plan.panelRows > 1 ? (
        <Box flexDirection="column" height={plan.panelRows} overflow="hidden">
          <Text wrap="truncate" dimColor>{titleOf(view, tab, from, room, lines.length, columns)}</Text>
          {lines.slice(from, from + room).map((line, index) => (
            <Text key={index} wrap="truncate">{line === '' ? ' ' : line}</Text>
          ))}
        </Box>
      ) : null}
      <Keys lines={keys.slice(0, plan.keyRows)} />
    </Box>
  );
}
