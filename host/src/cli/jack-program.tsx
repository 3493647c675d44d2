/** The program that reads a guitar at its jack. Loaded only when a screen is wanted. */
import { render, useApp } from 'ink';
import type { JSX } from 'react';
import type { JackModel } from '../jack/jack-model.ts';
import { useAskedToEnd } from '../screens/asked-to-end.ts';
import { JackApp } from '../screens/jack-app.tsx';
import { Program } from '../screens/program.tsx';

function JackProgram({ model, asked }: { readonly model: JackModel; readonly asked: AbortSignal }): JSX.Element {
  const { exit } = useApp();
  useAskedToEnd(asked, () => void model.endNow().finally(exit));
  return <Program onQuit={() => model.quit(exit)}>{(help) => <JackApp model={model} onEnd={exit} onHelp={() => help('jack')} />}</Program>;
}

/** Shows the screen until the person is done; the model then holds what was read. @param asked - tells that it is to end at once */
export async function runJackScreen(model: JackModel, asked: AbortSignal): Promise<void> {
  // Whoever comes here has a terminal; Ink by itself would draw nothing in it when a variable CI is set.
  const app = render(<JackProgram model={model} asked={asked} />, { exitOnCtrlC: false, alternateScreen: true, interactive: true });
  await app.waitUntilExit();
}
