/** The stock on a terminal: what is typed is looked for. */
import { useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useEffect, useSyncExternalStore } from 'react';
import type { WhichPickup } from '../shop/pickup-model.ts';
import type { StockModel } from '../shop/stock-model.ts';
import { useKeys } from './keys.ts';
import { Page } from './page.tsx';
import { stockLines, stockPage } from './stock-screen.tsx';

export function StockApp({ model, onOpen, onBack, onHelp }: {
  readonly model: StockModel; readonly onOpen: (which: WhichPickup) => void; readonly onBack: () => void; readonly onHelp: () => void;
}): JSX.Element {
  const view = useSyncExternalStore(model.subscribe, model.view);
  const { columns, rows } = useWindowSize();
  useEffect(() => {
    model.open();
    return () => model.close();
  }, [model]);
  const open = async (): Promise<void> => {
    const line = await model.pick();
    if (line !== null) onOpen(line.number === null ? { pickup: line.pickup } : { number: line.number });
  };
  useKeys((press) => {
    if ('letter' in press) {
      if (press.letter === '?') onHelp();
      else model.type(press.letter);
      return;
    }
    const page = stockPage(view, columns, rows);
    switch (press.name) {
      case 'enter': return void open();
      case 'esc': return model.clear() ? undefined : onBack();
      case 'erase': return model.erase();
      case 'left': return model.turnState(-1);
      case 'right': return model.turnState(1);
      case 'tab': return model.turnVirtual();
      case 'up': return model.move(-1);
      case 'down': return model.move(1);
      case 'pageup': return model.move(-page);
      case 'pagedown': return model.move(page);
      case 'home': return model.move(-Infinity);
      case 'end': return model.move(Infinity);
    }
  });
  return <Page lines={stockLines(view, columns, rows)} columns={columns} />;
}
