import { readFileSync } from 'node:fs';
import * as hid from 'node-hid';
import type { Bench } from './cases.ts';
import { HostLine } from './host-line.ts';
import { standInCases } from './stand-in-cases.ts';

const parameters = JSON.parse(readFileSync('/app/parameters.json', 'utf8')) as {
  controlPort: number;
  ports: Record<string, number>;
};

const host = await HostLine.open(parameters.controlPort);
const bench: Bench = { host, hid, ports: parameters.ports };
let failed = 0;
for (const { name, run } of standInCases) {
  let line: Record<string, unknown>;
  try {
    line = { name, ok: true, seen: await run(bench) };
  } catch (error) {
    failed++;
    line = { name, ok: false, why: error instanceof Error ? error.stack : String(error) };
  }
  console.log(`RESULT ${JSON.stringify(line)}`);
}
host.close();
console.log(failed === 0 ? 'TEST-OK' : 'TEST-FAIL');
process.exit(failed === 0 ? 0 : 1);
