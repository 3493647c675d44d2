#!/usr/bin/env node
// Starts the program on a Node.js that can run it. Old syntax only: an old Node.js must get as far as the sentence below.
import { existsSync } from 'node:fs';
import module, { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { runInstead } from './run-instead.js';

const NEEDED = [22, 16];
const REPLACED = 'TAPSTONE_NODE_REPLACED';
/** A checkout has it, an installed package has not; what it leaves when it is done. */
const BUILDER = fileURLToPath(new URL('../../build.mjs', import.meta.url));
const BUILT = join(dirname(BUILDER), 'node_modules/.cache/tapstone/built');

const have = process.versions.node.split('.').map(Number);
const serves = have[0] > NEEDED[0] || (have[0] === NEEDED[0] && have[1] >= NEEDED[1]);

if (!serves) await replace();
else if (await isBuilt()) await start();

/** Builds the program at its first start in a checkout. @returns false when that failed; the exit code is set then */
async function isBuilt() {
  if (existsSync(BUILT) || !existsSync(BUILDER)) return true;
  await runInstead(installedNode() || process.execPath, [BUILDER, '--when-needed'], process.env);
  return process.exitCode === 0;
}

async function start() {
  // What was compiled once is read again at the next start (Node.js 22.8 and later).
  if (module.enableCompileCache !== undefined) module.enableCompileCache();
  await import(new URL('../dist/app/main.js', import.meta.url).href);
}

/** Runs again with the Node.js that was installed with the package, if there is one for this machine. */
async function replace() {
  const node = process.env[REPLACED] === undefined ? installedNode() : null;
  if (node === null) {
    process.stderr.write(
      'tapstone: Node.js ' + process.versions.node + ' is too old; expected ' + NEEDED.join('.') + ' or later. ' +
      'Install a newer Node.js, or install tapstone again without --offline or --omit=optional.\n');
    process.exitCode = 69;
    return;
  }
  const environment = Object.assign({}, process.env);
  environment[REPLACED] = '1';
  await runInstead(node, [fileURLToPath(import.meta.url)].concat(process.argv.slice(2)), environment);
}

/** The binary of the per-platform package, or null. */
function installedNode() {
  const system = process.platform === 'win32' ? 'win' : process.platform;
  const file = process.platform === 'win32' ? 'bin/node.exe' : 'bin/node';
  const require = createRequire(import.meta.url);
  try {
    return require.resolve('node-' + system + '-' + process.arch + '/' + file);
  } catch (_) {
    return null;
  }
}
