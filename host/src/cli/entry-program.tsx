/** The entry by meters as a program of its own. Loaded only when a screen is wanted. */
import { render, useApp } from 'ink';
import type { JSX } from 'react';
import type { EntrySession } from '../entry/session.ts';
import { EntryApp } from '../screens/entry-app.tsx';
import { Program } from '../screens/program.tsx';

function EntryProgram({ session }: { readonly session: EntrySession }): JSX.Element {
  const { exit } = useApp();
  // Ctrl-C is asked about by the screen itself.
  return <Program onQuit={() => undefined}>{() => <EntryApp session={session} onEnd={exit} />}</Program>;
}

/** Shows the entry until the person is done; the session then holds what was read. */
export async function runEntryScreen(session: EntrySession): Promise<void> {
  // Whoever comes here has a terminal; Ink by itself would draw nothing in it when a variable CI is set.
  const app = render(<EntryProgram session={session} />, { exitOnCtrlC: false, alternateScreen: true, interactive: true });
  await app.waitUntilExit();
}
