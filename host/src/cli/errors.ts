/** Errors as a user sees them: one line, never a stack trace. */
import { EXIT, type ExitCode } from './exit-codes.ts';
import { printable } from './printable.ts';

/** Something that the user can mend; the message is the whole sentence, already safe to print. */
export class UserError extends Error {
  readonly exitCode: ExitCode;

  constructor(message: string, exitCode: ExitCode) {
    super(message);
    this.name = 'UserError';
    this.exitCode = exitCode;
  }
}

/** What is told of an error, and the exit code that goes with it.
 * @param error - whatever was thrown
 * @returns the line for standard error, or '' when there is nobody left to tell
 */
export function report(error: unknown): { line: string; exitCode: ExitCode } {
  if (error instanceof UserError) return { line: error.message, exitCode: error.exitCode };
  if ((error as NodeJS.ErrnoException | null)?.code === 'EPIPE') return { line: '', exitCode: EXIT.cannotWrite };
  if ((error as NodeJS.ErrnoException | null)?.code === 'ENOSPC') {
    return { line: 'tapstone: standard output: cannot be written: the disk is full', exitCode: EXIT.cannotWrite };
  }
  const what = error instanceof Error ? `${error.name}: ${error.message}` : String(error);
  return {
    line: `tapstone: this is a fault of the program, not of the input (${printable(what, 200)}); please report it with the command that led here`,
    exitCode: EXIT.internal,
  };
}
