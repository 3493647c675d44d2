/** The entry by meters as a program of its own. Loaded only when a screen is wanted. */
import { render, useApp } from 'ink';
import type { JSX } from 'react';
import type { EntrySession } from '../entry/session.ts';
import { EntryApp } from '../screens/entry-app.tsx';
import { Program } from '../screens/program.tsx';

function EntryProgram({ session, onQuit }: { readonly session: EntrySession; readonly onQuit: () => void }): JSX.Element {
  const { exit } = useApp();
  const quit = (): void => {
    onQuit();
    exit();
  };
  const end = async (): Promise<null> => {
    exit();
    return null;
  };
  return <Program onQuit={quit}>{(help) => <EntryApp session={session} onEnd={end} onHelp={() => help('entry')} />}</Program>;
}

/** Shows the entry until the person is done; the session then holds what was read. @returns whether the person quit in the middle */
export async function runEntryScreen(session: EntrySession): Promise<boolean> {
  let isBroken = false;
  const program = <EntryProgram session={session} onQuit={() => { isBroken = !session.isDone; }} />;
  // Whoever comes here has a terminal; Ink by itself would draw nothing in it when a variable CI is set.
  const app = render(program, { exitOnCtrlC: false, alternateScreen: true, interactive: true });
  await app.waitUntilExit();
  return isBroken;
}
