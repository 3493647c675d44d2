/** Errors as a user sees them: one line, never a stack trace. */
import { FileProblem, NO_FILE } from '../edge/files.ts';
import { printable } from '../text/printable.ts';
import { StoreProblem } from '../records/problem.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';

/** Something that the user can mend; the message is the whole sentence, already safe to print. */
export class UserError extends Error {
  readonly exitCode: ExitCode;

  constructor(message: string, exitCode: ExitCode) {
    super(message);
    this.name = 'UserError';
    this.exitCode = exitCode;
  }
}

/** What is told of an error, and the exit code that goes with it. */
export interface Told {
  /** For standard error; '' when there is nobody left to tell. */
  readonly line: string;
  readonly exitCode: ExitCode;
}

const STORE_EXIT: Readonly<Record<StoreProblem['kind'], ExitCode>> = {
  content: EXIT.badContent,
  reading: EXIT.noInput,
  writing: EXIT.cannotWrite,
  server: EXIT.unavailable,
};

/** @param error - whatever was thrown */
export function tell(error: unknown): Told {
  if (error instanceof UserError) return { line: error.message, exitCode: error.exitCode };
  if (error instanceof FileProblem) {
    return {
      line: `${shownPath(error.path)}: ${fileSentence(error)}`,
      exitCode: error.doing === 'reading' ? EXIT.noInput : EXIT.cannotWrite,
    };
  }
  if (error instanceof StoreProblem) {
    return { line: `${printable(error.path)}: ${error.message}`, exitCode: STORE_EXIT[error.kind] };
  }
  const code = (error as NodeJS.ErrnoException | null)?.code;
  if (code === 'EPIPE') return { line: '', exitCode: EXIT.cannotWrite };
  if (code === 'ENOSPC' || code === 'EIO') {
    return {
      line: `tapstone: standard output: cannot be written: ${WRITE_REASON.get(code) ?? code}`,
      exitCode: EXIT.cannotWrite,
    };
  }
  const what = error instanceof Error ? `${error.name}: ${error.message}` : String(error);
  return {
    line: `tapstone: this is a fault of the program, not of the input (${printable(what, 200)}); please report it with the command that led here`,
    exitCode: EXIT.internal,
  };
}

const READ_SENTENCE: ReadonlyMap<string, string> = new Map([
  ['ENOENT', 'no such file; expected the path of a file'],
  ['ENOTDIR', 'no such file; expected the path of a file'],
  ['ENAMETOOLONG', 'no such file, this name is too long; expected the path of a file'],
  ['EISDIR', 'this is a folder; expected a file'],
  ['ELOOP', 'links here lead to each other in a circle; expected the path of a file'],
  ['EACCES', 'this file may not be read; change its permissions'],
  ['EPERM', 'this file may not be read; change its permissions'],
]);

const WRITE_REASON: ReadonlyMap<string, string> = new Map([
  ['ENOENT', 'its folder does not exist'],
  ['ENOTDIR', 'its folder does not exist'],
  ['EISDIR', 'a folder has this name'],
  ['EACCES', 'writing there is not permitted'],
  ['EPERM', 'writing there is not permitted'],
  ['EROFS', 'writing there is not permitted'],
  ['ENOSPC', 'the disk is full'],
  ['EDQUOT', 'the disk is full'],
  ['EIO', 'the disk does not work'],
  ['ELOOP', 'links here lead to each other in a circle'],
  ['EPIPE', 'nobody reads it any more'],
  [NO_FILE, 'this is a device or a pipe; expected the name of a file'],
]);

/** A path as it is told; an empty one, which a shell makes of a variable that is not set, is seen. */
export function shownPath(path: string): string {
  return path === '' ? '""' : printable(path);
}

/** What is wrong with a file that could not be read or written, without its name. */
export function fileSentence({ doing, code }: FileProblem): string {
  if (doing === 'writing')
    return `cannot be written: ${WRITE_REASON.get(code) ?? printable(code, 60)}`;
  return READ_SENTENCE.get(code) ?? `cannot be read (${printable(code, 60)})`;
}
