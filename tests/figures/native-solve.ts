/** Time of one solve: the module in this Node.js against the same module turned into C and compiled with gcc -O3. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import {
  EVIDENCE,
  EVIDENCE_bytes,
  RESULT,
  RESULT_bytes,
} from '../../host/src/logic/layout.generated.ts';
import { createLogic } from '../../host/src/logic/module.ts';

/** Nanoseconds for each solve, the best of several rounds, and a hash over the result blocks. */
export interface SolveTime {
  readonly solve_ns: number;
  readonly hash: number;
}

const path = (name: string): string => fileURLToPath(new URL(name, import.meta.url));
const ROUNDS = 7;

/** Solves the blocks in this process.
 * @param blocks - whole evidence blocks one after another
 */
export function solveInNode(blocks: Uint8Array): SolveTime {
  const { calls, bytes } = createLogic();
  const count = blocks.length / EVIDENCE_bytes;
  let solve_ns = Infinity;
  let hash: number;
  const solve = (i: number): void => {
    bytes.set(blocks.subarray(i * EVIDENCE_bytes, (i + 1) * EVIDENCE_bytes), EVIDENCE);
    calls.solve();
  };
  for (let round = 0; round < ROUNDS; round++) {
    const start_ms = performance.now();
    for (let i = 0; i < count; i++) solve(i);
    solve_ns = Math.min(solve_ns, ((performance.now() - start_ms) * 1e6) / count);
  }
  hash = 0x811c9dc5;
  for (let i = 0; i < count; i++) {
    solve(i);
    for (let k = RESULT; k < RESULT + RESULT_bytes; k++)
      hash = Math.imul(hash ^ bytes[k]!, 0x01000193);
  }
  return { solve_ns, hash: hash >>> 0 };
}

/** Solves the blocks with the module as C.
 * @throws Error with a sentence when gcc is missing or something does not compile
 */
export function solveNatively(blocks: Uint8Array): SolveTime {
  const folder = mkdtempSync(join(tmpdir(), 'tapstone-native-'));
  try {
    const wasm = path('../../shared-logic/build/logic.wasm');
    run(path('../../node_modules/.bin/wasm2c'), [
      '-n',
      'logic',
      '--no-debug-names',
      wasm,
      '-o',
      join(folder, 'logic.c'),
    ]);
    const sources = [path('native/driver.c'), join(folder, 'logic.c')];
    run('gcc', [
      '-O3',
      '-std=gnu11',
      '-ffp-contract=off',
      '-DNDEBUG',
      '-w',
      '-fno-optimize-sibling-calls',
      '-frounding-math',
      `-I${path('../../firmware')}`,
      `-I${folder}`,
      ...sources,
      '-o',
      join(folder, 'driver'),
      '-lm',
    ]);
    writeFileSync(join(folder, 'blocks.bin'), blocks);
    const numbers = [EVIDENCE, EVIDENCE_bytes, RESULT, RESULT_bytes, ROUNDS].map(String);
    const [solve_ns, hash] = run(join(folder, 'driver'), [join(folder, 'blocks.bin'), ...numbers])
      .trim()
      .split(' ')
      .map(Number);
    return { solve_ns: solve_ns!, hash: hash! };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function run(command: string, args: readonly string[]): string {
  const { status, stdout, stderr, error } = spawnSync(command, args, { encoding: 'utf8' });
  if (error !== undefined)
    throw new Error(
      `${command} cannot be started: ${error.message}. Install it: apt-get install -y gcc`,
    );
  if (status !== 0) {
    const lines = stderr.trim().split('\n');
    throw new Error(`${command} failed: ${lines.find((line) => /undefined|error:|trap|command/.test(line)) ?? lines[0] ?? ''}`);
  }
  return stdout;
}
