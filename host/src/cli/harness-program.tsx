/** The harness program: shows the screen. Loaded only when a screen is wanted. */
import { render, useApp } from 'ink';
import type { JSX } from 'react';
import type { FittingModel } from '../fitting/fitting-model.ts';
import { FittingApp } from '../screens/fitting-app.tsx';
import { Program } from '../screens/program.tsx';

function HarnessProgram({ model, onPrint }: { readonly model: FittingModel; readonly onPrint: () => void }): JSX.Element {
  const { exit } = useApp();
  const print = (): void => {
    onPrint();
    exit();
  };
  return <Program onQuit={exit}>{(help) => <FittingApp model={model} onPrint={print} onBack={exit} onHelp={() => help('harness')} />}</Program>;
}

/** Shows a harness until the person quits. @returns whether it is to be printed */
export async function runFittingScreen(model: FittingModel): Promise<boolean> {
  let isPrinted = false;
  const program = <HarnessProgram model={model} onPrint={() => { isPrinted = true; }} />;
  // Whoever comes here has a terminal; Ink by itself would draw nothing in it when a variable CI is set.
  const app = render(program, { exitOnCtrlC: false, alternateScreen: true, interactive: true });
  await app.waitUntilExit();
  return isPrinted;
}
