/** The harness on a terminal: keys in, screens out. */
import { useApp, useInput, useStdin, useWindowSize } from 'ink';
import type { JSX } from 'react';
import { useEffect, useState } from 'react';
import { CURVE_Hz, type FittingModel } from '../fitting/fitting-model.ts';
import { FittingScreen, listRange, type Panel } from './fitting-screen.tsx';
import { useJobControl } from './job-control.ts';

const RANGE = { from_Hz: CURVE_Hz[0]!, to_Hz: CURVE_Hz.at(-1)! };

/** Sends keys to the model and draws its view.
 * @param onPrint - the person is done and wants it printed
 * @param onSave - writes it to a file; what it gives is told
 */
export function FittingApp({ model, onPrint, onSave }: {
  readonly model: FittingModel; readonly onPrint: () => void; readonly onSave: () => Promise<string>;
}): JSX.Element {
  useJobControl();
  const { columns, rows } = useWindowSize();
  const { isRawModeSupported } = useStdin();
  const { exit } = useApp();
  const [view, setView] = useState(() => model.view());
  const [panel, setPanel] = useState<Panel>('curve');
  const [scroll, setScroll] = useState(0);

  // A long search is done part by part, so that keys come through between them.
  useEffect(() => {
    if (!model.isSearching) return;
    const next = setImmediate(() => {
      model.goOn();
      setView((now) => (model.isSearching ? { ...now, message: model.said } : model.view()));
    });
    return () => clearImmediate(next);
  }, [model, view]);

  const press = (letter: string): void => {
    if (letter === 'q') return exit();
    if (letter === 'e') {
      onPrint();
      return exit();
    }
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
    else if (letter === 's') {
      void onSave().then((message) => {
        model.tell(message);
        setView(model.view());
      });
    }
    else return;
    setView(model.view());
  };
  useInput((input, key) => {
    const { most, page } = listRange(view, columns, rows);
    const turn = (by: number): void => setScroll((now) => Math.max(0, Math.min(most, Math.min(now, most) + by)));
    const moved = (move: () => void): void => {
      move();
      setView(model.view());
    };
    if (key.ctrl && input === 'c') press('q');
    else if (model.isSearching) moved(() => model.stop());
    else if (key.tab) setPanel((now) => (now === 'curve' ? 'list' : 'curve'));
    else if (key.downArrow) moved(() => model.moveSetting(1));
    else if (key.upArrow) moved(() => model.moveSetting(-1));
    else if (key.rightArrow) moved(() => model.moveSlot(1));
    else if (key.leftArrow) moved(() => model.moveSlot(-1));
    else if (key.pageDown) turn(page);
    else if (key.pageUp) turn(-page);
    // Keys that are typed fast arrive together.
    else if (!key.ctrl && !key.meta) for (const letter of input) press(letter);
  }, { isActive: isRawModeSupported });

  return <FittingScreen view={view} range={RANGE} columns={columns} rows={rows} panel={panel} scroll={scroll} />;
}
