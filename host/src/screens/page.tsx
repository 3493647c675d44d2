/** A screen of lines: head, what it shows, what it asks or says, and its keys in the last line. */
import { Box, Text } from 'ink';
import type { JSX } from 'react';
import type { KeyHint } from '../bench/view.ts';
import type { AskView } from '../shop/ask.ts';
import { cellsOf } from '../text/cells.ts';
import { wrap } from '../text/wrap.ts';
import { keyLines } from './parts.tsx';

/** One line; what it is shows without colour too, by its words. */
export interface PageLine {
  readonly text: string;
  readonly look?: 'bold' | 'dim' | 'warn' | 'good' | 'fault';
}

export const plain = (text: string): PageLine => ({ text });
export const bold = (text: string): PageLine => ({ text, look: 'bold' });
export const dim = (text: string): PageLine => ({ text, look: 'dim' });

const COLOURS = { warn: 'yellow', good: 'green', fault: 'red' } as const;

/** Lines from top to bottom. */
export function Page({ lines, columns }: { readonly lines: readonly PageLine[]; readonly columns: number }): JSX.Element {
  return (
    <Box flexDirection="column" width={columns}>
      {lines.map(({ text, look }, index) => (
        <Text key={index} wrap="truncate" bold={look === 'bold' || look === 'good' || look === 'fault'} dimColor={look === 'dim'}
          {...(look === 'warn' || look === 'good' || look === 'fault' ? { color: COLOURS[look] } : {})}>
          {text === '' ? ' ' : text}
        </Text>
      ))}
    </Box>
  );
}

/** Head and what belongs to it in one line, or in two where that is too long. */
export function headLines(left: string, right: string, columns: number): PageLine[] {
  const head = `Tapstone  ${left}`;
  if (right === '') return [bold(head)];
  const gap = columns - cellsOf(head) - cellsOf(right);
  return gap >= 2 ? [bold(`${head}${' '.repeat(gap)}${right}`)] : [bold(head), ...wrap(right, columns, 2).map(plain)];
}

interface Foot {
  readonly ask: AskView | null;
  readonly message: string | null;
  readonly keys: readonly KeyHint[];
}

/** The message, or the question with what is typed, above the keys. */
export function footLines({ ask, message, keys }: Foot, columns: number): PageLine[] {
  const asked = ask === null ? [] : ask.text === null ? wrap(ask.question, columns, 2) : wrap(`${ask.question}: ${ask.text}_`, columns, 2);
  const hints = ask === null ? keys : [...(ask.text === null ? ask.choices : [{ key: 'enter', does: 'takes it' }]), { key: 'esc', does: 'leaves it' }];
  return [
    ...(message === null || ask !== null ? [] : wrap(message, columns, 0).map((text): PageLine => ({ text, look: 'warn' }))),
    ...asked.map(bold),
    ...keyLines(hints, columns).map(dim),
  ];
}

/** Rows of the middle, between head and foot. Ink clears a screen that is filled to its last row, so one stays free. */
export function roomBetween(head: readonly PageLine[], foot: readonly PageLine[], rows: number): number {
  return Math.max(1, rows - 1 - head.length - foot.length);
}

/** Head, middle and foot; the foot stands on the last rows. */
export function pageOf(head: readonly PageLine[], middle: readonly PageLine[], foot: readonly PageLine[], rows: number): PageLine[] {
  const room = roomBetween(head, foot, rows);
  const shown = middle.slice(0, room);
  return [...head, ...shown, ...Array.from({ length: room - shown.length }, () => plain('')), ...foot];
}

/** The part of a list that is in sight, the chosen entry in it. @returns index of its first entry */
export function windowFrom(count: number, chosen: number, room: number): number {
  return Math.max(0, Math.min(count - room, chosen - Math.floor(room / 2)));
}

/** What of a long text is in sight. */
export function scrolled(
  lines: readonly string[], room: number, scroll: number,
): { readonly shown: readonly string[]; readonly from: number } {
  const from = Math.max(0, Math.min(scroll, lines.length - room));
  return { shown: lines.slice(from, from + room), from };
}

/** Names of panels, the open one in brackets, and where a long one stands. */
export function panelTitle(
  names: readonly string[], open: string, from: number, room: number, total: number, columns: number,
): string {
  const all = names.map((name) => (name === open ? `[${name}]` : ` ${name} `)).join(' ').trimEnd();
  // Where they have no room beside each other, the open one and how many there are.
  const short = `[${open}]  panel ${names.indexOf(open) + 1} of ${names.length}`;
  const range = `${from + 1}-${Math.min(total, from + room)} of ${total}`;
  const words = `   lines ${range}, up and down keys`;
  const titles = total <= room ? [all, short] : [`${all}${words}`, `${all} ${range}`, `${short}${words}`, `${short} ${range}`, `[${open}] ${range}`];
  return titles.find((title) => title.length <= columns) ?? titles.at(-1)!;
}
