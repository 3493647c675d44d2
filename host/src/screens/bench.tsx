/** The bench program on a terminal: keys in, the bench screen out. Loaded only when a screen is wanted. */
import { render, useApp, useInput, useStdin, useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useEffect, useState, useSyncExternalStore } from 'react';
import type { BenchModel } from '../bench/bench-model.ts';
import { BenchScreen, panelLines, TABS } from './bench-screen.tsx';

/** Sends keys to the model and draws its view. */
export function BenchApp({ model }: { readonly model: BenchModel }): JSX.Element {
  const view = useSyncExternalStore(model.subscribe, model.view);
  const { columns, rows } = useWindowSize();
  const { isRawModeSupported } = useStdin();
  const { exit } = useApp();
  const [tabIndex, setTab] = useState(0);
  const [scroll, setScroll] = useState(0);
  const tab = TABS[tabIndex];

  useEffect(() => void model.connect(), [model]);
  useEffect(() => setScroll(0), [view.title, tab, view.final]);

  useInput((input, key) => {
    const lines = panelLines(view, tab, columns).length;
    if (input === 'q' || (key.ctrl && input === 'c')) void model.close().then(() => exit());
    else if (input === ' ' || key.return) void model.button();
    else if (input === 't') model.touch();
    else if (input === 'g') model.holdMagnet();
    else if (input === 'c') model.cancel();
    else if (input === 'n') void model.move(1);
    else if (input === 'p') void model.move(-1);
    else if (input === 'b') model.toggleBell();
    else if (key.tab) setTab((tabIndex + (key.shift ? TABS.length - 1 : 1)) % TABS.length);
    else if (key.downArrow) setScroll(Math.min(scroll + 1, Math.max(0, lines - 1)));
    else if (key.upArrow) setScroll(Math.max(0, scroll - 1));
  }, { isActive: isRawModeSupported });

  return <BenchScreen view={view} columns={columns} rows={rows} tab={tab} scroll={scroll} />;
}

/** Shows the bench until the person quits. */
export async function runBenchScreen(model: BenchModel): Promise<void> {
  const app = render(<BenchApp model={model} />, { exitOnCtrlC: false, alternateScreen: true });
  await app.waitUntilExit();
  await model.close();
}
