/** The one file that a workshop installs: put into an empty prefix, without compilers, git or this checkout, and used there. */
import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, realpathSync, rmSync, symlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { OWN_PRODUCT_ID } from '../../host/src/transport/identity.ts';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));
const text = (path: string): string => readFileSync(join(root, path), 'utf8');
const { version } = JSON.parse(text('package.json')) as { version: string };

/** A command of the PATH that is not one of this checkout's own. */
function commandOutside(name: string): string {
  const folders = (process.env.PATH ?? '').split(delimiter).filter((folder) => !folder.includes('node_modules'));
  const folder = folders.find((one) => existsSync(join(one, name)));
  if (folder === undefined) throw new Error(`${name} is not on the PATH`);
  return join(folder, name);
}

describe('the released package', () => {
  let folder = '';
  let said = '';
  let installed = '';
  /** All that the user's machine has: Node.js and what comes with it. */
  let commands = '';
  const environment = (): NodeJS.ProcessEnv => ({
    ...Object.fromEntries(Object.entries(process.env).filter(([name]) => !/^npm_/i.test(name))), PATH: commands, FORCE_COLOR: '0',
  });
  const tapstone = (...args: string[]): { status: number | null; stdout: string; stderr: string } =>
    spawnSync(join(folder, 'prefix/bin/tapstone'), args, { cwd: folder, env: environment(), encoding: 'utf8' });
  const example = (name: string): string => join(installed, 'hardware-notes/examples', name);

  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'tapstone-released-'));
    execFileSync(process.execPath, [join(root, 'host/release.mjs'), '--out', folder, '--test-identity'], { stdio: ['ignore', 'ignore', 'inherit'] });
    commands = join(folder, 'commands');
    mkdirSync(commands);
    symlinkSync(process.execPath, join(commands, 'node'));
    symlinkSync(realpathSync(commandOutside('npm')), join(commands, 'npm'));
    const { status, stdout, stderr } = spawnSync(
      'npm', ['install', '--global', '--prefix', join(folder, 'prefix'), '--no-fund', '--no-audit', '--no-update-notifier',
        join(folder, `tapstone-${version}.tgz`)],
      { cwd: folder, env: environment(), encoding: 'utf8' });
    said = `${stdout}${stderr}`;
    if (status !== 0) throw new Error(`npm install ended with ${status}: ${said}`);
    installed = join(folder, 'prefix/lib/node_modules/tapstone');
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  it('installs without a word of warning, and fetches nothing but a Node.js for an old machine', () => {
    expect(said).toMatch(/^\n*added [12] packages? in \w+\n*$/);
    const { bundleDependencies } = JSON.parse(readFileSync(join(installed, 'package.json'), 'utf8')) as { bundleDependencies: string[] };
    const others = readdirSync(join(installed, 'node_modules')).filter((name) => !name.startsWith('.') && !bundleDependencies.includes(name));
    expect(others.filter((name) => !/^node-(linux|win)-/.test(name))).toEqual([]);
  });

  it.runIf(OWN_PRODUCT_ID === null)('is not packed with the test identity unless one asks for it', () => {
    const { status, stderr } = spawnSync(process.execPath, [join(root, 'host/release.mjs'), '--out', folder], { encoding: 'utf8' });
    expect(status).toBe(1);
    expect(stderr).toMatch(/^release: the firmware carries the test identity 1209:0001, which must not leave the house: /);
  });

  it('tells its version', () => {
    expect(tapstone('--version')).toMatchObject({ status: 0, stdout: `tapstone ${version}\n`, stderr: '' });
  });

  it('rehearses and solves', () => {
    const rehearsed = tapstone('rehearse', example('two-coils.pickup.json'), '--seed', '1');
    expect([rehearsed.status, rehearsed.stdout.split(':')[0]]).toEqual([0, 'GOOD']);
    const solved = tapstone('solve', example('plain-meters.bench.json'), '--json');
    expect([solved.status, (JSON.parse(solved.stdout) as { verdict: string }).verdict]).toEqual([0, 'good']);
  });

  it('has the driver for a tester, and the udev rule where it says that it lies', () => {
    const { stdout } = tapstone('check');
    expect(stdout).toMatch(/^driver +right +node-hid loads/m);
    expect(readFileSync(join(installed, 'host/udev/70-tapstone.rules'), 'utf8')).toBe(text('host/udev/70-tapstone.rules'));
  });

  it('has the firmware: for a board, and to run it in the emulated chip', () => {
    // No drive of a board: the file is read and checked before.
    expect(tapstone('flash', '--drive', folder).stderr).toMatch(/is not the boot drive of an RP2040 board/);
    const chip = tapstone('rehearse', example('two-coils.pickup.json'), '--seed', '1', '--twin', 'chip');
    expect([chip.status, chip.stdout.split(':')[0], chip.stderr]).toEqual([0, 'GOOD', '']);
  });

  it('has the licence of everything in it', () => {
    const notices = readFileSync(join(installed, 'THIRD-PARTY.txt'), 'utf8');
    const sections = notices.split(/^== /m).slice(1);
    for (const one of sections) expect([one.split('\n')[0], /copyright|public license/i.test(one)]).toEqual([one.split('\n')[0], true]);
    const names = sections.map((one) => one.split(/[ ,]/)[0]);
    // Named by what lies there, not by the list that the notices were made from: packages, marks that the bundler kept, libraries.
    const packed = readdirSync(join(installed, 'node_modules')).filter((name) => !/^(\.|node-(linux|win)-)/.test(name));
    const kept = readdirSync(join(installed, 'host/dist/app')).filter((name) => name.endsWith('.LEGAL.txt'))
      .flatMap((name) => [...readFileSync(join(installed, 'host/dist/app', name), 'utf8').matchAll(/^([\w.-]+|@[\w.-]+\/[\w.-]+)\//gm)])
      .map(([, name]) => name);
    expect(kept).toContain('react');
    expect(names).toEqual(expect.arrayContaining([...packed, ...kept, 'ink', 'yoga-layout', 'assemblyscript', 'newlib', 'libgcc', 'wabt']));
    expect(readFileSync(join(installed, 'LICENSE'), 'utf8')).toBe(text('LICENSE'));
  });

  it('holds every file that its README points to', () => {
    const named = [...text('README.md').matchAll(/\]\((?!https?:)([\w./-]+)\)/g)].map(([, path]) => path);
    expect(named.length).toBeGreaterThan(3);
    for (const path of named) expect([path, existsSync(join(installed, path))]).toEqual([path, true]);
  });
});

describe('the version', () => {
  it('is told once: what else names it is compared here, and the firmware is built with it', () => {
    const lock = JSON.parse(text('package-lock.json')) as { version: string; packages: Record<string, { version?: string }> };
    expect([lock.version, lock.packages['']?.version]).toEqual([version, version]);
    expect(JSON.parse(text('host/package.json'))).not.toHaveProperty('version');
    expect(/^## (.*)$/m.exec(text('host/CHANGELOG.md'))?.[1]).toBe(version);
  });
});
