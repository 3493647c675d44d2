/** The settings on a terminal: keys in, screens out. */
import { useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useEffect, useSyncExternalStore } from 'react';
import type { SettingsModel } from '../shop/settings-model.ts';
import { useKeys } from './keys.ts';
import { Page } from './page.tsx';
import { settingsLines } from './settings-screen.tsx';

export function SettingsApp({ model, onBack, onHelp }: {
  readonly model: SettingsModel; readonly onBack: () => void; readonly onHelp: () => void;
}): JSX.Element {
  const view = useSyncExternalStore(model.subscribe, model.view);
  const { columns, rows } = useWindowSize();
  useEffect(() => void model.open(), [model]);
  useKeys((press) => {
    if ('letter' in press) {
      if (!model.type(press.letter) && press.letter === '?') onHelp();
      return;
    }
    switch (press.name) {
      case 'enter': return model.enter() ? undefined : model.change();
      case 'esc': return model.leave() ? undefined : onBack();
      case 'erase': return model.erase();
      case 'up': return view.ask === null ? model.move(-1) : undefined;
      case 'down': case 'tab': return view.ask === null ? model.move(1) : undefined;
    }
  });
  return <Page lines={settingsLines(view, columns, rows)} columns={columns} />;
}
