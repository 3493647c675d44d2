#!/usr/bin/env node
// Starts the program on a Node.js that can run it. Old syntax only: an old Node.js must get as far as the sentence below.
import { existsSync } from 'node:fs';
import { spawnSync } from 'node:child_process';
import module, { createRequire } from 'node:module';
import { fileURLToPath } from 'node:url';

const NEEDED = [22, 12];
const REPLACED = 'TAPSTONE_NODE_REPLACED';

const have = process.versions.node.split('.').map(Number);
const serves = have[0] > NEEDED[0] || (have[0] === NEEDED[0] && have[1] >= NEEDED[1]);

if (serves) await start();
else replace();

/** The bundle that installing made; in a checkout without it, the sources themselves. */
async function start() {
  // What was compiled once is read again at the next start (Node.js 22.8 and later).
  if (module.enableCompileCache !== undefined) module.enableCompileCache();
  const bundle = new URL('../dist/app/main.js', import.meta.url);
  if (existsSync(bundle)) {
    await import(bundle.href);
    return;
  }
  // Screens are .tsx, which Node.js does not run by itself.
  const { register } = await import('tsx/esm/api');
  register();
  await import(new URL('../src/main.ts', import.meta.url).href);
}

/** Runs again with the Node.js that was installed with the package, if there is one for this machine. */
function replace() {
  const node = process.env[REPLACED] === undefined ? installedNode() : null;
  if (node === null) {
    process.stderr.write(
      'tapstone: Node.js ' + process.versions.node + ' is too old; expected ' + NEEDED.join('.') + ' or later. ' +
      'Install a newer Node.js, or run npm ci again without --omit=optional.\n');
    process.exitCode = 69;
    return;
  }
  const environment = Object.assign({}, process.env);
  environment[REPLACED] = '1';
  const run = spawnSync(node, [fileURLToPath(import.meta.url)].concat(process.argv.slice(2)), { stdio: 'inherit', env: environment });
  if (run.signal) process.kill(process.pid, run.signal);
  else process.exitCode = run.status === null ? 69 : run.status;
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
