/** The harnesses that can be opened, on a terminal. */
import { useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useEffect, useSyncExternalStore } from 'react';
import type { FittingModel } from '../fitting/fitting-model.ts';
import type { HarnessList, HarnessListView } from '../shop/harness-list.ts';
import { wrap } from '../text/wrap.ts';
import { useKeys } from './keys.ts';
import { bold, footLines, headLines, Page, pageOf, plain, roomBetween, windowFrom, type PageLine } from './page.tsx';

const KEYS = [{ key: 'up/down', does: 'choose' }, { key: 'enter', does: 'open' }, { key: 'esc', does: 'back' }, { key: '?', does: 'help' }];

/** The screen, line by line. */
export function harnessListLines(view: HarnessListView, columns: number, rows: number): PageLine[] {
  const head = [...headLines('harnesses', '', columns), ...wrap(view.about, columns, 2).map(plain)];
  const foot = footLines({ ask: null, message: view.message, keys: KEYS }, columns);
  const room = roomBetween(head, foot, rows);
  const from = windowFrom(view.files.length, view.chosen, room);
  const middle = view.files.slice(from, from + room).map((name, index) => (from + index === view.chosen ? bold(`> ${name}`) : plain(`  ${name}`)));
  return pageOf(head, middle.length === 0 ? wrap(view.empty, columns, 0).map(plain) : middle, foot, rows);
}

export function HarnessListApp({ model, onOpen, onBack, onHelp }: {
  readonly model: HarnessList; readonly onOpen: (fitting: FittingModel) => void; readonly onBack: () => void; readonly onHelp: () => void;
}): JSX.Element {
  const view = useSyncExternalStore(model.subscribe, model.view);
  const { columns, rows } = useWindowSize();
  useEffect(() => void model.open(), [model]);
  useKeys((press) => {
    if ('letter' in press) {
      if (press.letter === '?') onHelp();
      return;
    }
    switch (press.name) {
      case 'enter': return void model.take().then((fitting) => (fitting === null ? undefined : onOpen(fitting)));
      case 'esc': return onBack();
      case 'up': return model.move(-1);
      case 'down': return model.move(1);
      case 'pageup': return model.move(-10);
      case 'pagedown': return model.move(10);
    }
  });
  return <Page lines={harnessListLines(view, columns, rows)} columns={columns} />;
}
