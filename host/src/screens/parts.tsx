/** The pieces of the bench screen. They draw; nothing here decides. */
import { Box, Text } from 'ink';
import type { JSX } from 'react';
import { colourInWords } from '../wiremap/colours.ts';
import { doubtOf } from '../wiremap/doubt.ts';
import { cellsOf, cut, lengthThatFits, padded } from '../text/cells.ts';
import { wrap } from '../text/wrap.ts';
import type { BenchView, ClipLabel, KeyHint, TraceChannel } from '../bench/view.ts';
import { cellText, pairKey } from '../bench/view.ts';
import { largest, plot, usual, voltWords } from './trace-plot.ts';

const CELL = 7;

/** `text` cut or filled to a width, so that columns line up. */
export function fit(text: string, width: number): string {
  return padded(cut(text, width), width);
}

/** Rows of the head: one when source and title fit beside each other. */
export function headRows(source: string, title: string, columns: number): number {
  return cellsOf(head(source)) + 2 + cellsOf(title) <= columns ? 1 : 1 + wrap(title, columns, 2).length;
}

function head(source: string): string {
  return `Tapstone  ${source}`;
}

/** On top: who is on the other end, and what lies on the bench. @param rows - as many as it gets; in one the title is cut */
export function Header(
  { source, title, columns, rows }: {
    readonly source: string; readonly title: string; readonly columns: number; readonly rows: number;
  },
): JSX.Element {
  const left = head(source);
  if (rows > 1) {
    return (
      <Box flexDirection="column">
        <Text bold wrap="truncate">{left}</Text>
        {wrap(title, columns, 2).map((line, index) => <Text key={index} wrap="truncate">{line}</Text>)}
      </Box>
    );
  }
  const room = columns - cellsOf(left) - 2;
  const right = room < 8 ? '' : cut(title, room);
  const gap = ' '.repeat(Math.max(0, columns - cellsOf(left) - cellsOf(right)));
  return (
    <Text wrap="truncate">
      <Text bold>{left.slice(0, lengthThatFits(left, columns))}</Text>
      {gap}
      {right}
    </Text>
  );
}

type MatrixProps = Pick<BenchView, 'clips' | 'readings' | 'activePair'>;

function leadText({ clip, colour }: ClipLabel, words: boolean): string {
  if (!words) return `${clip} ${colour ?? ''}`;
  return `${clip} ${colour === undefined ? 'lead' : colourInWords(colour)}`;
}

/** Triangle of pair readings: each row a clip, columns the clips after the first. */
export function PairMatrix(
  { clips, readings, activePair, words }: MatrixProps & { readonly words: boolean },
): JSX.Element {
  const label = words ? 23 : 7;
  const across = clips.slice(1);
  const active = activePair ? pairKey(...activePair) : '';
  return (
    <Box flexDirection="column">
      <Text wrap="truncate" dimColor>
        {(words ? 'ohms, clip to clip' : 'ohms').padEnd(label)}
        {across.map(({ clip }) => String(clip).padStart(CELL)).join('')}
      </Text>
      {clips.slice(0, -1).map((row, index) => (
        <Text key={row.clip} wrap="truncate">
          {fit(leadText(row, words), label)}
          {across.map((column, at) => {
            if (at < index) return <Text key={column.clip}>{' '.repeat(CELL)}</Text>;
            const key = pairKey(row.clip, column.clip);
            const text = key === active ? `[${cellText(readings.get(key))}]` : cellText(readings.get(key));
            return <Text key={column.clip} bold={key === active}>{text.padStart(CELL)}</Text>;
          })}
        </Text>
      ))}
      <Text wrap="truncate">{leadText(clips[clips.length - 1], words)}</Text>
    </Box>
  );
}

