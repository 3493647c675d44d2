/** Kills a program that keeps tests, many times: what it called kept and is not there afterwards. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { lostByKills } from '../records/kills.ts';

/** @param args - how many times (300), seed (1) */
export async function print([times = '300', seed = '1']: readonly string[]): Promise<void> {
  process.stdout.write(`kills: seed ${seed}\n`);
  const folder = mkdtempSync(join(tmpdir(), 'tapstone-kills-'));
  try {
    const { kept, lost } = await lostByKills(join(folder, 'records.sqlite'), Number(times), Number(seed));
    process.stdout.write(`killed ${times} times: ${kept} tests were called kept, ${lost.length} of them are lost${lost.length > 0 ? `: ${lost.join(', ')}` : ''}\n`);
  } finally {
    rmSync(folder, { recursive: true });
  }
}
