/** The harness on a terminal: keys in, screens out. */
import { useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useEffect, useState } from 'react';
import { CURVE_Hz, type FittingModel } from '../fitting/fitting-model.ts';
import { FittingScreen, listRange, type Panel } from './fitting-screen.tsx';
import { useKeys } from './keys.ts';
import { scrolled } from './scroll.ts';

const RANGE = { from_Hz: CURVE_Hz[0]!, to_Hz: CURVE_Hz.at(-1)! };

/** How a harness is kept. */
export interface Saving {
  /** Whether there is a file to write to. */
  readonly canSave: boolean;
  /** Writes it as it stands. @returns what the person is told */
  readonly save: () => Promise<string>;
}

/** What keeps work, in the words of a question. */
export function howToKeep({ canSave }: Pick<Saving, 'canSave'>): string {
  return canSave ? 's saves it' : 'e prints it';
}

/** Sends keys to the model and draws its view.
 * @param onPrint - the person is done and wants it printed; only a command prints
 * @param saving - how it is written to a file
 * @param onJack - goes to where it is read at its jack; says why that cannot be, or null; only a command does
 */
export function FittingApp({ model, onPrint, saving, onJack, onBack, onHelp }: {
  readonly model: FittingModel; readonly onPrint?: () => void; readonly saving: Saving;
  readonly onJack?: () => Promise<string | null>;
  readonly onBack: () => void; readonly onHelp: () => void;
}): JSX.Element {
  const { columns, rows } = useWindowSize();
  const [view, setView] = useState(() => model.view());
  const [panel, setPanel] = useState<Panel>('curve');
  const [scroll, setScroll] = useState(0);
  const reached = { isCommand: onPrint !== undefined, canSave: saving.canSave };

  useEffect(() => model.subscribe(() => setView(model.view())), [model]);

  // A long search is done part by part, so that keys come through between them.
  useEffect(() => {
    if (!model.isSearching) return;
    const next = setImmediate(() => {
      model.goOn();
      setView((now) => (model.isSearching ? { ...now, message: model.said } : model.view()));
    });
    return () => clearImmediate(next);
  }, [model, view]);

  const save = async (): Promise<void> => {
    model.tell(await saving.save());
  };
  const toJack = async (): Promise<void> => {
    const trouble = onJack === undefined ? null : await onJack();
    if (trouble !== null) model.tell(trouble);
  };
  const leave = (): void => {
    if (model.mayLeave(howToKeep(saving))) onBack();
  };
  const press = (letter: string): void => {
    if (letter === 'q') return leave();
    if (letter === '?') return onHelp();
    if (letter === 'e') return onPrint?.();
    if (letter === 's') return void save();
    if (letter === 'j') return void toJack();
    if (letter === 'p') model.nextPickup();
    else if (letter === 'x') model.exchange();
    else if (letter === 'o') model.nextOrder();
    else if (letter === 'w') model.nextOfAll();
    else if (letter === 'm') model.turnMagnet();
    else if (letter === 'b') model.takeBest(new Set());
    else if (letter === 'B') model.takeBest(new Set(['magnet']));
    else if (letter === 'u') model.undo();
    else if (letter === 'c') model.compare();
    else if (letter === 'h') model.nextHarness();
    else return;
    setView(model.view());
  };
  useKeys((pressed) => {
    if (model.isSearching) {
      model.stop();
      return setView(model.view());
    }
    if ('letter' in pressed) return press(pressed.letter);
    const { most, page } = listRange(view, columns, rows, reached);
    const turn = (by: number): void => setScroll((now) => scrolled(now, by, most));
    const moved = (move: () => void): void => {
      move();
      setView(model.view());
    };
    switch (pressed.name) {
      case 'esc': return leave();
      case 'tab': case 'backtab': return setPanel((now) => (now === 'curve' ? 'list' : 'curve'));
      case 'down': return moved(() => model.moveSetting(1));
      case 'up': return moved(() => model.moveSetting(-1));
      case 'right': return moved(() => model.moveSlot(1));
      case 'left': return moved(() => model.moveSlot(-1));
      case 'pagedown': return turn(page);
      case 'pageup': return turn(-page);
    }
  });

  return <FittingScreen view={view} range={RANGE} columns={columns} rows={rows} panel={panel} scroll={scroll} reached={reached} />;
}
