/** Help over a screen: scrolled, and left by the same key. */
import { useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useState } from 'react';
import { wrap } from '../text/wrap.ts';
import { helpLines, helpTitle, type HelpTopic } from './help-text.ts';
import { useKeys } from './keys.ts';
import { footLines, headLines, Page, pageOf, plain, roomBetween, scrolled, type PageLine } from './page.tsx';

const KEYS = [{ key: 'up/down', does: 'scroll' }, { key: 'esc or ?', does: 'back' }];

function arrange(topic: HelpTopic, columns: number, rows: number) {
  const foot = footLines({ ask: null, message: null, keys: KEYS }, columns);
  const lines = helpLines(topic).flatMap(({ text, indent }) => wrap(text, columns, indent));
  return { foot, lines, room: roomBetween(headLines('help', '', columns), foot, rows) };
}

/** The screen, line by line. */
export function helpPage(topic: HelpTopic, columns: number, rows: number, scroll: number): PageLine[] {
  const { foot, lines, room } = arrange(topic, columns, rows);
  const { shown, from } = scrolled(lines, room, scroll);
  const where = lines.length > room ? `lines ${from + 1}-${from + shown.length} of ${lines.length}` : '';
  return pageOf(headLines(`help: ${helpTitle(topic)}`, where, columns), shown.map(plain), foot, rows);
}

export function HelpApp({ topic, onBack }: { readonly topic: HelpTopic; readonly onBack: () => void }): JSX.Element {
  const { columns, rows } = useWindowSize();
  const [scroll, setScroll] = useState(0);
  useKeys((press) => {
    const { lines, room } = arrange(topic, columns, rows);
    const move = (by: number): void => setScroll((now) => Math.max(0, Math.min(lines.length - room, now + by)));
    if ('letter' in press) {
      if (press.letter === '?' || press.letter === 'q') onBack();
      return;
    }
    switch (press.name) {
      case 'esc': case 'enter': return onBack();
      case 'up': return move(-1);
      case 'down': return move(1);
      case 'pageup': return move(-room);
      case 'pagedown': return move(room);
    }
  });
  return <Page lines={helpPage(topic, columns, rows, scroll)} columns={columns} />;
}
