/** Bench records, one document or lines, into reader and solver: solved or refused in one sentence each, however they are cut into pieces. */
import { readdirSync, readFileSync } from 'node:fs';
import { solveBatch, type Solved } from '../../host/src/cli/solve-batch.ts';
import type { ByteSource } from '../../host/src/edge/files.ts';
import { exampleRecord } from '../../host/src/files/example-files.ts';
import { portions } from '../../host/src/files/json-source.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import type { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { pick, spoilBytes, spoilDocument } from './chance.ts';
import { FOUND, type Fuzzer } from './fuzzer.ts';

/** Records to begin with are no longer than this: a case takes milliseconds then. */
const BASE_MOST_bytes = 60_000;
let bases: readonly string[] | null = null;

function baseRecords(): readonly string[] {
  bases ??= [
    JSON.stringify(exampleRecord()),
    ...readdirSync(FOUND).filter((name) => name.endsWith('.bench.json')).sort()
      .map((name) => readFileSync(`${FOUND}${name}`, 'utf8')).filter((text) => text.length < BASE_MOST_bytes),
  ];
  return bases;
}

function drawOne(chance: RandomStream): string {
  const text = pick(chance, baseRecords());
  if (chance.unit() < 0.2) return text;
  const document: unknown = JSON.parse(text);
  for (let left = chance.below(3); left > 0; left -= 1) spoilDocument(chance, document);
  return JSON.stringify(document, null, chance.unit() < 0.1 ? 1 : undefined);
}

function inPieces(bytes: Uint8Array, size_bytes: number): ByteSource {
  let at = 0;
  return {
    size_bytes: bytes.length,
    async next() {
      if (at >= bytes.length) return null;
      at += size_bytes;
      return Uint8Array.from(bytes.subarray(at - size_bytes, at));
    },
    async close() {},
  };
}

const logic = createLogic();

async function solveAll(bytes: Uint8Array, size_bytes: number): Promise<Solved> {
  const total = { out: '', err: '', solved: 0, refused: 0, faults: 0 };
  for await (const portion of portions(inPieces(bytes, size_bytes))) {
    if (portion.kind === 'refusal') throw new Error(`refused unread: ${portion.message}`);
    const { out, err, solved, refused, faults } = solveBatch(logic, 'case', portion, { json: true, titled: false });
    total.out += out;
    total.err += err;
    total.solved += solved;
    total.refused += refused;
    total.faults += faults;
  }
  return total;
}

export const recordFuzzer: Fuzzer = {
  what: 'records',
  step_bytes: 1,
  ending: '.records',
  draw(chance) {
    const lines = Array.from({ length: chance.unit() < 0.7 ? 1 : 1 + chance.below(4) }, () => drawOne(chance));
    const bytes = Buffer.from(lines.join('\n'));
    return chance.unit() < 0.5 ? bytes : spoilBytes(chance, bytes, 1 + chance.below(4));
  },
  async feed(bytes) {
    const whole = await solveAll(bytes, 1 << 20);
    if (whole.faults > 0) throw new Error(`the solver stopped: ${whole.err}`);
    for (const line of whole.out.split('\n').slice(0, -1)) {
      const { format } = JSON.parse(line) as { format: string };
      if (format !== 'wiremap/1' && format !== 'error/1') throw new Error(`neither a map nor a refusal: ${line.slice(0, 200)}`);
    }
    if (whole.out.split('\n').length - 1 !== whole.solved + whole.refused) throw new Error('not one line for each record');
    // A misspelt field is told beside, and refuses nothing.
    const refusals = whole.err.split('\n').slice(0, -1).filter((line) => !/^case(:\d+)?: warning: /.test(line));
    if (refusals.length !== whole.refused) throw new Error(`not one sentence for each refusal: ${whole.err}`);
    if (/[^\n\P{Cc}]|\p{Cf}/u.test(whole.err)) throw new Error('a sentence that a terminal must not be shown');
    const cut = await solveAll(bytes, 1 + (bytes.length % 97));
    if (cut.out !== whole.out || cut.err !== whole.err) throw new Error('another result when it comes in small pieces');
  },
};
