/** Makes sets of records by the simulators of this folder, and solves them as a user would. */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gunzipSync } from 'node:zlib';
import type { BenchRecord } from '../../host/src/files/bench-record.ts';
import type { RefusedRecord, WireMap } from '../../host/src/wiremap/wiremap.ts';
import { PYTHON, PYTHON_ENVIRONMENT } from '../reference/python.ts';
import { tapstone } from '../program/run-program.ts';
import { Tally } from './judge.ts';
import type { Truth } from './truth.ts';

/** The simulators; each is a program that takes N, SEED and a folder. */
const ALL = ['clip_bench', 'other_hands'] as const;
const fileOf = (simulator: string): string => fileURLToPath(new URL(`${simulator}.py`, import.meta.url));

/** Those that are here. */
export const SIMULATORS: readonly string[] = ALL.filter((name) => existsSync(fileOf(name)));

/** Records with their truth, in order. */
export interface ElsewhereSet {
  readonly bench: string;
  readonly truths: readonly Truth[];
}

/** Makes a set. @returns the same bytes for the same seed @throws Error with the simulator's complaint */
export function makeSet(simulator: string, count: number, seed: number): ElsewhereSet {
  const folder = mkdtempSync(join(tmpdir(), 'elsewhere-'));
  try {
    const args = [fileOf(simulator), String(count), String(seed), folder];
    const { status, stderr } = spawnSync(PYTHON, args, { encoding: 'utf8', env: PYTHON_ENVIRONMENT });
    if (status !== 0) throw new Error(`${simulator}: ${stderr.trim().split('\n').at(-1) ?? ''}`);
    return readSet(folder);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** Reads a folder that holds `bench.jsonl` and `truth.jsonl`, or both compressed by gzip. */
export function readSet(folder: string): ElsewhereSet {
  const text = (name: string): string => {
    const path = join(folder, name);
    return existsSync(path) ? readFileSync(path, 'utf8') : gunzipSync(readFileSync(`${path}.gz`)).toString();
  };
  return { bench: text('bench.jsonl'), truths: linesOf<Truth>(text('truth.jsonl')) };
}

/** The records of a set. */
export const recordsOf = ({ bench }: ElsewhereSet): BenchRecord[] => linesOf<BenchRecord>(bench);

/** Solves a set by the program's own command and counts. @throws Error when there is not one map for each record */
export async function judgeSet({ bench, truths }: ElsewhereSet): Promise<Tally> {
  const folder = mkdtempSync(join(tmpdir(), 'elsewhere-'));
  const file = join(folder, 'bench.jsonl');
  try {
    writeFileSync(file, bench);
    const { out, err } = await tapstone(['solve', file, '--json']);
    const maps = linesOf<WireMap | RefusedRecord>(out);
    if (maps.length !== truths.length) throw new Error(`${maps.length} maps for ${truths.length} records: ${err.slice(0, 300)}`);
    const tally = new Tally();
    maps.forEach((map, i) => tally.add(map, truths[i]!));
    return tally;
  } finally {
    rmSync(folder, { recursive: true });
  }
}

const linesOf = <Line>(text: string): Line[] =>
  text.split('\n').filter((line) => line !== '').map((line) => JSON.parse(line) as Line);
