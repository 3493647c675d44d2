/** Where a tester is attached and no lot lies on its bench: the ways from there. */
import { useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useKeys } from './keys.ts';
import { footLines, headLines, Page, pageOf, plain } from './page.tsx';
import type { Way } from './ways.ts';

const LINES: readonly (readonly [string, string, Way])[] = [
  ['s', 'a lot to be tested', 'new lot'], ['f', 'the stock', 'stock'], ['m', 'a pickup by meters of your own', 'entry'],
  ['h', 'harnesses', 'harnesses'], ['o', 'settings', 'settings'],
];

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
  const keys = [...LINES.map(([key, does]) => ({ key, does })), { key: 'q', does: 'quit' }, { key: '?', does: 'help' }];
  const middle = [plain('No lot lies on the bench.'), plain(''), ...LINES.map(([key, does]) => plain(`  ${key}  ${does}`))];
  const foot = footLines({ ask: null, message: null, keys }, columns);
  return <Page lines={pageOf(headLines(`tester ${serial}`, '', columns), middle, foot, rows)} columns={columns} />;
}
