/** The settings from one finished view, at any size. */
import type { SettingsView } from '../shop/settings-model.ts';
import { wrap } from '../text/wrap.ts';
import { bold, footLines, headLines, pageOf, plain, roomBetween, windowFrom, type PageLine } from './page.tsx';
import { fit } from './parts.tsx';

const KEYS = [{ key: 'up/down', does: 'choose' }, { key: 'enter', does: 'change' }, { key: 'esc', does: 'back' }, { key: '?', does: 'help' }];
const NAME = 14;

/** The screen, line by line. */
export function settingsLines(view: SettingsView, columns: number, rows: number): PageLine[] {
  const head = headLines('settings', '', columns);
  const words = wrap(view.rows[view.chosen]?.words ?? '', columns, 0).map(plain);
  const foot = [...words, ...footLines({ ask: view.ask, message: view.message, keys: KEYS }, columns)];
  let at = 0;
  const middle: PageLine[] = [];
  for (const [index, { name, value, isOpen }] of view.rows.entries()) {
    const isChosen = index === view.chosen;
    if (isChosen) at = middle.length;
    const text = `${isChosen ? '>' : ' '} ${fit(name, NAME)} ${isOpen ? '' : '('}${value}${isOpen ? '' : ')'}`;
    middle.push(...wrap(text, columns, NAME + 3).map(isChosen ? bold : plain));
  }
  const from = windowFrom(middle.length, at, roomBetween(head, foot, rows));
  return pageOf(head, middle.slice(from), foot, rows);
}
