/** The program: arguments in, exit code out. */
import { runCommand } from './cli/commands.ts';
import { tell } from './cli/errors.ts';
import { commandLine, writeError } from './edge/environment.ts';

/** Tells of an error in one line and sets its code. */
async function fail(error: unknown): Promise<void> {
  const { line, exitCode } = tell(error);
  process.exitCode = exitCode;
  if (line !== '') await writeError(`${line}\n`);
}

// Whatever escapes is a fault of ours and is told like one: nobody sees a stack trace.
process.on('uncaughtException', (error) => {
  void fail(error).finally(() => process.exit());
});
// A reader that goes away is seen by the write that failed; the stream's own event says nothing new.
process.stdout.on('error', () => undefined);
process.stderr.on('error', () => undefined);

let isDone = false;
// Nothing left to wait for, and yet no end: something that was to answer has gone silent.
process.once('beforeExit', () => {
  if (!isDone) void fail(new Error('the command came to no end'));
});

runCommand(commandLine())
  .then((exitCode) => (process.exitCode = exitCode))
  .catch(fail)
  .finally(() => (isDone = true));
