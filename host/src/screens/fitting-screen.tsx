/** The harness screen from one finished view, at any size. */
import { Box, Text } from 'ink';
import type { JSX } from 'react';
import type { KeyHint } from '../bench/view.ts';
import type { FittingView, SettingRow } from '../fitting/view.ts';
import { cellsOf } from '../text/cells.ts';
import { wrap } from '../text/wrap.ts';
import { curvePlot, MARKS } from './curve-plot.ts';
import { fit, keyLines } from './parts.tsx';

/** What stands below the table: the response of the setting, or what was found and where the leads go. */
export type Panel = 'curve' | 'list';

/** The ends of what is drawn, hertz. */
export interface Range {
  readonly from_Hz: number;
  readonly to_Hz: number;
}

/** Columns of the table after the first two, and where their text stands. */
const FIXED = [{ width: 5 }, { width: 5, isNumber: true }, { width: 8, isNumber: true }, { width: 8, isNumber: true }] as const;
const TITLES = ['sounds', 'phase', 'hum', 'at jack', 'peak'] as const;
const SETTING_most = 24;
const SOUNDS_most = 48;
/** Rows that a plot has use for, and settings that stay in sight beside it. */
const PLOT_least = 5;
const PLOT_most = 16;
const SETTINGS_beside = 6;

/** Settings that stay in sight where the list has no more room, and lines of the list that it has use for. */
const SETTINGS_least = 1;
const LIST_least = 5;

/** How this screen was come to. */
export interface Reached {
  /** By the command, which prints; or from another screen. */
  readonly isCommand: boolean;
  /** Whether there is a file to write to. */
  readonly canSave: boolean;
}

/** Keys that can do something. */
function keysOf({ hasPickups, hasOthers }: FittingView, panel: Panel, { isCommand, canSave }: Reached): KeyHint[] {
  const some = (holds: boolean, key: string, does: string): KeyHint[] => (holds ? [{ key, does }] : []);
  return [
    { key: 'up/down', does: 'setting' }, { key: 'left/right', does: 'slot' }, ...some(hasPickups, 'p', 'pickup'), { key: 'x', does: 'exchange' },
    { key: 'o', does: 'other coil grounded' }, { key: 'w', does: 'next way' }, { key: 'm', does: 'turn magnet' }, { key: 'b', does: 'best' },
    { key: 'B', does: 'best with magnets' }, { key: 'u', does: 'undo' }, { key: 'c', does: 'compare' }, ...some(hasOthers, 'h', 'harness'),
    ...some(isCommand, 'j', 'read at the jack'), ...some(canSave, 's', 'save'), ...some(isCommand, 'e', 'end and print'),
    ...leavingKeys(panel, isCommand),
  ];
}

/** The last of them, without which nobody finds the way. */
function leavingKeys(panel: Panel, isCommand: boolean): KeyHint[] {
  return [
    { key: 'tab', does: panel === 'curve' ? 'list' : 'curve' }, isCommand ? { key: 'q', does: 'quit' } : { key: 'esc', does: 'back' },
    { key: '?', does: 'help' },
  ];
}

/** What goes where on a terminal of this size. */
function arrange(view: FittingView, columns: number, rows: number, kind: Panel, reached: Reached) {
  const keys = keyLines(keysOf(view, kind, reached), columns);
  const count = wrap(view.count, columns, 2);
  const message = wrap(view.message, columns, 2);
  // A line is always there for the message, so that nothing jumps when one comes.
  const fixed = 1 + view.slots.length + 1 + count.length + Math.max(1, message.length);
  const left = Math.max(1, rows - 1 - fixed - keys.length);
  const settings = Math.min(view.rows.length, Math.max(1, left - PLOT_least - 2, Math.min(SETTINGS_beside, left)));
  const shown = left - settings - 2 >= PLOT_least ? Math.min(settings, Math.max(SETTINGS_beside, left - PLOT_most - 2)) : settings;
  const panel = left - shown;
  if (panel - 2 >= PLOT_least) return { keys, count, message, settings: shown, panel };
  if (kind === 'curve') return { keys, count, message, settings: shown, panel: 0 };
  // Without the list nobody can solder: settings make room for it, then keys that help tells as well.
  const few = left > LIST_least ? keys : keyLines(leavingKeys(kind, reached.isCommand), columns);
  const room = Math.max(1, rows - 1 - fixed - few.length);
  const beside = Math.min(view.rows.length, Math.max(SETTINGS_least, Math.min(SETTINGS_beside, room - LIST_least)));
  return { keys: few, count, message, settings: beside, panel: Math.max(0, room - beside) };
}

/** The list, wrapped. */
function listLines(view: FittingView, columns: number): string[] {
  return view.list.flatMap(({ text, indent }) => wrap(text, columns, indent));
}

/** How far the list can be scrolled, and how much of it is seen at once, lines. */
export function listRange(
  view: FittingView, columns: number, rows: number, reached: Reached,
): { readonly most: number; readonly page: number } {
  const { panel } = arrange(view, columns, rows, 'list', reached);
  return { most: Math.max(0, listLines(view, columns).length - (panel - 1)), page: Math.max(1, panel - 1) };
}

