// Builds everything that runs: the module, then the host's bundle; and, where the cross compiler is installed, the firmware,
// so that `--twin chip` runs the module that was just built.
//   node build.mjs                  builds and says what came out
//   node build.mjs --when-needed    the program's first start after `npm ci`: builds once, and says only why it takes so long
//
// `npm ci` itself builds nothing: no script of any package, ours included, runs while packages are being installed (.npmrc).
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const path = (name) => fileURLToPath(new URL(name, import.meta.url));
/** `npm ci` empties the folder that this lies in, so what is built is never older than what was installed. */
const CACHE = path('node_modules/.cache/tapstone/');
const BUILT = `${CACHE}built`;
const LOCK = `${CACHE}builder`;
/** Between two looks at whether another builder is done. */
const LOOK_ms = 100;

const whenNeeded = process.argv.includes('--when-needed');

function fail(sentence) {
  process.stderr.write(`tapstone: ${sentence}\n`);
  process.exit(70);
}

/** True while the process that wrote the lock lives. */
function isAlive(id) {
  try {
    process.kill(id, 0);
    return true;
  } catch (error) {
    return error.code === 'EPERM';
  }
}

/** Waits for whoever else builds: two first starts at once must not write the same files. */
function takeLock() {
  for (;;) {
    try {
      writeFileSync(LOCK, String(process.pid), { flag: 'wx' });
      process.once('exit', () => rmSync(LOCK, { force: true }));
      return;
    } catch (error) {
      if (error.code !== 'EEXIST') throw error;
    }
    // Empty for a moment while it is being written.
    const owner = existsSync(LOCK) ? Number(readFileSync(LOCK, 'utf8')) : 0;
    if (owner > 0 && !isAlive(owner)) rmSync(LOCK, { force: true });
    Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, LOOK_ms);
  }
}

function runAll() {
  const hasCompiler = spawnSync('arm-none-eabi-gcc', ['--version'], { stdio: 'ignore' }).status === 0;
  for (const script of ['shared-logic/build.mjs', 'host/build.mjs', ...(hasCompiler ? ['firmware/build.mjs'] : [])]) {
    const { status, stdout, stderr } = spawnSync(process.execPath, [path(script)], {
      stdio: whenNeeded ? ['ignore', 'pipe', 'pipe'] : 'inherit', encoding: 'utf8',
    });
    if (status === 0) continue;
    if (whenNeeded) process.stderr.write(`${stdout}${stderr}`);
    fail(`the program could not be built: ${script} failed. Run npm ci, then npm run build`);
  }
}

if (!existsSync(path('node_modules/esbuild')) || !existsSync(path('node_modules/assemblyscript'))) {
  fail('the program is not built yet and what builds it is not installed. Run npm ci, without --omit=dev');
}
try {
  mkdirSync(CACHE, { recursive: true });
  takeLock();
} catch (error) {
  fail(`the program is not built yet, and ${CACHE} cannot be written (${error.code}). Run npm run build as the user who ran npm ci`);
}
if (!whenNeeded || !existsSync(BUILT)) {
  if (whenNeeded) process.stderr.write('tapstone: building the program, once after npm ci; half a minute or less\n');
  rmSync(BUILT, { force: true });
  runAll();
  writeFileSync(BUILT, '');
}
