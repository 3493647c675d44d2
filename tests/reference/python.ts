/** Asks Debian's Python with numpy and scipy for a second opinion: JSON in, JSON out. */
import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';

/** Debian's own, which is the one that has the packages of the test command. */
export const PYTHON = '/usr/bin/python3';

/** Many small matrices: threads would only wait for one another. */
export const PYTHON_ENVIRONMENT = { ...process.env, OPENBLAS_NUM_THREADS: '1', OMP_NUM_THREADS: '1' };

/** Why this machine has no second opinion, as the rest of "skipped: ..."; null when it has one. */
export function pythonObstacle(): string | null {
  const { status } = spawnSync(PYTHON, ['-c', 'import numpy, scipy']);
  return status === 0
    ? null
    : 'numpy and scipy are missing: apt-get install -y python3-numpy python3-scipy';
}

/** Runs a script of tests/reference/ once.
 * @param input - what it reads from its standard input, as JSON
 * @returns what it printed @throws Error with the script's last line of complaint
 */
export function askPython<Answer>(script: string, input: unknown): Answer {
  const file = fileURLToPath(new URL(script, import.meta.url));
  const { status, stdout, stderr } = spawnSync(PYTHON, [file], {
    input: JSON.stringify(input),
    encoding: 'utf8',
    maxBuffer: 1 << 28,
    env: PYTHON_ENVIRONMENT,
  });
  if (status !== 0) throw new Error(`${script}: ${stderr.trim().split('\n').at(-1) ?? ''}`);
  return JSON.parse(stdout) as Answer;
}