/** The settings that are in sight, the chosen one among them. */
function window(all: readonly SettingRow[], count: number): readonly SettingRow[] {
  const chosen = Math.max(0, all.findIndex(({ isChosen }) => isChosen));
  const from = Math.max(0, Math.min(all.length - count, chosen - Math.floor(count / 2)));
  return all.slice(from, from + count);
}

function Settings({ view, columns, count }: { readonly view: FittingView; readonly columns: number; readonly count: number }): JSX.Element {
  const fixed = FIXED.reduce((sum, { width }) => sum + width + 1, 0);
  const setting = Math.min(SETTING_most, Math.max(cellsOf(view.switches), ...view.rows.map(({ cells }) => cellsOf(cells[0]!))));
  const widths = [{ width: setting }, { width: Math.max(8, Math.min(SOUNDS_most, columns - 2 - setting - 1 - fixed)) }, ...FIXED];
  const line = (cells: readonly string[]): string => cells.map((text, at) => {
    const { width, isNumber = false } = { isNumber: false, ...widths[at]! };
    return isNumber ? text.padStart(width) : fit(text, width);
  }).join(' ').trimEnd();
  const shown = window(view.rows, count);
  const more = shown.length < view.rows.length ? `, ${view.rows.length} settings` : '';
  return (
    <Box flexDirection="column">
      <Text wrap="truncate" dimColor>{`  ${line([view.switches, `${TITLES[0]}${more}`, ...TITLES.slice(1)])}`}</Text>
      {shown.map(({ cells, isChosen, isCompared }, index) => (
        <Text key={index} wrap="truncate" bold={isChosen}>{`${isChosen ? '>' : isCompared ? 'o' : ' '} ${line(cells)}`}</Text>
      ))}
    </Box>
  );
}

function Curves({ view, range, columns, rows }: {
  readonly view: FittingView; readonly range: Range; readonly columns: number; readonly rows: number;
}): JSX.Element {
  const drawn = view.curves.flatMap(({ decibels }) => (decibels === null ? [] : [decibels]));
  const legend = view.curves.map(({ label, decibels }, at) =>
    (decibels === null ? `${label}: nothing to draw` : `${MARKS[drawn.length > 1 ? at : 0]} ${label}`)).join('   ');
  const both = drawn.length > 1 ? `   ${MARKS[2]} both` : '';
  return (
    <Box flexDirection="column">
      <Text wrap="truncate" dimColor>{`${legend}${both}`}</Text>
      {drawn.length === 0 ? null : curvePlot(drawn, range.from_Hz, range.to_Hz, columns, rows - 2).map((line, index) => (
        <Text key={index} wrap="truncate">{line === '' ? ' ' : line}</Text>
      ))}
    </Box>
  );
}

/** What stands over the list. @param range - of its lines that are in sight, or null for all of it */
function listTitle(range: string | null, columns: number): string {
  if (range === null) return 'what was found, and where the leads go';
  const whole = `what was found, and where the leads go   lines ${range}, page up and down`;
  return whole.length <= columns ? whole : `findings and leads  ${range}, page keys`;
}

export function FittingScreen({ view, range, columns, rows, panel, scroll, reached }: {
  readonly view: FittingView; readonly range: Range; readonly columns: number; readonly rows: number;
  readonly panel: Panel; readonly scroll: number; readonly reached: Reached;
}): JSX.Element {
  const plan = arrange(view, columns, rows, panel, reached);
  const lines = listLines(view, columns);
  const room = plan.panel - 1;
  const from = Math.max(0, Math.min(scroll, lines.length - room));
  const title = listTitle(lines.length > room ? `${from + 1}-${Math.min(lines.length, from + room)} of ${lines.length}` : null, columns);
  return (
    <Box flexDirection="column" width={columns}>
      <Text bold wrap="truncate">{`Tapstone  ${view.title}`}</Text>
      {view.slots.map(({ text, isActive }) => (
        <Text key={text} wrap="truncate" bold={isActive}>{`${isActive ? '>' : ' '} ${text}`}</Text>
      ))}
      <Settings view={view} columns={columns} count={plan.settings} />
      {plan.count.map((line, index) => <Text key={index} wrap="truncate">{line}</Text>)}
      {plan.panel === 0 ? null : (
        <Box flexDirection="column" height={plan.panel} overflow="hidden">
          {panel === 'curve' ? <Curves view={view} range={range} columns={columns} rows={plan.panel} /> : (
            <>
              <Text wrap="truncate" dimColor>{title}</Text>
              {lines.slice(from, from + room).map((line, index) => <Text key={index} wrap="truncate">{line === '' ? ' ' : line}</Text>)}
            </>
          )}
        </Box>
      )}
      {plan.message.map((line, index) => <Text key={index} color="yellow" wrap="truncate">{line === '' ? ' ' : line}</Text>)}
      {plan.keys.map((line) => <Text key={line} dimColor wrap="truncate">{line}</Text>)}
    </Box>
  );
}
