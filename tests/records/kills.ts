/** Kills a program that keeps tests, or hands them over, at random moments, and looks what is left. */
import { spawn } from 'node:child_process';
import { setTimeout as pause } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { SqliteStock } from '../../host/src/records/sqlite-stock.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { rows } from '../../host/src/records/work.ts';

const PROGRAM = fileURLToPath(new URL('killed-program.ts', import.meta.url));
/** A program that was let go on for longer has shown enough, milliseconds. */
const MOST_ms = 60;

/** Runs it until it has begun, and kills it a moment later. @returns the lines that it told whole */
async function killed(chance: RandomStream, ...args: string[]): Promise<string[]> {
  const child = spawn(process.execPath, [PROGRAM, ...args], { stdio: ['ignore', 'pipe', 'inherit'] });
  let told = '';
  const begun = new Promise<void>((resolve) => child.stdout.on('data', (text: Buffer) => { told += text.toString(); resolve(); }));
  const ended = new Promise<void>((resolve) => child.on('close', () => resolve()));
  await Promise.race([begun, ended]);
  await pause(chance.between(0, MOST_ms));
  child.kill('SIGKILL');
  await ended;
  return told.slice(0, told.lastIndexOf('\n') + 1).split('\n').filter((line) => line !== '');
}

/**
 * Tests that were called kept and are not in the file; the file itself is checked each time.
 * @param path - a file that is not there @param times - how often the program is killed
 */
export async function lostByKills(path: string, times: number, seed: number): Promise<{ readonly kept: number; readonly lost: string[] }> {
  const chance = new RandomStream(seed, 'kills of a keeper');
  let kept = 0;
  const lost: string[] = [];
  for (let n = 0; n < times; n += 1) {
    const told = await killed(chance, path, 'keep', '-', `k${seed}.${n}`);
    const stock = new SqliteStock(path);
    stock.check();
    const there = new Set(stock.do({ use: 'look', steps: () => rows('SELECT t.uid FROM tests t JOIN evidence e ON e.test = t.id') }).map(({ uid }) => uid));
    stock.close();
    lost.push(...told.filter((uid) => !there.has(uid)));
    kept += told.length;
  }
  return { kept, lost };
}

/** Kills the hand-over again and again; whoever goes on with it afterwards finds out what came of it. */
export async function killHandOver(path: string, address: string, times: number, seed: number): Promise<void> {
  const chance = new RandomStream(seed, 'kills of a hand-over');
  for (let n = 0; n < times; n += 1) await killed(chance, path, 'hand-over', address, `h${seed}.${n}`);
}
