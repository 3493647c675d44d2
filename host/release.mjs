// `npm run release`: one file that `npm install -g` puts on a machine without compilers or git.
//   node host/release.mjs [--out FOLDER] [--test-identity]     packs what `npm run build` built; build/release when no folder is named
// In it: the bundle, the module, the firmware for the board and for the chip twin, the udev rule, the licences, and the packages
// that stay outside the bundle, in the very versions that the lock names. Nothing is fetched when it is installed besides a
// Node.js for machines that have an old one, and no script runs.
import { execFileSync } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { EXTERNAL } from './external.mjs';
import { identityText, OWN_PRODUCT_ID, TEST_PRODUCT_ID } from './src/transport/identity.ts';
import { firmwareNotices, noticesFile, packageNotice } from './notices.mjs';

const ROOT = fileURLToPath(new URL('..', import.meta.url));
const FIRMWARE = ['firmware/build/tapstone.uf2', 'firmware/build/tapstone.elf'];
const BUILT = ['host/dist/app', 'shared-logic/build/logic.wasm'];
const KEPT = [
  'LICENSE', 'README.md', 'host/CHANGELOG.md', 'host/bin', 'host/udev',
  'hardware-notes/bench-screen.svg', 'hardware-notes/solder-sheet.svg', 'hardware-notes/file-formats.md', 'hardware-notes/examples',
];

const json = (path) => JSON.parse(readFileSync(join(ROOT, path), 'utf8'));
const fail = (sentence) => {
  process.stderr.write(`release: ${sentence}\n`);
  process.exit(1);
};

/** These packages and all that they need, as the lock names them: folders from the root. */
function withNeeds(names, lock) {
  const found = new Set();
  const add = (name) => {
    const folder = `node_modules/${name}`;
    if (found.has(folder)) return;
    found.add(folder);
    for (const need of Object.keys(lock.packages[folder].dependencies ?? {})) {
      if (lock.packages[`${folder}/node_modules/${need}`] !== undefined) fail(`${name} has a ${need} of its own, which is not packed`);
      add(need);
    }
  };
  names.forEach(add);
  return [...found];
}

/** Lays out the package. @returns the folders of the packages in it */
function stage(folder) {
  const copy = (path) => cpSync(join(ROOT, path), join(folder, path), { recursive: true });
  const own = json('package.json');
  const packages = withNeeds(EXTERNAL, json('package-lock.json'));
  const isFirmwareThere = FIRMWARE.every((path) => existsSync(join(ROOT, path)));
  [...KEPT, ...BUILT, ...(isFirmwareThere ? FIRMWARE : []), ...packages].forEach(copy);
  for (const path of packages) {
    // Ready to run as it is: the recipe that would compile it again on the user's machine stays here, and with it the wish to.
    const { scripts, ...facts } = json(`${path}/package.json`);
    writeFileSync(join(folder, path, 'package.json'), JSON.stringify({ ...facts, gypfile: false }, null, 2));
    rmSync(join(folder, path, 'binding.gyp'), { force: true });
  }
  const names = packages.map((path) => path.replace('node_modules/', ''));
  writeFileSync(join(folder, 'package.json'), JSON.stringify({
    name: 'tapstone', version: own.version, description: own.description, license: own.license, type: 'module',
    bin: { tapstone: 'host/bin/tapstone.js' },
    dependencies: Object.fromEntries(names.map((name) => [name, json(`node_modules/${name}/package.json`).version])),
    bundleDependencies: names,
    optionalDependencies: own.optionalDependencies,
  }, null, 2));
  writeFileSync(join(folder, 'THIRD-PARTY.txt'), noticesFile([
    ...json('host/dist/notices.json'), ...packages.map(packageNotice), ...(isFirmwareThere ? firmwareNotices() : []),
  ]));
  if (!isFirmwareThere) {
    process.stderr.write('release: without the firmware, since there is no cross compiler here ' +
      '(Debian packages gcc-arm-none-eabi and libnewlib-arm-none-eabi, then npm run build)\n');
  }
}

const at = process.argv.indexOf('--out');
const out = at < 0 ? join(ROOT, 'build/release') : resolve(process.argv[at + 1] ?? '');
// Firmware for a board is in it: what carries the number for experiments stays in the house.
if (OWN_PRODUCT_ID === null && !process.argv.includes('--test-identity')) {
  fail(`the firmware carries the test identity ${identityText(TEST_PRODUCT_ID)}, which must not leave the house: hardware-notes/usb-identity.md says how ` +
    'to get an own number; to pack it for yourself all the same: npm run release -- --test-identity');
}
const missing = [...BUILT, 'host/dist/notices.json'].filter((path) => !existsSync(join(ROOT, path)));
if (missing.length > 0) fail(`${missing.join(' and ')} not there; run npm run build first`);
const scratch = mkdtempSync(join(tmpdir(), 'tapstone-release-'));
try {
  stage(scratch);
  mkdirSync(out, { recursive: true });
  // On Windows npm is a script of the shell.
  execFileSync('npm', ['pack', '--silent', '--ignore-scripts', '--pack-destination', out], {
    cwd: scratch, stdio: ['ignore', 'ignore', 'inherit'], shell: process.platform === 'win32',
  });
  process.stdout.write(`${join(out, `tapstone-${json('package.json').version}.tgz`)}\n`);
} finally {
  rmSync(scratch, { recursive: true, force: true });
}
