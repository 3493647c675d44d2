/** The bench on a terminal: keys in, screens out. */
import { useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useEffect, useState, useSyncExternalStore } from 'react';
import type { BenchModel } from '../bench/bench-model.ts';
import { BenchScreen, scrollRange, TABS } from './bench-screen.tsx';
import { useKeys } from './keys.ts';
import { scrolled } from './scroll.ts';
import { WAYS, type Way } from './ways.ts';

/** Sends keys to the model and draws its view. @param ways - that lead from here @param onQuit - the person is done */
export function BenchApp({ model, ways, onGo, onQuit, onHelp }: {
  readonly model: BenchModel; readonly ways: readonly Way[]; readonly onGo: (way: Way) => void;
  readonly onQuit: () => void; readonly onHelp: () => void;
}): JSX.Element {
  const known = useSyncExternalStore(model.subscribe, model.view);
  const { columns, rows } = useWindowSize();
  const [tabIndex, setTab] = useState(0);
  const [scroll, setScroll] = useState(0);
  const tab = TABS[tabIndex]!;
  const roads = WAYS.filter(({ way }) => ways.includes(way));
  const keys = [
    ...known.keys, ...(tab === 'wiring' && known.ways !== null ? [{ key: 'w', does: known.ways }] : []), ...roads, { key: '?', does: 'help' },
  ];
  const view = { ...known, keys };

  useEffect(() => setScroll(0), [view.title, tab, view.final]);

  const press = (letter: string): void => {
    const road = roads.find(({ key }) => key === letter);
    if (road !== undefined) onGo(road.way);
    else if (letter === '?') onHelp();
    else if (letter === 'q') onQuit();
    else if (letter === ' ') void model.button();
    else if (letter === 't') model.touch();
    else if (letter === 'g') model.holdMagnet();
    else if (letter === 'c') model.cancel();
    else if (letter === 'n') void model.move(1);
    else if (letter === 'p') void model.move(-1);
    else if (letter === 'b') model.toggleBell();
    else if (letter === 'w') model.toggleWays();
    else if (letter === 'u') void model.undo();
  };
  useKeys((pressed) => {
    if ('letter' in pressed) return press(pressed.letter);
    const { most, page } = scrollRange(view, columns, rows, tab);
    // From where the panel stands: a terminal that grew may show less of it scrolled than was asked for.
    const move = (by: number): void => setScroll((now) => scrolled(now, by, most));
    const turn = (by: number): void => setTab((now) => (now + by + TABS.length) % TABS.length);
    switch (pressed.name) {
      case 'enter': return void model.button();
      case 'tab': return turn(1);
      case 'backtab': return turn(-1);
      case 'down': return move(1);
      case 'up': return move(-1);
      case 'pagedown': return move(page);
      case 'pageup': return move(-page);
    }
  });

  return <BenchScreen view={view} columns={columns} rows={rows} tab={tab} scroll={scroll} />;
}
