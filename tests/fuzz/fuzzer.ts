/** What every fuzzer has in common: cases that are bytes, drawn from a seed and a number, and how a finding is kept. */
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';

/** One thing that is fed with bytes which nobody vouches for. */
export interface Fuzzer {
  readonly what: string;
  /** A case is a row of steps of this size, such as reports: what is found is made shorter by whole ones. */
  readonly step_bytes: number;
  /** End of the name of a case that is kept in `tests/found`. */
  readonly ending: string;
  /** A case; the same stream gives the same bytes. */
  draw(chance: RandomStream): Promise<Uint8Array> | Uint8Array;
  /** Feeds a case. @throws Error for whatever must not happen */
  feed(bytes: Uint8Array): Promise<void> | void;
}

/** A case that did what must not happen. */
export interface Finding {
  readonly number: number;
  readonly bytes: Uint8Array;
  readonly sentence: string;
}

export const FOUND = fileURLToPath(new URL('../found/', import.meta.url));

/** Draws and feeds cases.
 * @param from - number of the first case @param count - how many
 * @param onCase - told after each
 */
export async function fuzz(
  fuzzer: Fuzzer, seed: number, from: number, count: number, onCase: (finding: Finding | null) => void = () => undefined,
): Promise<readonly Finding[]> {
  const findings: Finding[] = [];
  for (let number = from; number < from + count; number += 1) {
    const bytes = await fuzzer.draw(new RandomStream(seed, `${fuzzer.what} ${number}`));
    const sentence = await faultOf(fuzzer, bytes);
    const finding = sentence === null ? null : { number, bytes, sentence };
    if (finding !== null) findings.push(finding);
    onCase(finding);
  }
  return findings;
}

/** What went wrong with a case, or null. */
export async function faultOf(fuzzer: Fuzzer, bytes: Uint8Array): Promise<string | null> {
  try {
    await fuzzer.feed(bytes);
    return null;
  } catch (error) {
    return error instanceof Error ? (error.stack ?? error.message) : String(error);
  }
}

/** Feeds that shortening a finding may take. */
const TRIALS_MOST = 400;

/** A shorter case that still does harm: parts are left out, large ones first, as long as the rest does. */
export async function shorten(fuzzer: Fuzzer, finding: Finding): Promise<Finding> {
  let { bytes, sentence } = finding;
  let trials = 0;
  for (let part = Math.ceil(bytes.length / fuzzer.step_bytes / 2); part >= 1; part = part === 1 ? 0 : Math.ceil(part / 2)) {
    const part_bytes = part * fuzzer.step_bytes;
    for (let at = 0; at < bytes.length && trials < TRIALS_MOST; trials += 1) {
      const rest = Buffer.concat([bytes.subarray(0, at), bytes.subarray(at + part_bytes)]);
      const fault = await faultOf(fuzzer, rest);
      if (fault === null) at += part_bytes;
      else [bytes, sentence] = [rest, fault];
    }
  }
  return { ...finding, bytes, sentence };
}

/** Keeps a case. @returns its file */
export function keep(fuzzer: Fuzzer, seed: number, { number, bytes }: Finding): string {
  const file = join(FOUND, `${fuzzer.what}-${seed}-${number}${fuzzer.ending}`);
  mkdirSync(FOUND, { recursive: true });
  writeFileSync(file, bytes);
  return file;
}
