/** What README and DEVELOPERS tell a newcomer to type and to open is there and works. */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { EXIT, EXIT_HELP } from '../../host/src/cli/exit-codes.ts';
import { OWN_PRODUCT_ID } from '../../host/src/transport/identity.ts';
import { tapstone } from '../program/run-program.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const readme = readFileSync(`${root}README.md`, 'utf8');
const developers = readFileSync(`${root}DEVELOPERS.md`, 'utf8');

/** Commands of the program that stand on a line of their own; two spaces part them from what they do. */
const commands = [...readme.matchAll(/^ {4}npx --no-install tapstone (.*?)(?: {2}.*)?$/gm)].map(([, args]) => (args ?? '').split(' '));
/** These need a tester, or an image that has its own tests. */
const isElsewhere = (args: readonly string[]): boolean => args[0] === 'check' || args.includes('chip');

describe('README and DEVELOPERS', () => {
  it.each(commands.filter((args) => !isElsewhere(args)).map((args) => [args.join(' '), args] as const))('tapstone %s works as written', async (_, args) => {
    const { code, out } = await tapstone(args.map((arg) => (arg.includes('/') ? root + arg : arg)));
    // Without a line that is typed there is nothing to print.
    expect([code, out !== '']).toEqual([0, args[0] !== 'enter']);
    if (args[0] === 'solve') expect(JSON.parse(out)).toMatchObject({ verdict: 'good', chassis: [5] });
    if (args[0] === 'rehearse') expect(out).toMatch(args.includes('--fault') ? /^NOT AS PLANNED/m : /^GOOD/);
  });

  it('shows what the program prints', async () => {
    const { out } = await tapstone(['rehearse', `${root}hardware-notes/examples/two-coils.pickup.json`, '--seed', '1']);
    const shown = readme.split('way of wiring read:\n\n')[1]!.split('\n\n`rehearse` and')[0]!.replace(/^ {4}/gm, '').split('\n\n');
    expect(shown.length).toBe(2);
    for (const part of shown) expect(`\n${out}`).toContain(`\n${part}\n`);
  });

  it('shows what comes of readings that are typed in', async () => {
    const [, lines, args] = /^ {4}printf '%s\\n' (.*) \| npx --no-install tapstone (.*) --out/m.exec(readme)!;
    const typed = [...lines!.matchAll(/'([^']*)'|(\S+)/g)].map(([, quoted, bare]) => `${quoted ?? bare}\n`).join('');
    const { code, out } = await tapstone(args!.split(' '), { input: typed });
    const shown = readme.split('Its map begins\n\n')[1]!.split('\n\n')[0]!.replace(/^ {4}/gm, '');
    expect(code).toBe(0);
    expect(out).toContain(`\n${shown}\n`);
  });

  it('tell how the release is made while the board has no number of its own', () => {
    const named = [...readme.matchAll(/npm run release(?: -- --test-identity)?/g)].map(([name]) => name);
    const works = OWN_PRODUCT_ID === null ? 'npm run release -- --test-identity' : 'npm run release';
    expect(new Set(named)).toEqual(new Set([works]));
  });

  it('tell every exit code, with what the help says of it', () => {
    const row = (code: number): string => new RegExp(`^\\| ${code} \\| (.*) \\|$`, 'm').exec(readme)?.[1] ?? '';
    for (const code of Object.values(EXIT)) expect(row(code), String(code)).not.toBe('');
    for (const word of ['file', 'number', 'test', 'lot']) expect([row(66), EXIT_HELP].every((text) => text.includes(word)), word).toBe(true);
    for (const word of ['tester', 'server', 'printing command', 'Node.js']) expect([row(69), EXIT_HELP].every((text) => text.includes(word)), word).toBe(true);
  });

  it('name only scripts that package.json has', () => {
    const { scripts } = JSON.parse(readFileSync(`${root}package.json`, 'utf8')) as { scripts: Record<string, string> };
    const named = [...`${readme}${developers}`.matchAll(/npm run ([\w:]+)|`(build:\w+)`/g)].map(([, run, script]) => run ?? script);
    expect(named.length).toBeGreaterThan(5);
    for (const script of named) expect(Object.keys(scripts)).toContain(script);
  });

  it('name only figures that there are', () => {
    const line = /`npm run figures -- NAME`[^:]*: (.*) \|/.exec(developers)?.[1] ?? '';
    const names = [...line.matchAll(/`(\w+)`/g)].map(([, name]) => `${name}.ts`);
    expect(names.length).toBeGreaterThan(5);
    expect(readdirSync(`${root}tests/figures`)).toEqual(expect.arrayContaining(names));
  });

  it('name only files and folders that there are, and every folder of the host', () => {
    const named = [...`${readme}${developers}`.matchAll(/`((?:host|hardware-notes|shared-logic|firmware|tests)\/[\w./-]*)`|\]\(([\w./-]+)\)/g)]
      .map(([, code, link]) => code ?? link ?? '');
    expect(named.length).toBeGreaterThan(15);
    const built = ['host/dist/app', 'firmware/build/tapstone.uf2'];
    for (const path of named) expect([path, built.includes(path) || existsSync(root + path)]).toEqual([path, true]);
    for (const folder of readdirSync(`${root}host/src`, { withFileTypes: true }))
      if (folder.isDirectory()) expect(developers).toContain(`${folder.name}/`);
  });
});
