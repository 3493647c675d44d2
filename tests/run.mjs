// `npm test`: installs what the tests need, builds, then runs every test of both runners and sums them in one line.
//   node tests/run.mjs [--no-skips]     --no-skips: a skipped test counts as failed (what CI asks)
import { spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, rmSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { ensurePackages } from './setup/debian-packages.mjs';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const bin = (name) => join(root, 'node_modules', '.bin', name);
const env = { ...process.env, PATH: `${join(root, 'node_modules', '.bin')}:${process.env.PATH}` };
delete env.NO_COLOR;
const noSkips = process.argv.includes('--no-skips');

let passed = 0;
let failed = 0;
let skipped = 0;

/** Runs a step that is no test runner; a failure counts as one failed test. */
function step(title, command, args) {
  process.stdout.write(`\n== ${title}\n`);
  const { status, error } = spawnSync(command, args, { cwd: root, env, stdio: 'inherit' });
  if (status === 0) {
    passed += 1;
  } else {
    failed += 1;
    process.stdout.write(`${title}: failed${error ? ` (${error.message})` : ''}\n`);
  }
}

/** Specs of the logic. The runner ends without a count when a spec does not compile: that is a failure. */
function specs() {
  process.stdout.write('\n== specs of the logic (as-pect)\n');
  const { status, stdout, stderr } = spawnSync(
    bin('asp'), ['--config', 'as-pect.config.js', '--as-config', 'as-pect.asconfig.json'],
    { cwd: join(root, 'shared-logic'), env, encoding: 'utf8', maxBuffer: 1 << 28 });
  const text = `${stdout}${stderr}`.replace(/\x1b\[[0-9;]*m/g, '');
  process.stdout.write(text);
  const count = /\[Tests\]: (\d+) \/ (\d+)/.exec(text);
  if (!count) {
    failed += 1;
    return;
  }
  const good = Number(count[1]);
  passed += good;
  failed += Math.max(Number(count[2]) - good, status === 0 ? 0 : 1);
}

/** The test that boots an emulated PC: it runs alone, since a kernel that gets no processor time loses reports. */
const KERNEL = 'tests/usb/kernel.test.ts';

/** Some of the host's tests. @param args - which, as vitest takes it */
function vitest(title, args) {
  process.stdout.write(`\n== ${title}\n`);
  const folder = join(root, 'build');
  const file = join(folder, 'vitest.json');
  mkdirSync(folder, { recursive: true });
  rmSync(file, { force: true });
  const { status } = spawnSync(
    bin('vitest'), ['run', ...args, '--reporter=default', '--reporter=json', `--outputFile.json=${file}`],
    { cwd: root, env, stdio: 'inherit' });
  try {
    const result = JSON.parse(readFileSync(file, 'utf8'));
    passed += result.numPassedTests;
    skipped += result.numPendingTests + (result.numTodoTests ?? 0);
    // A file that does not even load holds no failed test, but the runner's status tells.
    failed += Math.max(result.numFailedTests, status === 0 ? 0 : 1);
  } catch {
    failed += 1;
  }
}

if (ensurePackages().length > 0 && noSkips) failed += 1;
step('module and host bundle (npm run build)', bin('node'), ['build.mjs']);
step('types (tsc)', bin('tsc'), ['-p', 'tsconfig.json']);
specs();
vitest('vitest', ['--exclude', KERNEL]);
vitest('node-hid in a real kernel (vitest)', [KERNEL]);
if (noSkips && skipped > 0) {
  process.stdout.write(`${skipped} tests were skipped, which is not allowed here\n`);
  failed += skipped;
  skipped = 0;
}
process.stdout.write(`\n${passed} passed, ${failed} failed${skipped > 0 ? `, ${skipped} skipped` : ''}\n`);
process.exit(failed === 0 && passed > 0 ? 0 : 1);
