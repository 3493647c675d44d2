/** The harness program: shows the screen. Loaded only when a screen is wanted. */
import { render } from 'ink';
import type { FittingModel } from '../fitting/fitting-model.ts';
import { FittingApp } from '../screens/fitting-app.tsx';

/** Shows a harness until the person quits. @param onSave - as `FittingApp` has it @returns whether it is to be printed */
export async function runFittingScreen(model: FittingModel, onSave: () => Promise<string>): Promise<boolean> {
  let isPrinted = false;
  const program = <FittingApp model={model} onPrint={() => { isPrinted = true; }} onSave={onSave} />;
  // Whoever comes here has a terminal; Ink by itself would draw nothing in it when a variable CI is set.
  const app = render(program, { exitOnCtrlC: false, alternateScreen: true, interactive: true });
  await app.waitUntilExit();
  return isPrinted;
}
