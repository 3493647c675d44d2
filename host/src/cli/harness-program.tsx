/** The harness program: shows the screen, and the guitar at its jack over it. Loaded only when a screen is wanted. */
import { render, useApp } from 'ink';
import type { JSX } from 'react';
import { useState } from 'react';
import type { FittingModel } from '../fitting/fitting-model.ts';
import type { JackModel } from '../jack/jack-model.ts';
import { useAskedToEnd } from '../screens/asked-to-end.ts';
import { FittingApp, howToKeep, type Saving } from '../screens/fitting-app.tsx';
import { JackApp } from '../screens/jack-app.tsx';
import { Program } from '../screens/program.tsx';
import { messageOf } from '../transport/driver.ts';

/** What reads the harness at its jack. @throws Error in one sentence when nothing can */
type AtJack = () => Promise<{ readonly jack: JackModel; readonly follow: (plugged: () => void) => () => void }>;

function HarnessProgram({ model, asked, keepNow, onPrint, saving, atJack, onProof }: {
  readonly model: FittingModel; readonly asked: AbortSignal; readonly keepNow: () => Promise<void>;
  readonly onPrint: () => void; readonly saving: Saving;
  readonly atJack: AtJack; readonly onProof: (text: string) => void;
}): JSX.Element {
  const { exit } = useApp();
  const [reading, setReading] = useState<{ readonly jack: JackModel; readonly ended: () => void } | null>(null);
  const print = (): void => {
    onPrint();
    exit();
  };
  /** @returns why there is nothing to read with, or null */
  const read = async (): Promise<string | null> => {
    try {
      const { jack, follow } = await atJack();
      setReading({ jack, ended: follow(() => void jack.plugged()) });
      return null;
    } catch (error) {
      return `${messageOf(error)}.`;
    }
  };
  const end = (): void => {
    if (reading === null) return;
    reading.ended();
    setReading(null);
    onProof(reading.jack.proofText());
    void reading.jack.close();
  };
  const quit = (): void => {
    if (reading === null) return model.mayLeave(howToKeep(saving)) ? exit() : undefined;
    reading.jack.quit(() => {
      end();
      exit();
    });
  };
  const endNow = async (): Promise<void> => {
    await reading?.jack.endNow();
    end();
    await keepNow();
  };
  useAskedToEnd(asked, () => void endNow().finally(exit));
  return (
    <Program onQuit={quit}>
      {(help) => (reading === null
        ? <FittingApp model={model} onPrint={print} saving={saving} onJack={read} onBack={exit} onHelp={() => help('harness')} />
        : <JackApp model={reading.jack} onEnd={end} onHelp={() => help('jack')} />)}
    </Program>
  );
}

/** Shows a harness until the person quits.
 * @param saving - as `FittingApp` has it @param asked - tells that it is to end at once
 * @param keepNow - writes what no file holds yet, when nobody is there to be asked
 * @returns whether it is to be printed, and the proofs of what was read at its jack
 */
export async function runFittingScreen(
  model: FittingModel, saving: Saving, atJack: AtJack, asked: AbortSignal, keepNow: () => Promise<void>,
): Promise<{ readonly isPrinted: boolean; readonly proofs: readonly string[] }> {
  let isPrinted = false;
  const proofs: string[] = [];
  const program = (
    <HarnessProgram model={model} asked={asked} keepNow={keepNow} onPrint={() => { isPrinted = true; }} saving={saving} atJack={atJack}
      onProof={(text) => { if (text !== '') proofs.push(text); }} />
  );
  // Whoever comes here has a terminal; Ink by itself would draw nothing in it when a variable CI is set.
  const app = render(program, { exitOnCtrlC: false, alternateScreen: true, interactive: true });
  await app.waitUntilExit();
  return { isPrinted, proofs };
}
