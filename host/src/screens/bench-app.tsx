/** The bench on a terminal: keys in, screens out. */
import { useApp, useInput, useStdin, useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useEffect, useState, useSyncExternalStore } from 'react';
import type { BenchModel, Leave } from '../bench/bench-model.ts';
import { BenchScreen, scrollRange, TABS } from './bench-screen.tsx';

/** Sends keys to the model and draws its view. @param onLot - asks for another lot; absent on the virtual bench */
export function BenchApp(
  { model, onLot }: { readonly model: BenchModel; readonly onLot?: () => void },
): JSX.Element {
  const view = useSyncExternalStore(model.subscribe, model.view);
  const { columns, rows } = useWindowSize();
  const { isRawModeSupported } = useStdin();
  const { exit } = useApp();
  const [tabIndex, setTab] = useState(0);
  const [scroll, setScroll] = useState(0);
  const tab = TABS[tabIndex];

  useEffect(() => {
    void model.open();
    return () => void model.close();
  }, [model]);
  useEffect(() => setScroll(0), [view.title, tab, view.final]);

  const leave = async (key: Leave, then: () => void): Promise<void> => {
    if (!(await model.leave(key))) return;
    await model.close();
    then();
  };
  const press = (letter: string): void => {
    if (letter === 'q') void leave('q', exit);
    else if (letter === ' ' || letter === '\r') void model.button();
    else if (letter === 't') model.touch();
    else if (letter === 'g') model.holdMagnet();
    else if (letter === 'c') model.cancel();
    else if (letter === 'n') void model.move(1);
    else if (letter === 'p') void model.move(-1);
    else if (letter === 'b') model.toggleBell();
    else if (letter === 'w') model.toggleWays();
    else if (letter === 'u') void model.undo();
    else if (letter === 's' && onLot) void leave('s', onLot);
    else if (letter === '\t') setTab((now) => (now + 1) % TABS.length);
  };
  useInput((input, key) => {
    const { most, page } = scrollRange(view, columns, rows, tab);
    // From where the panel stands: a terminal that grew may show less of it scrolled than was asked for.
    const move = (by: number): void => setScroll((now) => Math.max(0, Math.min(most, Math.min(now, most) + by)));
    if (key.ctrl && input === 'c') press('q');
    else if (key.return) press('\r');
    else if (key.tab) setTab((now) => (now + (key.shift ? TABS.length - 1 : 1)) % TABS.length);
    else if (key.downArrow) move(1);
    else if (key.upArrow) move(-1);
    else if (key.pageDown) move(page);
    else if (key.pageUp) move(-page);
    // Keys that are typed fast arrive together.
    else if (!key.ctrl && !key.meta) for (const letter of input) press(letter);
  }, { isActive: isRawModeSupported });

  return <BenchScreen view={view} columns={columns} rows={rows} tab={tab} scroll={scroll} />;
}
