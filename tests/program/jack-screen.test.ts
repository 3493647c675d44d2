/** `tapstone proof` of a guitar that is read now, in a real terminal with the board twin at its jack. */
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, afterEach, describe, expect, it } from 'vitest';
import { tapstone } from './run-program.ts';
import { Shell, Terminal } from './terminal.ts';

const ONE = fileURLToPath(new URL('../../hardware-notes/examples/harness/one-pickup.harness.json', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'tapstone-jack-'));

let terminal: Terminal | undefined;
afterEach(() => terminal?.end());
afterAll(() => rmSync(folder, { recursive: true }));

const unwrapped = (text: string): string => text.replace(/\s+/g, ' ');

/** Presses the button, and touches what is asked for, so often. */
async function read(screen: Terminal, ...places: string[]): Promise<void> {
  await screen.shows(/Then press the button/);
  screen.keys('Enter');
  for (const place of places) {
    await screen.shows(new RegExp(`Touch ${place} with plain steel[\\s\\S]*press t`));
    screen.keys('t');
  }
}

describe('a guitar read at its jack', () => {
  it.each([[80, 24, ''], [120, 40, 'NO_COLOR=1']] as const)('%ix%i %s: to its proof, which is printed and can be proved again from the file', async (columns, rows, variables) => {
    const file = join(folder, `whole-${columns}.bench.jsonl`);
    terminal = new Terminal(columns, rows, variables, `proof ${ONE} --twin board --seed 1 --record ${file}`);
    const first = await terminal.shows(/0 of 1 settings read[\s\S]*There is no switch to set/);
    expect(unwrapped(first)).toMatch(/There is no switch to set\. Turn .* fully up\. Then press the button of the tester, or Enter\./);
    expect(unwrapped(first)).toContain('Pull the cable out of the jack and unplug the amplifier');
    await read(terminal, 'only upper', 'only lower');
    const proof = await terminal.shows(/\[proof\][\s\S]*AS PLANNED/);
    expect(proof).toContain('1 of 1 settings read');
    const hasColour = /\x1b\[[0-9;]*(3[0-8]|4[0-8]|9[0-7])m/.test(terminal.lines(true).join('\n'));
    expect(hasColour).toBe(variables === '');
    terminal.keys('?');
    await terminal.shows(/help: a guitar at its jack/);
    terminal.keys('Escape');
    await terminal.shows(/\[proof\]/);
    terminal.keys('q');
    const printed = await terminal.shows(/ended with 0/);
    expect(terminal.modes()).toBe('cursor 1, alternate 0');
    expect(unwrapped(printed)).toContain(`the readings are kept in ${file}`.slice(0, 40));
    const { code, out } = await tapstone(['proof', ONE, file]);
    expect([code, out.split('\n')[2]]).toEqual([0, 'AS PLANNED: nothing that was read speaks against this wiring.']);
    expect(JSON.parse(readFileSync(file, 'utf8'))).toMatchObject({ format: 'bench/1', harness: 'one-pickup.harness.json', setting: {} });
  });

  it('is stopped in the middle: what was read is in the file at once, and is gone on with', async () => {
    const file = join(folder, 'half.bench.jsonl');
    const run = `proof ${ONE} --twin board --seed 2 --record ${file}`;
    terminal = new Terminal(80, 24, '', run);
    await read(terminal, 'only upper');
    await terminal.shows(/Touch only lower/);
    terminal.keys('C-c');
    await terminal.shows(/the only setting is not read to its end\. End all the same\?/);
    terminal.keys('y');
    await terminal.shows(/ended with 0/);
    expect(JSON.parse(readFileSync(file, 'utf8')).touches).toHaveLength(1);
    terminal.end();
    terminal = new Terminal(80, 24, '', run);
    await terminal.shows(/only upper \+, in part/);
    await read(terminal, 'only upper', 'only lower');
    await terminal.shows(/1 of 1 settings read/);
    terminal.keys('q');
    await terminal.shows(/ended with 0/);
    expect(readFileSync(file, 'utf8').trim().split('\n')).toHaveLength(2);
  });

  it.each([['SIGTERM', 'named'], ['SIGHUP', 'named'], ['SIGTERM', 'free'], ['SIGHUP', 'free']] as const)(
    'told to end by %s it keeps what was read of a setting, in a file that was %s', async (name, which) => {
      const here = mkdtempSync(join(folder, 'ended-'));
      const file = join(here, which === 'named' ? 'named.bench.jsonl' : 'one-pickup-jack.bench.jsonl');
      const shell = new Shell(80, 24, '', `proof ${ONE} --twin board --seed 2 ${which === 'named' ? `--record ${file}` : ''}`);
      terminal = shell;
      shell.keys(`cd ${here}`, 'Enter');
      shell.start();
      await read(shell, 'only upper');
      await shell.shows(/Touch only lower/);
      shell.signal(name);
      const shown = unwrapped(await shell.shows(/(Terminated|Hangup)[\s\S]*prompt>/));
      expect(shell.modes()).toBe('cursor 1, alternate 0');
      expect(shown).toContain('the readings are kept in');
      expect(readdirSync(here)).toHaveLength(1);
      expect(JSON.parse(readFileSync(file, 'utf8')).touches).toHaveLength(1);
    });

  it('with nothing in any file asks where to keep it, and with a fault tells at the end what it was', async () => {
    terminal = new Terminal(80, 24, '', `proof ${ONE} --twin board --seed 1 --blind --fault`);
    await read(terminal);
    await terminal.shows(/At the jack: \d+ ohm|no path|1 of 1 settings read/);
    terminal.keys('q');
    await terminal.shows(/End all the same\?|stands in no file/);
    terminal.keys('y');
    await terminal.shows(/stands in no file/);
    terminal.keys('k');
    const file = join(folder, 'kept.bench.jsonl');
    await terminal.shows(/Keep the readings in: one-pickup-jack\.bench\.jsonl_/);
    terminal.keys(...Array<string>(40).fill('BSpace'), file, 'Enter');
    expect(unwrapped(await terminal.shows(/ended with 0/))).toContain('the fault that was put in: only: ');
    expect(existsSync(file)).toBe(true);
  });
});

describe('what a guitar needs to be read', () => {
  it.each([
    [['proof'], 'no harness is named; write tapstone proof FILE.harness.json RECORD.bench.json'],
    [['proof', ONE], 'no record is named, and without a terminal none can be read now; write tapstone proof FILE.harness.json RECORD.bench.json'],
    [['proof', ONE, '--json'], 'no record is named, and --json prints what records prove; write tapstone proof FILE.harness.json RECORD.bench.json'],
    [['proof', ONE, 'x.bench.json', '--twin', 'board'], '--twin is for reading at the jack; name records, or --twin, not both'],
  ])('%j is refused in one sentence', async (args, sentence) => {
    expect(await tapstone(args)).toMatchObject({ code: 64, out: '', err: `tapstone proof: ${sentence}\n` });
  });

  it.each([
    ['', 'no tester is plugged in; plug one in, rehearse with --twin board, or name records of what was read', 69],
    ['--seed 1', '--seed is for a simulated guitar; add --twin board', 64],
    ['--twin board --tester TS-1', '--tester and --twin name two testers; leave one of them out', 64],
    ['--twin pod', '--twin pod is not known; ', 64],
    [`--twin board --record ${ONE}`, 'is the harness itself; name another file', 64],
    ['--twin board --pickup rear=x', '--pickup "rear=x" names no fitted slot; expected SLOT=FILE with one of only', 64],
  ])('%s says so in a terminal', async (options, sentence, code) => {
    terminal = new Terminal(200, 24, '', `proof ${ONE} ${options}`);
    const shown = await terminal.shows(/ended with/);
    expect(unwrapped(shown)).toContain(sentence);
    expect(shown).toContain(`ended with ${code}`);
  });

  it('a file that holds something else is named, and left as it is', async () => {
    const jack = fileURLToPath(new URL('../../hardware-notes/examples/harness/two-singles-jack.bench.jsonl', import.meta.url));
    const before = readFileSync(jack, 'utf8');
    terminal = new Terminal(200, 24, '', `proof ${ONE} --twin board --record ${jack}`);
    const shown = await terminal.shows(/ended with 65/);
    expect(unwrapped(shown)).toContain('"two-singles.harness.json" is another harness; expected a record of one-pickup.harness.json');
    expect(readFileSync(jack, 'utf8')).toBe(before);
  });
});
