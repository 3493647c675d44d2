/** The lot that is on the bench, on a terminal: keys in, screens out. */
import { useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useEffect, useState, useSyncExternalStore } from 'react';
import type { LotModel } from '../shop/lot-model.ts';
import type { WhichPickup } from '../shop/pickup-model.ts';
import { useKeys } from './keys.ts';
import { LOT_PANELS, lotLinesOf, lotRange } from './lot-screen.tsx';
import { Page } from './page.tsx';
import { scrolled } from './scroll.ts';

/** @param onLay - puts the pickup of a place on the bench @param onOpen - shows one that is kept */
export function LotApp({ model, onLay, onOpen, onBack, onHelp }: {
  readonly model: LotModel; readonly onLay: (place: number) => void; readonly onOpen: (which: WhichPickup) => void;
  readonly onBack: () => void; readonly onHelp: () => void;
}): JSX.Element {
  const view = useSyncExternalStore(model.subscribe, model.view);
  const { columns, rows } = useWindowSize();
  const [at, setAt] = useState(0);
  const [scroll, setScroll] = useState(0);
  const panel = LOT_PANELS[at]!;
  useEffect(() => {
    if (panel === 'compared' && view.report === null) void model.wantReport();
  }, [model, panel, view.report === null]);

  const letter = (key: string): void => {
    if (model.type(key)) return;
    if (key === '?') onHelp();
    else if (key === 'j') model.nextUnsure();
    else if (key === 'u') model.askUndo();
    else if (key === 'l') model.askLabels();
    else if (key === 'v') {
      const uid = model.pickup();
      if (uid === null) model.tellUntested();
      else onOpen({ uid });
    }
  };
  useKeys((press) => {
    if ('letter' in press) return letter(press.letter);
    const { most, page } = lotRange(view, columns, rows);
    const move = (by: number): void => {
      if (panel === 'pickups') model.move(by);
      else setScroll((now) => scrolled(now, by, most));
    };
    switch (press.name) {
      case 'enter': return model.enter() ? undefined : onLay(model.chosen);
      case 'esc': return model.leave() || model.stop() ? undefined : onBack();
      case 'tab': case 'backtab': return setAt((now) => (now + 1) % LOT_PANELS.length);
      case 'up': return move(-1);
      case 'down': return move(1);
      case 'pageup': return move(-page);
      case 'pagedown': return move(page);
      case 'home': return move(-Infinity);
      case 'end': return move(Infinity);
    }
  });
  return <Page lines={lotLinesOf(view, columns, rows, panel, scroll)} columns={columns} />;
}
