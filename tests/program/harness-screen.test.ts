/** `tapstone harness` in a real terminal, and what it says without one. */
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, describe, expect, it } from 'vitest';
import { asBenchRecord } from '../../host/src/files/bench-file.ts';
import { exampleRecord } from '../../host/src/files/example-files.ts';
import { RECORDS_FILE, SqliteStock } from '../../host/src/records/sqlite-stock.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { METERS, solve } from '../papers/shop.ts';
import { keepNow } from '../records/keep-one.ts';
import { tapstone } from './run-program.ts';
import { Shell, Terminal } from './terminal.ts';

const FOLDER = fileURLToPath(new URL('../../hardware-notes/examples/harness/', import.meta.url));
const HARNESS = `${FOLDER}two-pairs-one-split.harness.json`;

let terminal: Terminal | undefined;
afterEach(() => terminal?.end());

describe('the harness screen', () => {
  it.each([['', true], ['NO_COLOR=1', false]] as const)('takes over the best plan and prints it at the end (%s)', async (variables, hasColour) => {
    const out = join(mkdtempSync(join(tmpdir(), 'tapstone-save-')), 'new.harness.json');
    terminal = new Terminal(80, 24, variables, `harness ${HARNESS} ${FOLDER}pair-rear.wiremap.json --out ${out}`);
    await terminal.shows(/6 of 6 settings that sound, 6 in phase, 3 with hum cancelled\./);
    terminal.keys('b');
    await terminal.shows(/Taken over: rear: wire the coils in another order/);
    expect(terminal.lines(true).some((line) => /\x1b\[[\d;]*3\dm/.test(line))).toBe(hasColour);
    expect(terminal.modes()).toContain('alternate 1');
    terminal.keys('s');
    await terminal.shows(/Written: /);
    expect((await tapstone(['plan', out, '--json'])).out).toContain('"work":[]');
    terminal.keys('j');
    expect((await terminal.shows(/no tester is plugged in/)).replace(/\s+/g, ' '))
      .toContain('no tester is plugged in; plug one in, or rehearse with tapstone proof and --twin board.');
    terminal.keys('p');
    await terminal.shows(/front: pair-rear/);
    terminal.keys('u', 'e');
    await terminal.shows(/ended with 0/);
    expect(terminal.modes()).toBe('cursor 1, alternate 0');
    expect(terminal.lines().join('\n')).toContain('Magnets are strong');
  });

  it.each([['SIGTERM', true], ['SIGHUP', true], ['SIGTERM', false], ['SIGHUP', false]] as const)(
    'told to end by %s it writes what was changed, to the file that was named (%s) or under a free name', async (name, isNamed) => {
      const here = mkdtempSync(join(tmpdir(), 'tapstone-ended-'));
      writeFileSync(join(here, 'two-pairs-one-split.harness.json'), 'of somebody else');
      const out = join(here, isNamed ? 'new.harness.json' : 'two-pairs-one-split-2.harness.json');
      const shell = new Shell(80, 24, '', `harness ${HARNESS} ${isNamed ? `--out ${out}` : ''}`);
      terminal = shell;
      shell.keys(`cd ${here}`, 'Enter');
      shell.start();
      await shell.shows(/6 of 6 settings that sound, 6 in phase, 3 with hum cancelled\./);
      shell.keys('b');
      await shell.shows(/Taken over: rear: wire the coils in another order/);
      shell.signal(name);
      await shell.shows(/(Terminated|Hangup)[\s\S]*prompt>/);
      expect(shell.modes()).toBe('cursor 1, alternate 0');
      expect(readFileSync(join(here, 'two-pairs-one-split.harness.json'), 'utf8')).toBe('of somebody else');
      expect((await tapstone(['plan', out, '--json'])).out).toContain('"work":[]');
    });

  it('opened from the bench and told to end it writes what was changed as well', async () => {
    const here = mkdtempSync(join(tmpdir(), 'tapstone-ended-'));
    const shell = new Shell(80, 24, '', '--seed 1');
    terminal = shell;
    shell.keys(`cd ${here}`, 'Enter');
    shell.start();
    await shell.shows(/press the button/i);
    shell.keys('h');
    await shell.shows(/two-pairs-one-split {2}\(example\)/);
    shell.keys('Enter');
    await shell.shows(/at jack/);
    shell.keys('x');
    await shell.shows(/hot and ground|exchange/i);
    shell.signal('SIGHUP');
    await shell.shows(/Hangup[\s\S]*prompt>/);
    expect(readdirSync(here).filter((name) => name.endsWith('.harness.json'))).toHaveLength(1);
  });

  it('told to end with nothing changed it writes nothing', async () => {
    const here = mkdtempSync(join(tmpdir(), 'tapstone-ended-'));
    const shell = new Shell(80, 24, '', `harness ${HARNESS}`);
    terminal = shell;
    shell.keys(`cd ${here}`, 'Enter');
    shell.start();
    await shell.shows(/6 of 6 settings that sound/);
    shell.signal('SIGTERM');
    await shell.shows(/Terminated[\s\S]*prompt>/);
    expect(readdirSync(here)).toEqual([]);
  });

  it('puts a pickup that is in stock into a slot, by its number', async () => {
    terminal = new Terminal(80, 24, '', `harness ${HARNESS} P-7`, '', ({ folder }) => {
      mkdirSync(join(folder, 'tapstone'));
      const stock = new SqliteStock(join(folder, 'tapstone', RECORDS_FILE));
      const map: WireMap = {
        format: 'wiremap/1', verdict: 'good', coils: [], pairs: [], chassis: [], joined: [], findings: [], unknown: [],
      };
      keepNow(stock, { title: 'a title', record: asBenchRecord(exampleRecord()), map, number: 'P-7' });
      stock.close();
    });
    await terminal.shows(/front: pair-front/);
    terminal.keys('p');
    await terminal.shows(/front: number P-7, coil 1/);
    expect(await tapstone(['harness', HARNESS, 'P-7'], { environment: { XDG_DATA_HOME: join(terminal.folder, 'none') } }))
      .toMatchObject({ code: 66, err: 'tapstone harness: no pickup has number P-7; "tapstone stock" lists them\n' });
  });

  it('reached from the bench, is written to files of its own, over no other, and asks before work is left', async () => {
    const own = mkdtempSync(join(tmpdir(), 'tapstone-own-'));
    writeFileSync(join(own, 'two-pairs-one-split.harness.json'), readFileSync(HARNESS));
    for (const name of ['pair-front', 'pair-rear']) writeFileSync(join(own, `${name}.wiremap.json`), readFileSync(`${FOLDER}${name}.wiremap.json`));
    terminal = new Terminal(80, 24, 'TAPSTONE_RECORDS=', '', '', ({ folder }) => {
      mkdirSync(join(folder, 'tapstone'));
      writeFileSync(join(folder, 'tapstone', 'settings.json'), JSON.stringify({ format: 'settings/1', harnesses: own }));
      const stock = new SqliteStock(join(folder, 'tapstone', RECORDS_FILE));
      keepNow(stock, { title: 'a title', record: METERS, map: solve(METERS), number: 'P-7' });
      stock.close();
    });
    await terminal.shows(/press the button/i);
    terminal.keys('h');
    await terminal.shows(/> two-pairs-one-split/);
    terminal.keys('Enter');
    expect(await terminal.shows(/front: pair-front/)).toMatch(/s save[\s\S]*esc back/);
    terminal.keys('p');
    await terminal.shows(/front: number P-7/);
    terminal.keys('Escape');
    await terminal.shows(/is in no file: s saves it/);
    terminal.keys('s');
    expect((await terminal.shows(/Written: /)).replace(/\n {0,2}/g, '')).toContain(`${own}/two-pairs-one-split-2.harness.json`);
    expect(readdirSync(own).sort()).toEqual([
      'pair-front.wiremap.json', 'pair-rear.wiremap.json', 'two-pairs-one-split-2-1-front.wiremap.json',
      'two-pairs-one-split-2.harness.json', 'two-pairs-one-split.harness.json']);
    expect(readFileSync(join(own, 'two-pairs-one-split.harness.json'), 'utf8')).toBe(readFileSync(HARNESS, 'utf8'));
    const written = JSON.parse((await tapstone(['positions', join(own, 'two-pairs-one-split-2.harness.json'), '--json'])).out) as { settings: unknown[] };
    expect(written.settings).toHaveLength(6);
    terminal.keys('Escape');
    await terminal.shows(/> two-pairs-one-split/);
  });

  it('takes harnesses and pickups in any order, and says in one line what it cannot take', async () => {
    const cases: [string[], number, string][] = [
      [[], 64, 'tapstone harness: no harness is named; write tapstone harness FILE.harness.json'],
      [[`${FOLDER}pair-rear.wiremap.json`], 64, 'tapstone harness: no harness is named; write tapstone harness FILE.harness.json'],
      [[`${FOLDER}pair-rear.wiremap.json`, HARNESS], 64,
        'tapstone harness: this is a screen and needs a terminal; tapstone positions prints the same table'],
    ];
    for (const [args, code, line] of cases) expect(await tapstone(['harness', ...args])).toMatchObject({ code, out: '', err: `${line}\n` });
    expect((await tapstone(['harness', `${FOLDER}none.harness.json`])).code).toBe(66);
    expect((await tapstone(['harness', fileURLToPath(new URL('../../hardware-notes/examples/two-coils.pickup.json', import.meta.url))])).code).toBe(65);
  });
});
