import { readFileSync } from 'node:fs';
import { setTimeout as sleep } from 'node:timers/promises';
import * as hid from 'node-hid';
import type { Bench } from './cases.ts';
import { chipCases } from './chip-cases.ts';
import { runTask } from './child.ts';
import { HostLine } from './host-line.ts';
import { standInCases } from './stand-in-cases.ts';

/** A case that never ends is a failure of its own, and the others still run. */
async function hung(): Promise<never> {
  await sleep(CASE_limit_ms, undefined, { ref: false });
  throw new Error(`the case has not come to an end within ${CASE_limit_ms / 1000} s`);
}

const CASE_limit_ms = 600_000;

/** Runs all cases, one after the other in one boot, and tells each result on the serial line. */
async function runCases(): Promise<number> {
  const parameters = JSON.parse(readFileSync('/app/parameters.json', 'utf8')) as Pick<Bench, 'ports' | 'setups'> & {
    controlPort: number;
  };
  const host = await HostLine.open(parameters.controlPort);
  const bench: Bench = { host, hid, ports: parameters.ports, setups: parameters.setups };
  let failed = 0;
  for (const { name, run } of [...standInCases, ...chipCases]) {
    console.log(`CASE ${name}`);
    let line: Record<string, unknown>;
    try {
      line = { name, ok: true, seen: (await Promise.race([run(bench), hung()])) ?? null };
    } catch (error) {
      failed++;
      line = { name, ok: false, why: error instanceof Error ? error.stack : String(error) };
    }
    console.log(`RESULT ${JSON.stringify(line)}`);
  }
  host.close();
  console.log(failed === 0 ? 'TEST-OK' : 'TEST-FAIL');
  return failed === 0 ? 0 : 1;
}

const task = process.argv[2];
if (task) await runTask(task);
else process.exit(await runCases());
