/** Where a tester is attached and no lot lies on its bench: the ways from there. */
import { useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useKeys } from './keys.ts';
import { footLines, headLines, Page, pageOf, plain, type PageLine } from './page.tsx';
import type { Way } from './ways.ts';

const LINES: readonly (readonly [string, string, Way])[] = [
  ['s', 'a lot', 'new lot'], ['f', 'the stock', 'stock'], ['m', 'a pickup by your own meters', 'entry'],
  ['h', 'harnesses', 'harnesses'], ['o', 'settings', 'settings'],
];

/** The screen, line by line. */
export function homeLines(serial: string, columns: number, rows: number): PageLine[] {
  const keys = [...LINES.map(([key, does]) => ({ key, does })), { key: 'q', does: 'quit' }, { key: '?', does: 'help' }];
  const middle = [plain('No lot lies on the bench.'), plain(''), ...LINES.map(([key, does]) => plain(`  ${key}  ${does}`))];
  return pageOf(headLines(`tester ${serial}`, '', columns), middle, footLines({ ask: null, message: null, keys }, columns), rows);
}

export function HomeApp({ serial, onGo, onQuit, onHelp }: {
  readonly serial: string; readonly onGo: (way: Way) => void; readonly onQuit: () => void; readonly onHelp: () => void;
}): JSX.Element {
  const { columns, rows } = useWindowSize();
  useKeys((press) => {
    if (!('letter' in press)) return;
    const line = LINES.find(([key]) => key === press.letter);
    if (line !== undefined) onGo(line[2]);
    else if (press.letter === '?') onHelp();
    else if (press.letter === 'q') onQuit();
  });
  return <Page lines={homeLines(serial, columns, rows)} columns={columns} />;
}
