/** The entry by meters as a program of its own. Loaded only when a screen is wanted. */
import { render, useApp } from 'ink';
import type { JSX } from 'react';
import type { EntrySession } from '../entry/session.ts';
import { EntryApp } from '../screens/entry-app.tsx';
import { useJobControl } from '../screens/job-control.ts';

function Program({ session }: { readonly session: EntrySession }): JSX.Element {
  useJobControl();
  const { exit } = useApp();
  return <EntryApp session={session} onEnd={exit} />;
}

/** Shows the entry until the person is done; the session then holds what was read. */
export async function runEntryScreen(session: EntrySession): Promise<void> {
  // Whoever comes here has a terminal; Ink by itself would draw nothing in it when a variable CI is set.
  const app = render(<Program session={session} />, { exitOnCtrlC: false, alternateScreen: true, interactive: true });
  await app.waitUntilExit();
}
