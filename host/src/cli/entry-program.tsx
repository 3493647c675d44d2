/** The entry by meters as a program of its own. Loaded only when a screen is wanted. */
import { render, useApp } from 'ink';
import type { JSX } from 'react';
import type { EntrySession } from '../entry/session.ts';
import { EntryApp } from '../screens/entry-app.tsx';
import { Program } from '../screens/program.tsx';

function EntryProgram({ session, onEnd }: { readonly session: EntrySession; readonly onEnd: () => void }): JSX.Element {
  const { exit } = useApp();
  const end = async (): Promise<null> => {
    onEnd();
    exit();
    return null;
  };
  return <Program onQuit={exit}>{(help) => <EntryApp session={session} onEnd={end} onHelp={() => help('entry')} />}</Program>;
}

/**
 * Shows the entry until the person is done; the session then holds what was read.
 * @param end - ends it from outside @returns whether it was left in the middle
 */
export async function runEntryScreen(session: EntrySession, end: AbortSignal): Promise<boolean> {
  let isEnded = false;
  const program = <EntryProgram session={session} onEnd={() => { isEnded = true; }} />;
  // Whoever comes here has a terminal; Ink by itself would draw nothing in it when a variable CI is set.
  const app = render(program, { exitOnCtrlC: false, alternateScreen: true, interactive: true });
  const leave = (): void => app.unmount();
  end.addEventListener('abort', leave);
  await app.waitUntilExit();
  end.removeEventListener('abort', leave);
  return !isEnded && !session.isDone;
}
