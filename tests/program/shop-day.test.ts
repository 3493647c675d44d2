/** A whole session in a real terminal: three pickups tested, one of them found again in stock, its label printed. */
import { chmodSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { afterAll, afterEach, describe, expect, it } from 'vitest';
import { RECORDS_FILE, SqliteStock } from '../../host/src/records/sqlite-stock.ts';
import { METERS, pdfCodes, pdfText, solve } from '../papers/shop.ts';
import { keepNow } from '../records/keep-one.ts';
import { Terminal } from './terminal.ts';

const folder = mkdtempSync(join(tmpdir(), 'tapstone-day-'));
/** A printing command that keeps what it is given (POSIX `lp` reads the document from standard input). */
writeFileSync(join(folder, 'lp'), `#!/bin/sh\nprintf '%s|' "$@" >'${folder}/told'; exec /bin/cat >'${folder}/printed.pdf'\n`);
chmodSync(join(folder, 'lp'), 0o755);
const VARIABLES = `PATH='${folder}' TZ=UTC`;

let terminal: Terminal;
afterEach(() => terminal.end());
afterAll(() => rmSync(folder, { recursive: true }));

/** One whole test on the virtual bench, keys for the hands. @returns the screen at its end */
async function testOne(): Promise<string> {
  await terminal.shows(/press the button/i);
  terminal.keys('Space');
  for (;;) {
    const shown = await terminal.shows(/\(press t\)|coil \(g\)|Done, number/);
    const [asked] = /^(Touch|Once more|Hold)[^,(]*/m.exec(shown) ?? [];
    if (asked === undefined) return shown;
    terminal.keys(asked.startsWith('Hold') ? 'g' : 't');
    // The next question comes once the hand was heard.
    await terminal.shows(new RegExp(`^(?![\\s\\S]*${asked})`));
  }
}

const unwrapped = (text: string): string => text.replace(/\s+/g, ' ');

describe('a session of three pickups', () => {
  it('80x24: each is kept, the lot counts them, one is found again by its number, noted, printed and paired', async () => {
    terminal = new Terminal(80, 24, VARIABLES);
    for (const number of ['V-0001', 'V-0002', 'V-0003']) {
      expect(await testOne()).toContain(`Done, number ${number}`);
      terminal.keys('n');
    }
    await terminal.shows(/4 of 10: /);

    terminal.keys('l');
    const lot = await terminal.shows(/3 of 10 tested, 7 left/);
    expect(lot).toMatch(/\n> +4\* +- +not tested/);
    expect(lot).toMatch(/about \d+ min left, at \d/);
    terminal.keys('Escape');
    await terminal.shows(/press the button/i);

    terminal.keys('f');
    expect((await terminal.shows(/3 pickups/)).match(/\(virtual\)/g)).toHaveLength(3);
    // As a code reader types it.
    terminal.keys('V-0002', 'Enter');
    const found = await terminal.shows(/pickup V-0002[\s\S]*\[map\]/);
    expect(unwrapped(found)).toContain('virtual bench: nobody has it');
    terminal.keys('n');
    await terminal.shows(/Note: _/);
    terminal.keys('cover is dented?', 'Enter');
    await terminal.shows(/Noted\./);
    terminal.keys('l');
    await terminal.shows(/Label, 60x30 mm\np print \(the system's printer\)/);
    terminal.keys('p');
    await terminal.shows(/Handed to the printer: the label of V-0002/);
    expect(readFileSync(join(folder, 'told'), 'utf8')).toBe('|');
    expect(pdfText(join(folder, 'printed.pdf'))).toContain('V-0002');
    expect(pdfCodes(join(folder, 'printed.pdf'))).toEqual(['V-0002']);
    terminal.keys('BTab', 'BTab');
    await terminal.shows(/\[history\][\s\S]*cover is dented\?[\s\S]*came in/);

    terminal.keys('Escape');
    // The search is still there.
    await terminal.shows(/find {2}V-0002_/);
    // Esc with a letter right behind it is Alt and that letter, to any program in a terminal.
    terminal.keys('Escape');
    await terminal.shows(/find {2}_[\s\S]*V-0001/);
    terminal.keys('dented');
    await terminal.shows(/find {2}dented_[\s\S]*> V-0002/);
    terminal.keys('Escape');
    await terminal.shows(/find {2}_/);
    terminal.keys('Escape');
    await terminal.shows(/4 of 10: /);
    terminal.keys('q');
    await terminal.shows(/ended with 0/);
    expect(terminal.modes()).toBe('cursor 1, alternate 0');
    const database = new DatabaseSync(join(terminal.folder, 'tapstone', RECORDS_FILE));
    expect(database.prepare('SELECT count(*) AS n FROM tests').get()).toEqual({ n: 3 });
    database.close();
  });

  it('a number that a pickup got over the bench is its number on the bench', async () => {
    terminal = new Terminal(80, 24, VARIABLES);
    await testOne();
    terminal.keys('v');
    await terminal.shows(/pickup V-0001[\s\S]*\[map\]/);
    terminal.keys('#');
    await terminal.shows(/New number/);
    terminal.keys('W-7', 'Enter');
    await terminal.shows(/pickup W-7/);
    terminal.keys('Escape');
    await terminal.shows(/Done, number W-7/);
  });

  it('an undo from the lot stands at its pickup, and Ctrl-C asks on the bench, from whatever screen, before a test is left', async () => {
    terminal = new Terminal(80, 24, VARIABLES);
    await testOne();
    terminal.keys('l');
    await terminal.shows(/1 of 10 tested/);
    terminal.keys('u');
    await terminal.shows(/Take back the last test, of V-0001\?/);
    terminal.keys('y');
    expect(unwrapped(await terminal.shows(/The last test was taken back/))).toContain('1 of 10: ');
    terminal.keys('Space');
    await terminal.shows(/Touch the upper coil/);
    terminal.keys('f');
    await terminal.shows(/Tapstone {2}stock/);
    terminal.keys('?');
    await terminal.shows(/help: the stock/);
    terminal.keys('C-c');
    await terminal.shows(/This test is not over: q again keeps it as broken off and quits/);
    terminal.keys('C-c');
    await terminal.shows(/ended with 0/);
  });
});

describe('the screens in a terminal', () => {
  /** Two pickups that are nobody's invention, and their settings. */
  const prepare = ({ folder: home }: Terminal): void => {
    mkdirSync(join(home, 'tapstone'));
    const stock = new SqliteStock(join(home, 'tapstone', RECORDS_FILE));
    for (const number of ['A-1', 'A-2']) keepNow(stock, { title: 'two coils', record: METERS, map: solve(METERS), number, name: number });
    stock.close();
    writeFileSync(join(home, 'tapstone', 'settings.json'), '{"format": "settings/1", "label": "a6", "printer": "by the door"}');
  };
  const WALK = [
    ['f', /2 pickups/], ['Enter', /pickup A-2[\s\S]*\[map\]/], ['BTab', /\[partners\][\s\S]*> A-1: /], ['Enter', /pickup A-1[\s\S]*\[map\]/],
    ['?', /help: one pickup/], ['Escape', /\[map\]/], ['l', /Label, 105x148 mm\np print \(by the door\)/], ['Escape', /tab panel/],
    ['h', /two-pairs-one-split {2}\(example\)/], ['Enter', /Tapstone {2}[\s\S]*at jack/], ['Escape', /Tapstone {2}harnesses/],
    ['Escape', /Tapstone {2}pickup A-1/], ['Escape', /Tapstone {2}pickup A-2/], ['Escape', /2 pickups/], ['Escape', /press the button/i],
    ['o', /####[\s\S]*printer {8}by the door/], ['Escape', /press the button/i], ['l', /0 of 10 tested/], ['Escape', /press the button/i],
  ] as const;

  it.each([[80, 24], [120, 40]] as const)('%ix%i: show the same letters with colours and without', async (columns, rows) => {
    const walks: string[][] = [];
    for (const variables of [VARIABLES, `${VARIABLES} NO_COLOR=1`]) {
      terminal = new Terminal(columns, rows, variables, '', '', prepare);
      await terminal.shows(/press the button/i);
      const shown: string[] = [];
      for (const [key, what] of WALK) {
        terminal.keys(key);
        shown.push((await terminal.shows(what)).replaceAll(terminal.folder, 'HOME'));
        const hasColour = /\x1b\[[0-9;]*(3[0-8]|4[0-8]|9[0-7])m/.test(terminal.lines(true).join('\n'));
        if (variables !== VARIABLES) expect(hasColour).toBe(false);
        else if (key === 'BTab') expect(hasColour).toBe(true);
      }
      walks.push(shown);
      terminal.keys('q');
      await terminal.shows(/ended with 0/);
      terminal.end();
    }
    expect(walks[1]).toEqual(walks[0]);
  });

  it('say in one sentence what is wrong with the settings, leave them as they are, and colours go off by them', async () => {
    terminal = new Terminal(80, 24, VARIABLES, '', '', ({ folder: home }) => {
      mkdirSync(join(home, 'tapstone'));
      writeFileSync(join(home, 'tapstone', 'settings.json'), '{"format": "settings/1", "label": "6x"}');
    });
    expect(unwrapped(await terminal.shows(/Settings: /)))
      .toMatch(/settings\.json: label: "6x"; expected a6, or width and height of 10 to 300 mm, such as 60x30\./);
    terminal.keys('o');
    await terminal.shows(/> shop numbers/);
    terminal.keys('Down', 'Down', 'Down', 'Down', 'Down', 'Enter');
    expect(unwrapped(await terminal.shows(/nothing is written over it/))).toMatch(/label: "6x".*mend or remove the file first/);
    terminal.end();
    terminal = new Terminal(80, 24, VARIABLES, '', '', ({ folder: home }) => {
      mkdirSync(join(home, 'tapstone'));
      writeFileSync(join(home, 'tapstone', 'settings.json'), '{"format": "settings/1", "colour": false, "ours": 1}');
    });
    terminal.keys('o');
    await terminal.shows(/colours {8}off/);
    terminal.keys('Down', 'Enter');
    await terminal.shows(/Size of labels: 60x30_/);
    terminal.keys('BSpace', 'BSpace', 'BSpace', 'BSpace', 'BSpace', '80x40', 'Enter');
    await terminal.shows(/label size {5}80x40[\s\S]*Kept\./);
    expect(JSON.parse(readFileSync(join(terminal.folder, 'tapstone', 'settings.json'), 'utf8')))
      .toEqual({ format: 'settings/1', label: '80x40', printer: '', papers: '', harnesses: '', colour: false, ours: 1 });
  });

  it('lead from the bench to a pickup entered by meters, which is kept and shown; what was typed is asked about, and left when nothing was', async () => {
    terminal = new Terminal(80, 24, VARIABLES);
    await terminal.shows(/press the button/i);
    terminal.keys('m');
    await terminal.shows(/entry by meters/);
    terminal.keys('Escape');
    await terminal.shows(/press the button/i);
    terminal.keys('m');
    await terminal.shows(/entry by meters/);
    terminal.keys('VT PK', 'Enter');
    await terminal.shows(/how many places|places/i);
    terminal.keys('1', 'Enter');
    await terminal.shows(/Ohms between/);
    terminal.keys('7,9k', 'Enter');
    await terminal.shows(/Reading 2\./);
    terminal.keys('q');
    await terminal.shows(/End here, with what was read so far\?/);
    terminal.keys('n');
    terminal.keys('+');
    await terminal.shows(/Reading 3\./);
    terminal.keys('Escape');
    await terminal.shows(/End here/);
    terminal.keys('y');
    expect(await terminal.shows(/Tapstone {2}pickup 0001/)).toContain('entered by meters');
    terminal.keys('Escape');
    await terminal.shows(/press the button/i);
    terminal.keys('f');
    await terminal.shows(/> 0001 .*7\.90k/);
  });

  it('show a server of another kind for what it is, and keep tests here', async () => {
    terminal = new Terminal(80, 24, `${VARIABLES} TAPSTONE_RECORDS=mysql://x:secret@db/shop`);
    expect(unwrapped(await terminal.shows(/on this computer only/)))
      .toMatch(/TAPSTONE_RECORDS begins with mysql:, which is not spoken here; expected postgres:\/\/USER@HOST\/DATABASE/);
    terminal.keys('f');
    const stock = unwrapped(await terminal.shows(/Shown is what this computer keeps/));
    expect(stock).toContain('mysql:');
    expect(stock).not.toContain('secret');
  });
});
