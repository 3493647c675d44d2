/** `tapstone enter`: line by line from standard input, and on its screen in a real terminal. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { closeSync, mkdtempSync, openSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { OWN_HOME } from './own-home.ts';
import { tapstone } from './run-program.ts';
import { Shell, Terminal } from './terminal.ts';

const MAIN = fileURLToPath(new URL('../../host/src/main.ts', import.meta.url));

let folder: string;
let terminal: Terminal | undefined;
beforeEach(() => { folder = mkdtempSync(join(tmpdir(), 'tapstone-enter-')); });
afterEach(() => {
  rmSync(folder, { recursive: true });
  terminal?.end();
  terminal = undefined;
});

const enter = (lines: readonly string[], ...args: string[]): ReturnType<typeof tapstone> =>
  tapstone(['enter', ...args], { input: lines.map((line) => `${line}\n`).join(''), environment: { XDG_DATA_HOME: folder } });
const stock = (): ReturnType<typeof tapstone> => tapstone(['stock', '--json'], { environment: { XDG_DATA_HOME: folder } });

/** A single coil on two leads, its plus on lead 2, its face north. */
const SINGLE = ['7,9k', '+', '+', 'n'];

describe('tapstone enter, line by line', () => {
  it('prints the map, writes a record that solves to the same map, and keeps the test with a number', async () => {
    const file = join(folder, 'found.bench.json');
    const { code, out, err } = await enter(['VT PK', '1', ...SINGLE, ''], '--json', '--out', file, '--title', 'from a box of spares');
    expect(code).toBe(0);
    const map: unknown = JSON.parse(out);
    expect(map).toMatchObject({ verdict: 'good', coils: [{ ends: [1, 2], plus: 2, minus: 1, ohm: 7900, pole: 'N', place: 'single' }] });
    expect(err).toContain('Magnets are strong');
    expect(err).toContain("the needle's north end goes to a south\n  face");
    expect(err).toContain('Kept as 0001.');
    expect(JSON.parse((await tapstone(['solve', file, '--json'])).out)).toEqual(map);
    const record = JSON.parse(readFileSync(file, 'utf8')) as Record<string, unknown>;
    expect(record).not.toHaveProperty('tester');
    expect(record).toMatchObject({ format: 'bench/1', resistances: [{ a: 1, b: 2, ohm: 7900 }], magnets: [{ at: 'single', pole: 'N' }] });
    expect(JSON.parse((await stock()).out)).toMatchObject({ number: '0001', title: 'from a box of spares', state: 'good', verdict: 'good' });
  });
  it('adds the test to the pickup of a number, and makes one of a new number', async () => {
    for (const number of ['A-7', 'A-7', 'A-8']) expect((await enter(SINGLE, '--leads', '2', '--places', '1', '--number', number)).err).toContain(`Kept as ${number}.`);
    expect((await stock()).out.trim().split('\n')).toHaveLength(2);
  });
  it('ends with what there is at the end of the input, and keeps nothing when nothing was read or it is not wanted', async () => {
    expect((await enter([])).err).toContain('Nothing was read, so there is no map and nothing is kept.');
    const part = await enter(['3', '2', '4.1k', '4k9'], '--no-keep');
    expect(part).toMatchObject({ code: 0 });
    expect(part.out).toMatch(/^UNSURE/);
    expect((await stock()).out).toBe('');
  });
  it('says what it cannot take in one line, goes on, and tells by its code that lines were refused', async () => {
    const { code, out, err } = await enter(['VT XX', 'VT PK', '1', 'abc', ...SINGLE], '--no-keep');
    expect(code).toBe(65);
    expect(out).toMatch(/^GOOD/);
    expect(err).toContain('"XX" is no colour code (IEC 60757, or BARE); expected how many');
    expect(err.replaceAll('\n', ' ')).toContain('"abc" is no resistance; expected ohms such as 4.13k');
  });
  it.each([
    [['--leads', '9'], '--leads: 9 leads are not what a pickup has here; expected how many'],
    [['--places', 'a,a'], '--places: One name stands twice; expected 1, 2 or 3'],
    [['--number', ' '], '--number: " " is no number'],
    [['4.1k'], '4.1k is not expected here; readings are typed when they are asked for'],
  ] as const)('%s is wrong usage', async (args, sentence) => {
    const { code, out, err } = await enter([], ...args);
    expect([code, out]).toEqual([64, '']);
    expect(err).toContain(`tapstone enter: ${sentence}`);
    expect(err.trim().split('\n')).toHaveLength(1);
  });
});

