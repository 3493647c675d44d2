/** What `npm ci` puts on a newcomer's machine: what the lock names and nothing else, without a word of warning. */
import { spawnSync } from 'node:child_process';
import { copyFileSync, existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, readlinkSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));
/** All that npm reads of a checkout. */
const READ = ['package.json', 'package-lock.json', '.npmrc', 'host/package.json', 'host/bin/tapstone.js'];

interface Locked {
  readonly version?: string;
  readonly link?: boolean;
  readonly hasInstallScript?: boolean;
}

const json = (path: string): unknown => JSON.parse(readFileSync(path, 'utf8'));
const lock = (json(join(root, 'package-lock.json')) as { packages: Record<string, Locked> }).packages;

/** Every package under a node_modules folder, as the lock would name it: its path from the root, and whether it is a link. */
function packagesUnder(folder: string, from: string): { path: string; isLink: boolean }[] {
  return readdirSync(join(folder, from), { withFileTypes: true }).filter(({ name }) => !name.startsWith('.')).flatMap((entry) => {
    const path = `${from}/${entry.name}`;
    if (entry.name.startsWith('@')) return packagesUnder(folder, path);
    const own = { path, isLink: entry.isSymbolicLink() };
    const inner = `${path}/node_modules`;
    return own.isLink || !existsSync(join(folder, inner)) ? [own] : [own, ...packagesUnder(folder, inner)];
  });
}

/** The environment of somebody who types `npm ci`: without what npm itself sets when it runs these tests. */
function newcomer(): NodeJS.ProcessEnv {
  const env = Object.fromEntries(Object.entries(process.env).filter(([name]) => !/^npm_/i.test(name)));
  return { ...env, PATH: (env.PATH ?? '').split(delimiter).filter((folder) => !/node_modules[\\/]\.bin$/.test(folder)).join(delimiter) };
}

describe('npm ci', () => {
  let folder = '';
  let said = '';
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'tapstone-install-'));
    for (const file of READ) {
      mkdirSync(dirname(join(folder, file)), { recursive: true });
      copyFileSync(join(root, file), join(folder, file));
    }
    const { status, stdout, stderr, error } = spawnSync('npm', ['ci'], { cwd: folder, env: newcomer(), encoding: 'utf8' });
    said = `${stdout}${stderr}`;
    if (status !== 0) throw new Error(`npm ci ended with ${status} (${error?.message ?? 'no error of its own'}): ${said}`);
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  it('leaves nothing in node_modules that the lock does not name, in the very versions', () => {
    const found = packagesUnder(folder, 'node_modules');
    expect(found.length).toBeGreaterThan(100);
    for (const { path, isLink } of found) {
      const version = isLink ? undefined : (json(join(folder, path, 'package.json')) as Locked).version;
      expect([path, isLink, version]).toEqual([path, lock[path]?.link === true, isLink ? undefined : lock[path]?.version]);
    }
  });

  it('puts no command in the way that is not of such a package, and npm least of all', () => {
    const commands = readdirSync(join(folder, 'node_modules/.bin'));
    expect(commands).toEqual(expect.arrayContaining(['tapstone', 'tsc', 'vitest', 'asp']));
    expect(commands).not.toEqual(expect.arrayContaining(['npm']));
    const targets = commands.map((name) => join('node_modules/.bin', readlinkSync(join(folder, 'node_modules/.bin', name))));
    for (const target of targets) expect(Object.keys(lock).some((path) => path !== '' && target.startsWith(`${path}/`))).toBe(true);
  });

  it('runs no script, and leaves the files that npm read as they were', () => {
    // The package whose script fetched others is replaced in package.json by a version of it without one.
    const withScript = Object.keys(lock).filter((path) => lock[path]?.hasInstallScript === true);
    expect(withScript.sort()).toEqual(['node_modules/esbuild', 'node_modules/node-hid']);
    // A script that had run: esbuild's replaces its command by the binary itself.
    const command = readFileSync(join(folder, 'node_modules/esbuild/bin/esbuild'));
    expect(command.subarray(0, 2).toString()).toBe('#!');
    for (const file of READ) expect(readFileSync(join(folder, file), 'utf8')).toBe(readFileSync(join(root, file), 'utf8'));
  });

  it('says one line: what was added', () => {
    expect(said).toMatch(/^\n*added \d+ packages in \w+( \w+)?\n*$/);
  });
});
