/** Runs the program as a user does, in a process of its own. */
import { spawn } from 'node:child_process';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { fileURLToPath } from 'node:url';
import { OWN_HOME } from './own-home.ts';

export interface Run {
  readonly code: number | null;
  readonly out: string;
  readonly err: string;
  /** Largest resident memory, MiB; only when asked for. */
  readonly most_MiB: number;
}

const MAIN = fileURLToPath(new URL('../../host/src/main.ts', import.meta.url));
/** Tells its peak memory when it ends (`getrusage`, in KiB). */
const PEAK =
  'data:text/javascript,' +
  encodeURIComponent(
    "import { isMainThread } from 'node:worker_threads';" +
      "if (isMainThread) process.on('exit', () => process.stderr.write('peak ' + process.resourceUsage().maxRSS + '\\n'));",
  );

/** Runs `tapstone` with arguments.
 * @param input - what is piped in: a text, or pieces as they are wanted
 */
export function tapstone(
  args: readonly string[],
  {
    input = '',
    environment = {},
    peak = false,
  }: {
    input?: string | Iterable<Uint8Array>;
    environment?: Record<string, string>;
    peak?: boolean;
  } = {},
): Promise<Run> {
  const child = spawn(process.execPath, [...(peak ? ['--import', PEAK] : []), MAIN, ...args], {
    env: { ...process.env, ...OWN_HOME, NO_COLOR: '', FORCE_COLOR: '0', ...environment },
  });
  let [out, err] = ['', ''];
  child.stdout.setEncoding('utf8').on('data', (text: string) => (out += text));
  child.stderr.setEncoding('utf8').on('data', (text: string) => (err += text));
  // A program that refuses its input closes it early.
  pipeline(Readable.from(typeof input === 'string' ? [Buffer.from(input)] : input), child.stdin).catch(() => undefined);
  return new Promise((resolve, reject) => {
    child.on('error', reject);
    child.on('close', (code) => {
      const most = /peak (\d+)\n/.exec(err);
      resolve({
        code,
        out,
        err: err.replace(/peak \d+\n/, ''),
        most_MiB: most ? Number(most[1]) / 1024 : 0,
      });
    });
  });
}
