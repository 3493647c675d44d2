/** What the program is told by the shell and the terminal: arguments, variables, streams. */
import { createInterface } from 'node:readline';

/** The arguments after the program's own name. */
export function commandLine(): string[] {
  return process.argv.slice(2);
}

/** A variable of the environment, or undefined when it is not set. */
export function variable(name: string): string | undefined {
  return process.env[name];
}

/** Whether a person sits at both ends: keys come from a terminal and pictures go to one. */
export function isInteractive(): boolean {
  return process.stdin.isTTY === true && process.stdout.isTTY === true;
}

/** Whether standard input is a keyboard, so that a program that only waits would seem to hang. */
export function isTerminalInput(): boolean {
  return process.stdin.isTTY === true;
}

/** The lines of standard input, without their ends, one after the other as they come. @param end - ends them early */
export function inputLines(end: AbortSignal): AsyncIterable<string> {
  return createInterface({ input: process.stdin, terminal: false, signal: end });
}

/** What ends a program from outside: Ctrl-C where no screen reads it as a key, whoever ends programs, a terminal that is gone. */
const ENDINGS = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;

/**
 * Does something while a first wish that the program end is only told to it; a second one ends it at once.
 * @param act - is given what tells of the wish
 * @returns what it gives, and the signal that the wish came by, or null; whoever leaves for it ends by it (`endBy`)
 */
export async function untilAskedToEnd<T>(
  act: (asked: AbortSignal) => Promise<T>,
): Promise<{ readonly value: T; readonly endedBy: NodeJS.Signals | null }> {
  const asked = new AbortController();
  const end = (name: NodeJS.Signals): void => {
    if (!asked.signal.aborted) return asked.abort(name);
    ignore();
    endBy(name);
  };
  // The keyboard of a terminal that is gone is no fault of the program.
  const lost = (): void => asked.abort('SIGHUP');
  const ignore = (): void => {
    ENDINGS.forEach((name) => process.removeListener(name, end));
    process.stdin.removeListener('error', lost);
  };
  ENDINGS.forEach((name) => process.on(name, end));
  process.stdin.on('error', lost);
  try {
    const value = await act(asked.signal);
    return { value, endedBy: asked.signal.aborted ? asked.signal.reason as NodeJS.Signals : null };
  } finally {
    ignore();
  }
}

/** Ends the program as a signal does that nobody listens to, so that whoever sent it sees that it was obeyed. */
export function endBy(name: NodeJS.Signals): void {
  process.kill(process.pid, name);
  // A library that gives the terminal back may listen still: it sends the signal once more, but only while the program has something to wait for.
  setTimeout(() => undefined, OBEYED_ms);
}

/** Time for whoever listens to a signal, milliseconds; it takes one turn of the event loop. */
const OBEYED_ms = 1000;

/** Whether results go to a screen. */
export function isTerminalOutput(): boolean {
  return process.stdout.isTTY === true;
}

/** Columns of the screen that results go to; null where there is none. */
export function outputColumns(): number | null {
  return process.stdout.columns ?? null;
}

/** Whether talk goes to a screen, where a line can be written over. */
export function isTerminalError(): boolean {
  return process.stderr.isTTY === true;
}

/**
 * Settles colour before any drawing library is loaded.
 *
 * The library that draws the screens reads `FORCE_COLOR` and `TERM` when it is imported and does not
 * know `NO_COLOR` (no-color.org: set and not empty means no colour), so `NO_COLOR` is translated.
 * An empty `FORCE_COLOR` would be read as a wish for colour; it is taken as not set.
 * @param isWanted - false where the person has switched colours off for good
 */
export function settleColour(isWanted = true, environment: Record<string, string | undefined> = process.env): void {
  const noColour = !isWanted || (environment.NO_COLOR ?? '') !== '' || environment.TERM === 'dumb';
  if (noColour) environment.FORCE_COLOR = '0';
  else if (environment.FORCE_COLOR === '') delete environment.FORCE_COLOR;
}

/** Writes a result to standard output and waits until it is taken, so that a slow reader is waited for. */
export function writeOut(text: string): Promise<void> {
  return write(process.stdout, text);
}

/** Writes talk (errors, progress) to standard error; that nobody takes it ends no work. */
export function writeError(text: string): Promise<void> {
  return write(process.stderr, text).catch(() => undefined);
}

function write(stream: NodeJS.WriteStream, text: string): Promise<void> {
  return new Promise((resolve, reject) => {
    stream.write(text, (error) => (error ? reject(error) : resolve()));
  });
}

/** What a terminal's job control does to a program: it is stopped, from outside or by its own key, and goes on later. */
export interface JobControl {
  /** About to stop: gives the terminal back and then calls `stop`, which returns when the program goes on. */
  onStop(stop: () => void): void;
  /** Goes on after a stop that was not announced (SIGSTOP): the shell has changed the terminal meanwhile. */
  onContinue(): void;
}

/** Listens to job control until the function that is returned is called. A system without it never calls. */
export function followJobControl({ onStop, onContinue }: JobControl): () => void {
  if (process.platform === 'win32') return () => undefined;
  const asked = (): void =>
    onStop(() => {
      // The system's own action, which does nothing where no shell could let the program go on. The SIGCONT that ends this
      // stop is not told: the terminal is taken again right after, and would be given back and taken once more.
      ignore();
      process.kill(process.pid, 'SIGTSTP');
      listen();
    });
  const listen = (): void => {
    process.on('SIGTSTP', asked);
    process.on('SIGCONT', onContinue);
  };
  const ignore = (): void => {
    process.removeListener('SIGTSTP', asked);
    process.removeListener('SIGCONT', onContinue);
  };
  listen();
  return ignore;
}

/** What Ctrl-Z does where the terminal still sees it: stops this program and those that started it for the same job. */
export function stopJob(): void {
  if (process.platform !== 'win32') process.kill(0, 'SIGTSTP');
}

/** The folder in which the program was started. */
export function startFolder(): string {
  return process.cwd();
}
