/** The settings from one finished view, at any size. */
import type { SettingsView } from '../shop/settings-model.ts';
import { wrap } from '../text/wrap.ts';
import { bold, footLines, headLines, pageOf, plain, type PageLine } from './page.tsx';
import { fit } from './parts.tsx';

const KEYS = [{ key: 'up/down', does: 'choose' }, { key: 'enter', does: 'change' }, { key: 'esc', does: 'back' }, { key: '?', does: 'help' }];
const NAME = 14;

/** The screen, line by line. */
export function settingsLines(view: SettingsView, columns: number, rows: number): PageLine[] {
  const foot = footLines({ ask: view.ask, message: view.message, keys: KEYS }, columns);
  const middle = view.rows.flatMap(({ name, value, isOpen }, index) => {
    const isChosen = index === view.chosen;
    const text = `${isChosen ? '>' : ' '} ${fit(name, NAME)} ${isOpen ? '' : '('}${value}${isOpen ? '' : ')'}`;
    return wrap(text, columns, NAME + 4).map(isChosen ? bold : plain);
  });
  const words = view.rows[view.chosen]?.words ?? '';
  return pageOf(headLines('settings', '', columns), [...middle, plain(''), ...wrap(words, columns, 0).map(plain)], foot, rows);
}