describe('readings that took a person\'s hands', () => {
  const begin = (...args: string[]) => spawn(process.execPath, [MAIN, 'enter', '--leads', '2', '--places', '1', ...args], {
    env: { ...process.env, ...OWN_HOME, XDG_DATA_HOME: folder },
  });

  it.each(['SIGINT', 'SIGTERM', 'SIGHUP'] as const)('are kept as broken off when the program is told to end by %s', async (name) => {
    const child = begin();
    let [out, err] = ['', ''];
    child.stdout.setEncoding('utf8').on('data', (text: string) => (out += text));
    child.stderr.setEncoding('utf8').on('data', (text: string) => {
      err += text;
      if (/Reading 2\.[\s\S]*> $/.test(err)) child.kill(name);
    });
    child.stdin.write('7.9k\n');
    expect(await once(child, 'close')).toEqual([0, null]);
    expect(out).toMatch(/^UNSURE/);
    expect(err).toContain('Kept as 0001, broken off.');
  });

  it('are kept where the map cannot be written, which is told; the record is written all the same', async () => {
    const full = openSync('/dev/full', 'w');
    const file = join(folder, 'found.bench.json');
    const child = spawn('sh', ['-c', `printf '${SINGLE.join('\\n')}\\n\\n' | "$@"`, 'sh', process.execPath, MAIN, 'enter',
      '--leads', '2', '--places', '1', '--out', file], { env: { ...process.env, ...OWN_HOME, XDG_DATA_HOME: folder }, stdio: ['ignore', full, 'pipe'] });
    let err = '';
    child.stderr!.setEncoding('utf8').on('data', (text: string) => (err += text));
    expect(await once(child, 'close')).toEqual([74, null]);
    closeSync(full);
    expect(err).toMatch(/Kept as 0001\.\ntapstone: standard output: cannot be written: the disk is full\n$/);
    expect(JSON.parse(readFileSync(file, 'utf8'))).toMatchObject({ resistances: [{ ohm: 7900 }] });
  });

  it('are kept and their map is printed where the record cannot be written', async () => {
    const { code, out, err } = await enter(SINGLE, '--leads', '2', '--places', '1', '--out', '/dev/full');
    expect([code, out.split('\n')[0]]).toEqual([74, expect.stringMatching(/^GOOD/)]);
    expect(err).toMatch(/Kept as 0001\.\n\/dev\/full: cannot be written: the disk is full\n$/);
  });

  it.each([['folder', 'a folder has this name'], ['none/x.json', 'its folder does not exist']])('are not asked for where the record cannot go to %s', async (name, why) => {
    const out = name === 'folder' ? folder : join(folder, name);
    expect(await enter(SINGLE, '--leads', '2', '--places', '1', '--out', out)).toMatchObject({
      code: 74, out: '', err: `${out}: cannot be written: ${why}\n`,
    });
  });
});

