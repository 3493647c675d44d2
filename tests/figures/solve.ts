/** Speed of solving records, as ratios within one run. */
import { spawnSync } from 'node:child_process';
import {
  closeSync,
  mkdtempSync,
  openSync,
  rmSync,
  statSync,
  writeFileSync,
  writeSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { loadRecord } from '../../host/src/evidence/load-record.ts';
import { EVIDENCE, EVIDENCE_bytes } from '../../host/src/logic/layout.generated.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import { inventPickup } from '../lots/generator.ts';
import { solveRecord } from '../lots/solve-record.ts';
import { writeRecord } from '../lots/synthetic-record.ts';
import { truthOf } from '../lots/truth.ts';
import { solveInNode, solveNatively } from './native-solve.ts';

const RECORDS = 400;
const ROUNDS = 3;
/** Reads the file the plain way: line by line, each parsed and dropped. */
const PLAIN = `
  let lines = 0;
  for await (const line of require('node:readline').createInterface({ input: require('node:fs').createReadStream(process.argv[1]) })) {
    if (line !== '') { JSON.parse(line); lines += 1; }
  }
  process.stdout.write(String(lines));
`;

/** Prints records a second and the two ratios. @param args - [N] records */
export function print(args: readonly string[]): void {
  const count = Number(args[0] ?? RECORDS);
  const folder = mkdtempSync(join(tmpdir(), 'tapstone-figures-'));
  try {
    const file = join(folder, 'lot.jsonl');
    const texts = writeLot(file, count);
    inProcess(texts);
    throughProgram(file, join(folder, 'plain.cjs'), count);
    againstNative(texts);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** Writes whole records as JSON lines. @returns the same as texts */
function writeLot(file: string, count: number): string[] {
  const handle = openSync(file, 'w');
  const texts: string[] = [];
  for (let number = 0; number < count; number++) {
    const one = inventPickup(1, number);
    const text = JSON.stringify(writeRecord(one, truthOf(one.pickup), 'full', 1).record);
    texts.push(text);
    writeSync(handle, `${text}\n`);
  }
  closeSync(handle);
  return texts;
}

/** Best of several rounds, milliseconds. */
function best_ms(act: () => void): number {
  let best = Infinity;
  for (let round = 0; round < ROUNDS; round++) {
    const start_ms = performance.now();
    act();
    best = Math.min(best, performance.now() - start_ms);
  }
  return best;
}

function inProcess(texts: readonly string[]): void {
  const logic = createLogic();
  const records = texts.map((text) => JSON.parse(text));
  const solve_ms = best_ms(() => {
    for (const record of records) solveRecord(logic, record);
  });
  process.stdout.write(
    `solve, one core: ${((1000 * texts.length) / solve_ms).toFixed(0)} parsed records a second (evidence, touches, wire map)\n`,
  );
}

function throughProgram(file: string, plain: string, count: number): void {
  writeFileSync(plain, `(async () => {${PLAIN.replace('process.argv[1]', 'process.argv[2]')}})();`);
  const program = fileURLToPath(new URL('../../host/bin/tapstone.js', import.meta.url));
  const parse_ms = best_ms(() => run([plain, file], (stdout) => Number(stdout) === count));
  const solve_ms = best_ms(() =>
    run([program, 'solve', '--json', file], (stdout) => stdout.trim().split('\n').length === count),
  );
  process.stdout.write(
    `solve FILE.jsonl, ${count} records, ${(statSync(file).size / 1e6).toFixed(0)} MB: ${solve_ms.toFixed(0)} ms; plain read and JSON.parse ` +
      `${parse_ms.toFixed(0)} ms; ratio ${(solve_ms / parse_ms).toFixed(2)} (aim 2 or less)\n`,
  );
}

function run(args: readonly string[], right: (stdout: string) => boolean): void {
  const { status, stdout, stderr } = spawnSync(process.execPath, args, {
    encoding: 'utf8',
    maxBuffer: 1 << 29,
  });
  if (status !== 0 || !right(stdout))
    throw new Error(`${args.join(' ')} ended with ${status}: ${stderr.slice(0, 300)}`);
}

function againstNative(texts: readonly string[]): void {
  const logic = createLogic();
  const blocks = new Uint8Array(texts.length * EVIDENCE_bytes);
  texts.forEach((text, index) => {
    loadRecord(logic, JSON.parse(text));
    blocks.set(logic.bytes.subarray(EVIDENCE, EVIDENCE + EVIDENCE_bytes), index * EVIDENCE_bytes);
  });
  const here = solveInNode(blocks);
  const native = solveNatively(blocks);
  process.stdout.write(
    `solve(): ${(here.solve_ns / 1000).toFixed(1)} us in Node.js, ${(native.solve_ns / 1000).toFixed(1)} us as C by gcc -O3; ratio ` +
      `${(here.solve_ns / native.solve_ns).toFixed(2)} (aim 1.3 or less); results ${here.hash === native.hash ? 'equal' : 'DIFFERENT'} (${here.hash.toString(16)})\n`,
  );
}
