/** A guitar read at its jack, on a terminal: keys in, screens out. */
import { useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useEffect, useState, useSyncExternalStore } from 'react';
import type { JackModel } from '../jack/jack-model.ts';
import { JackScreen, jackScrollRange, type JackPanel } from './jack-screen.tsx';
import { useKeys } from './keys.ts';
import { scrolled } from './scroll.ts';

/** Sends keys to the model and draws its view. @param onEnd - the person is done */
export function JackApp({ model, onEnd, onHelp }: {
  readonly model: JackModel; readonly onEnd: () => void; readonly onHelp: () => void;
}): JSX.Element {
  const view = useSyncExternalStore(model.subscribe, model.view);
  const { columns, rows } = useWindowSize();
  const [panel, setPanel] = useState<JackPanel>('setting');
  const [scroll, setScroll] = useState(0);
  const proof = panel === 'proof' ? model.proof() : [];
  const shown = { view, columns, rows, panel, proof };

  useEffect(() => void model.open(), [model]);
  useEffect(() => setScroll(0), [panel, view.count]);
  useEffect(() => { if (view.isDone) setPanel('proof'); }, [view.isDone]);

  const press = (letter: string): void => {
    if (model.type(letter)) return;
    if (letter === '?') onHelp();
    else if (letter === 'q') model.quit(onEnd);
    else if (letter === ' ') void model.button();
    else if (letter === 't') model.touch();
    else if (letter === 'n') model.move(1);
    else if (letter === 'p') model.move(-1);
    else if (letter === 'd') model.drop();
    else if (letter === 'k') model.keep();
    else if (letter === 'b') model.toggleBell();
  };
  useKeys((pressed) => {
    if ('letter' in pressed) return press(pressed.letter);
    const { most, page } = jackScrollRange(shown);
    const move = (by: number): void => setScroll((now) => scrolled(now, by, most));
    switch (pressed.name) {
      case 'enter': return void (model.enter() || model.button());
      case 'esc': return void (model.leave() || model.quit(onEnd));
      case 'erase': return model.erase();
      case 'tab': case 'backtab': return setPanel((now) => (now === 'setting' ? 'proof' : 'setting'));
      case 'down': return move(1);
      case 'up': return move(-1);
      case 'pagedown': return move(page);
      case 'pageup': return move(-page);
    }
  });
  return <JackScreen {...shown} scroll={scroll} />;
}