describe('the screen of the entry in a terminal', () => {
  /** What the person reads of two coils on leads 1-3 and 2-4, with a bare wire on 5. */
  function answerTo(screen: string): string[] {
    const ohms = /Ohms between lead (\d)[\s\S]*?and lead (\d)/.exec(screen);
    if (ohms !== null) return [({ '1-3': '4.1k', '2-4': '4k25' } as Record<string, string>)[`${ohms[1]}-${ohms[2]}`] ?? 'OL', 'Enter'];
    const swing = /[Pp]lus of the meter on lead (\d)[\s\S]*?Touch the\s+coil\s+"(\w+)"/.exec(screen);
    if (swing !== null) return [(swing[2] === 'upper') === (Number(swing[1]) % 2 === 1) ? '+' : '0'];
    return [/face of the coil\s+"(\w+)"/.exec(screen)![1] === 'upper' ? 's' : 'n'];
  }

  it.each([[80, 24, '', true], [120, 40, 'NO_COLOR=1', false]] as const)('finds a pair in %i by %i %s, asks back, goes back, and prints and keeps the map', async (columns, rows, variables, hasColour) => {
    terminal = new Terminal(columns, rows, variables, 'enter');
    await terminal.shows(/Which\s+are they\?/);
    terminal.keys('PK OG XX VT BARE', 'Enter');
    await terminal.shows(/"XX" is no colour code/);
    expect(terminal.lines(true).some((line) => /\x1b\[[\d;]*3\dm/.test(line))).toBe(hasColour);
    terminal.keys('PK OG VT TQ BARE', 'Enter');
    await terminal.shows(/In how many places/);
    terminal.keys('2', 'Enter');
    await terminal.shows(/Reading 1\. Ohms/);
    terminal.keys('16', 'Enter');
    await terminal.shows(/is that 16 k\?/);
    terminal.keys('b');
    await terminal.shows(/Reading 1\. Ohms/);
    let before = '';
    for (let reading = 1; reading < 25; reading++) {
      const screen = await terminal.shows(new RegExp(`Reading ${reading}\\. |No reading that is left`));
      if (screen.includes('No reading that is left')) break;
      before = screen;
      terminal.keys(...answerTo(screen));
    }
    expect(before).toContain('Compass');
    expect(terminal.lines().join('\n')).toMatch(/verdict {2}good/);
    expect(terminal.lines().every((line) => line.length <= columns)).toBe(true);
    terminal.keys('b');
    await terminal.shows(/Compass to the face/);
    terminal.keys(...answerTo(terminal.lines().join('\n')));
    await terminal.shows(/No reading that is left/);
    terminal.keys('Enter');
    await terminal.shows(/ended with 0/);
    expect(terminal.modes()).toBe('cursor 1, alternate 0');
    expect(terminal.lines().join('\n')).toContain('Kept as 0001.');
  });
  it('asks before it is left with readings to come, and then prints what there is', async () => {
    terminal = new Terminal(80, 24, '', 'enter --leads 2 --places 1 --no-keep');
    await terminal.shows(/Reading 1\. Ohms/);
    terminal.keys('8.1k', 'Enter');
    await terminal.shows(/Reading 2\. Plus of the meter/);
    terminal.keys('q');
    await terminal.shows(/End here, with what was read so far\?/);
    terminal.keys('n');
    await terminal.shows(/Reading 2\. Plus of the meter/);
    terminal.keys('q', 'y');
    await terminal.shows(/ended with 0/);
    expect(terminal.lines().join('\n')).toContain('Cautions');
  });
  it('is quit by ctrl-c at once, and what was read is kept as broken off', async () => {
    terminal = new Terminal(80, 24, '', 'enter --leads 2 --places 1');
    await terminal.shows(/Reading 1\. Ohms/);
    terminal.keys('8.1k', 'Enter');
    await terminal.shows(/Reading 2\. Plus of the meter/);
    terminal.keys('C-c');
    await terminal.shows(/ended with 0/);
    expect(terminal.lines().join('\n')).toContain('Kept as 0001, broken off.');
  });
  it.each(['SIGTERM', 'SIGHUP'] as const)('keeps as broken off what was read when the program is told to end by %s', async (name) => {
    const shell = new Shell(80, 24, '', 'enter --leads 2 --places 1');
    terminal = shell;
    shell.start();
    await shell.shows(/Reading 1\. Ohms/);
    shell.keys('8.1k', 'Enter');
    await shell.shows(/Reading 2\. Plus of the meter/);
    shell.signal(name);
    await shell.shows(/Kept as 0001, broken off\./);
    expect(shell.modes()).toBe('cursor 1, alternate 0');
  });
  it('is opened from the bench, keeps what was read and shows it as it is kept; help tells its keys', async () => {
    terminal = new Terminal(80, 24, '', '--seed 1');
    await terminal.shows(/m by meters/);
    terminal.keys('m');
    await terminal.shows(/Which\s+are they\?/);
    terminal.keys('?');
    await terminal.shows(/help: entry by meters/);
    terminal.keys('Escape');
    await terminal.shows(/Which\s+are they\?/);
    terminal.keys('VT PK', 'Enter');
    await terminal.shows(/In how many places/);
    terminal.keys('1', 'Enter');
    await terminal.shows(/Reading 1\. Ohms/);
    terminal.keys('7,9k', 'Enter');
    await terminal.shows(/Reading 2\. Plus of the meter/);
    terminal.keys('+');
    await terminal.shows(/Reading 3\. Again, to be sure/);
    terminal.keys('+');
    await terminal.shows(/Reading 4\. Compass/);
    terminal.keys('n');
    await terminal.shows(/No reading that is left/);
    terminal.keys('Enter');
    await terminal.shows(/0001[\s\S]*entered by meters/);
    await terminal.shows(/minus 1 VT, plus 2 PK/);
    terminal.keys('Escape');
    await terminal.shows(/m by meters/);
    terminal.keys('q');
    await terminal.shows(/ended with 0/);
  });
});
