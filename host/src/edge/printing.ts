/** Hands a document to the system's own printing command, when there is one. */
import { spawn } from 'node:child_process';

/** The printing command refused, or there is none. */
export class PrintProblem extends Error {
  /** Null when no command is there. */
  readonly command: string | null;

  constructor(command: string | null, message: string) {
    super(message);
    this.name = 'PrintProblem';
    this.command = command;
  }
}

/** Both read the document from standard input: `lp` (POSIX.1-2017, XCU), `lpr` (BSD), and CUPS has the two. */
const COMMANDS: readonly { readonly name: string; readonly args: (printer: string | null) => string[] }[] = [
  { name: 'lp', args: (printer) => (printer === null ? [] : ['-d', printer]) },
  { name: 'lpr', args: (printer) => (printer === null ? [] : ['-P', printer]) },
];

/** @param printer - its name, or null for the one that the system prefers @throws PrintProblem */
export async function printDocument(bytes: Uint8Array, printer: string | null): Promise<void> {
  for (const { name, args } of COMMANDS) if (await handOver(name, args(printer), bytes)) return;
  throw new PrintProblem(null, 'neither lp nor lpr is installed');
}

/** @returns false when there is no such command @throws PrintProblem with what the command said */
function handOver(name: string, args: readonly string[], bytes: Uint8Array): Promise<boolean> {
  return new Promise((resolve, reject) => {
    const child = spawn(name, args, { stdio: ['pipe', 'ignore', 'pipe'] });
    let said = '';
    child.stderr.setEncoding('utf8').on('data', (text: string) => {
      said = (said + text).slice(0, 1000);
    });
    child.on('error', (error: NodeJS.ErrnoException) => {
      if (error.code === 'ENOENT') resolve(false);
      else reject(new PrintProblem(name, error.code ?? error.message));
    });
    child.on('close', (code, signal) => {
      if (code === 0) resolve(true);
      // Of a command that never ran this comes after the error and changes nothing.
      else reject(new PrintProblem(name, said.trim().split('\n')[0] || `it ended with ${code ?? signal}`));
    });
    // A command that refuses closes its input early, and then says why.
    child.stdin.on('error', () => undefined);
    child.stdin.end(bytes);
  });
}
