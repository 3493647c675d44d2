/** A program of screens: help lies over the one that asked for it, and Ctrl-C quits from everywhere. */
import { Box } from 'ink';
import type { JSX } from 'react';
import { useState } from 'react';
import { HelpApp } from './help-app.tsx';
import type { HelpTopic } from './help-text.ts';
import { useJobControl } from './job-control.ts';
import { Listens, useKeys } from './keys.ts';

/** For the one component that is there as long as the program.
 * @param onQuit - Ctrl-C was pressed @param children - draws the screen, given what shows its help
 */
export function Program({ onQuit, children }: {
  readonly onQuit: () => void; readonly children: (help: (topic: HelpTopic) => void) => JSX.Element;
}): JSX.Element {
  useJobControl();
  const [topic, setTopic] = useState<HelpTopic | null>(null);
  useKeys((press) => {
    if (!('name' in press) || press.name !== 'quit') return;
    setTopic(null);
    onQuit();
  });
  return (
    <>
      <Listens value={topic === null}>
        <Box display={topic === null ? 'flex' : 'none'}>{children(setTopic)}</Box>
      </Listens>
      {topic === null ? null : <HelpApp topic={topic} onBack={() => setTopic(null)} />}
    </>
  );
}
