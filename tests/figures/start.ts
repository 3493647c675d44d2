/** Time from the command to the first frame of the bench screen, against an empty Node.js program in the same terminal. */
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROUNDS = 7;
/** Turns off what a terminal adds, so that letters can be looked for. */
const FRAME = /tapstone/i;

/** Milliseconds until the output matches, best of several rounds; the program is then told to stop.
 * @param command - run under `script`, which gives it a terminal
 */
async function first_ms(command: string, shows: RegExp | null): Promise<number> {
  let best_ms = Infinity;
  for (let round = 0; round < ROUNDS; round++) {
    best_ms = Math.min(best_ms, await once_ms(command, shows));
  }
  return best_ms;
}

/** The same of the bench screen. @param data - folder of its records */
export function firstFrame_ms(data: string): Promise<number> {
  const program = fileURLToPath(new URL('../../host/bin/tapstone.js', import.meta.url));
  return first_ms(`HOME='${data}' XDG_DATA_HOME='${data}' XDG_CONFIG_HOME='${data}' TAPSTONE_RECORDS= '${process.execPath}' '${program}'`, FRAME);
}

function once_ms(command: string, shows: RegExp | null): Promise<number> {
  return new Promise((resolve, reject) => {
    const start_ms = performance.now();
    const child = spawn('script', ['-qefc', `stty cols 80 rows 24; ${command}`, '/dev/null'], {
      stdio: ['pipe', 'pipe', 'ignore'],
    });
    let seen = '';
    let taken_ms = Number.NaN;
    child.on('error', () =>
      reject(new Error('script is missing. Install it: apt-get install -y bsdutils')),
    );
    child.stdout.on('data', (chunk: Buffer) => {
      seen += chunk.toString('utf8');
      if (shows !== null && Number.isNaN(taken_ms) && shows.test(seen)) {
        taken_ms = performance.now() - start_ms;
        child.stdin.write('\x03');
        setTimeout(() => child.kill('SIGKILL'), 500).unref();
      }
    });
    child.on('close', () => {
      if (shows !== null && Number.isNaN(taken_ms))
        reject(new Error(`no frame came: ${seen.slice(0, 300)}`));
      else resolve(shows === null ? performance.now() - start_ms : taken_ms);
    });
  });
}

/** Prints both times and their ratio. */
export async function print(): Promise<void> {
  const empty_ms = await first_ms(`'${process.execPath}' -e 0`, null);
  const data = mkdtempSync(join(tmpdir(), 'tapstone-start-'));
  const frame_ms = await firstFrame_ms(data);
  rmSync(data, { recursive: true });
  process.stdout.write(
    `start: first frame after ${frame_ms.toFixed(0)} ms, node -e 0 takes ${empty_ms.toFixed(0)} ms, ratio ${(frame_ms / empty_ms).toFixed(2)}\n`,
  );
}
