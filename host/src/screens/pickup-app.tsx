/** One pickup of the stock on a terminal: keys in, screens out. */
import { useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useEffect, useState, useSyncExternalStore } from 'react';
import type { PickupModel, WhichPickup } from '../shop/pickup-model.ts';
import { useKeys } from './keys.ts';
import { Page } from './page.tsx';
import { PICKUP_PANELS, pickupLines, pickupRange } from './pickup-screen.tsx';
import { scrolled } from './scroll.ts';

export function PickupApp({ model, onOpen, onHarness, onBack, onHelp }: {
  readonly model: PickupModel; readonly onOpen: (which: WhichPickup) => void; readonly onHarness: () => void;
  readonly onBack: () => void; readonly onHelp: () => void;
}): JSX.Element {
  const view = useSyncExternalStore(model.subscribe, model.view);
  const { columns, rows } = useWindowSize();
  const [at, setAt] = useState(0);
  const [scroll, setScroll] = useState(0);
  const panel = PICKUP_PANELS[at]!;
  useEffect(() => {
    void model.open();
    return () => model.close();
  }, [model]);
  useEffect(() => {
    setScroll(0);
    if (panel === 'partners') void model.wantPartners();
  }, [model, panel, view.map === null]);

  const letter = (key: string): void => {
    if (model.type(key)) return;
    if (key === '?') onHelp();
    else if (key === 's') model.askState();
    else if (key === 'n') model.askNote();
    else if (key === '#') model.askNumber();
    else if (key === 'l') model.askLabel();
    else if (key === 'a') model.askSheet();
    else if (key === 'o') model.askListing();
    else if (key === 'h') onHarness();
    else if (key === 'w') model.toggleWays();
  };
  useKeys((press) => {
    if ('letter' in press) return letter(press.letter);
    const { most, page } = pickupRange(view, columns, rows, panel);
    const move = (by: number): void => {
      if (panel === 'partners') model.move(Math.sign(by));
      else setScroll((now) => scrolled(now, by, most));
    };
    const turn = (by: number): void => setAt((now) => (now + by + PICKUP_PANELS.length) % PICKUP_PANELS.length);
    switch (press.name) {
      case 'enter': {
        const partner = model.enter() || panel !== 'partners' ? null : model.partner();
        return partner === null ? undefined : onOpen({ number: partner });
      }
      case 'esc': return model.leave() ? undefined : onBack();
      case 'erase': return model.erase();
      case 'tab': return turn(1);
      case 'backtab': return turn(-1);
      case 'up': return move(-1);
      case 'down': return move(1);
      case 'pageup': return move(-page);
      case 'pagedown': return move(page);
    }
  });
  return <Page lines={pickupLines(view, columns, rows, panel, scroll)} columns={columns} />;
}