/** The same for narrow terminals: two pairs a line. */
export function PairList({ clips, readings, activePair }: MatrixProps): JSX.Element {
  const active = activePair ? pairKey(...activePair) : '';
  const cells: string[] = [];
  clips.forEach((one, index) => {
    for (const other of clips.slice(index + 1)) {
      const key = pairKey(one.clip, other.clip);
      cells.push(`${key === active ? '>' : ' '}${key} ${cellText(readings.get(key))}`.padEnd(14));
    }
  });
  const lines: string[] = [];
  for (let i = 0; i < cells.length; i += 2) lines.push(cells.slice(i, i + 2).join(''));
  return (
    <Box flexDirection="column">
      {lines.map((line) => <Text key={line} wrap="truncate">{line}</Text>)}
    </Box>
  );
}

const verdictWords = {
  good: 'GOOD', fault: 'FAULT: do not fit', unsure: 'UNSURE',
} as const;
/** Behind a good verdict. */
export const doubtWords = { '': '', warning: ', see findings', likely: ', touch again' } as const;
const verdictColours = { good: 'green', fault: 'red', unsure: 'yellow' } as const;

/** What the tester does and, at the end, the verdict; each in words, colour only adds. */
export function Status({ view, inline }: { readonly view: BenchView; readonly inline: boolean }): JSX.Element {
  const verdict = view.final && view.map ? view.map.verdict : null;
  const doubt = view.map === null ? '' : doubtOf(view.map);
  const percent = view.progress === null ? '' : `${Math.round(view.progress * 100)} % of the test`;
  const words = verdict
    ? <Text bold color={doubt === '' ? verdictColours[verdict] : verdictColours.unsure}>{verdictWords[verdict]}{doubtWords[doubt]}</Text>
    : <Text>{view.step}</Text>;
  if (inline) return <Text wrap="truncate">{words}{percent ? `  ${percent}` : ''}</Text>;
  return (
    <Box flexDirection="column">
      <Text dimColor>{verdict ? 'verdict' : 'now'}</Text>
      {words}
      {percent ? <Text>{percent}</Text> : null}
      <Text dimColor>{view.bell ? 'bell on' : ''}</Text>
    </Box>
  );
}

/** One listening channel. */
function Channel(
  { channel, width, rows, atLeast_V }: {
    readonly channel: TraceChannel; readonly width: number; readonly rows: number; readonly atLeast_V: number;
  },
): JSX.Element {
  const { rows: lines, fullScale_V } = plot(channel.spans, width, rows, atLeast_V);
  return (
    <Box flexDirection="column" width={width}>
      <Text wrap="truncate" dimColor>{`${channel.label}  ±${voltWords(fullScale_V)}`}</Text>
      {lines.map((line, index) => <Text key={index} wrap="truncate">{line}</Text>)}
    </Box>
  );
}

/** Noise fills no more than one part in so many of the plot, so that a touch can be seen coming. */
const ROOM = 6;

/** The touch as it happens, all channels on one scale: a neighbour's small share must look small. */
export function Trace(
  { channels, columns, rows, beside }: {
    readonly channels: readonly TraceChannel[]; readonly columns: number;
    readonly rows: number; readonly beside: boolean;
  },
): JSX.Element {
  const two = beside && channels.length > 1;
  const width = two ? Math.floor((columns - 2) / 2) : columns;
  const atLeast_V = Math.max(...channels.map(({ spans }) => Math.max(largest(spans), ROOM * usual(spans))));
  return (
    <Box flexDirection={two ? 'row' : 'column'} gap={two ? 2 : 0}>
      {channels.map((channel) => (
        <Channel key={channel.label} channel={channel} width={width} rows={rows} atLeast_V={atLeast_V} />
      ))}
    </Box>
  );
}

/** The keys that do something now, as lines that fit. */
export function keyLines(keys: readonly KeyHint[], columns: number): string[] {
  const lines = [''];
  for (const { key, does } of keys) {
    const hint = `${key} ${does}`;
    const next = lines[0] === '' ? hint : `${lines.at(-1)}  ${hint}`;
    if (cellsOf(next) > columns) lines.push(hint);
    else lines[lines.length - 1] = next;
  }
  return lines;
}

/** The last lines: the keys. */
export function Keys({ lines }: { readonly lines: readonly string[] }): JSX.Element {
  return <Box flexDirection="column">{lines.map((line) => <Text key={line} wrap="truncate" dimColor>{line}</Text>)}</Box>;
}
