import { execFileSync } from 'node:child_process';
import { mkdirSync, readFileSync, readdirSync, readlinkSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { afterEach, describe, expect, it } from 'vitest';
import { DatabaseSync } from 'node:sqlite';
import { Shell, Terminal } from './terminal.ts';

describe('the bench screen as a job of a shell', () => {
  let shell: Shell;
  afterEach(() => shell.end());

  it.each([
    ['a stop from outside', () => shell.signal('SIGTSTP')],
    ['Ctrl-Z', () => shell.keys('C-z')],
    ['a stop that it is not told of', () => shell.signal('SIGSTOP')],
  ])('comes back whole with fg after %s', async (name, stop) => {
    shell = new Shell(80, 24);
    await shell.shows(/prompt>/);
    shell.start();
    const before = await shell.shows(/Clip on the leads[\s\S]*space/);
    expect(shell.modes()).toBe('cursor 0, alternate 1');
    stop();
    await shell.shows(/Stopped/);
    if (!name.includes('not told')) {
      // The shell's own screen, with a cursor, and what is typed is seen.
      expect(shell.modes()).toBe('cursor 1, alternate 0');
      expect(await shell.shows(/Stopped[\s\S]*prompt>/)).not.toMatch(/Clip on the leads/);
      shell.keys('echo typ', 'ed', 'Enter');
      await shell.shows(/prompt> echo typed\ntyped/);
    }
    shell.record();
    shell.keys('fg', 'Enter');
    // All of it: after a stop that it is not told of, the old screen stands there with the shell's lines on it until it is drawn anew.
    await shell.shows(before);
    expect(shell.modes()).toBe('cursor 0, alternate 1');
    // Keys come one by one again, without Enter.
    shell.keys('Space');
    await shell.shows(/Touch the upper coil/);
    shell.keys('q');
    await shell.shows(/This test is not over: q again keeps it as broken off and quits/);
    shell.keys('q');
    await shell.shows(/prompt> $|prompt>\s*$/);
    expect(shell.modes()).toBe('cursor 1, alternate 0');
    // xterm's control sequences: 1049 is the alternate screen, which `fg` is to bring back once.
    expect(shell.written().split('\x1b[?1049h')).toHaveLength(2);
  });
});

describe('the bench screen in a terminal', () => {
  let terminal: Terminal;
  afterEach(() => terminal.end());

  it('80x24: from the press of the button to the verdict, keys as the hand, the test kept, the screen given back', async () => {
    terminal = new Terminal(80, 24);
    await terminal.shows(/press the button/i);
    terminal.keys('Space');
    expect(await terminal.shows(/Touch the upper coil/)).toMatch(/1 blue \(BU\)[ \d.a-z·[\]]*waiting|listening/);
    terminal.keys('t');
    await terminal.shows(/Touch the lower coil/);
    terminal.keys('t');
    await terminal.shows(/magnet probe at the upper/);
    terminal.keys('g');
    await terminal.shows(/magnet probe at the lower/);
    terminal.keys('g');
    const map = await terminal.shows(/GOOD/);
    expect(map).toMatch(/minus \d \w+, plus \d \w+/);
    expect(map).toMatch(/pole N/);
    terminal.keys('Tab', 'Tab');
    expect(await terminal.shows(/\[wiring\]/)).toContain('Always ground');
    terminal.keys('q');
    await terminal.shows(/ended with 0/);
    const database = new DatabaseSync(join(terminal.folder, 'tapstone', 'records.sqlite'));
    expect(database.prepare('SELECT verdict FROM tests').all()).toEqual([{ verdict: 'good' }]);
    database.close();
  });

  it.each(['SIGTERM', 'SIGHUP'] as const)('a test is kept as broken off when the program is told to end by %s, which asks nobody', async (name) => {
    const shell = new Shell(80, 24, '', '--seed 5');
    terminal = shell;
    shell.start();
    await shell.shows(/press the button/i);
    shell.keys('Space');
    await shell.shows(/Touch the upper coil/);
    shell.signal(name);
    await shell.shows(/(Terminated|Hangup)[\s\S]*prompt>/);
    expect(shell.modes()).toBe('cursor 1, alternate 0');
    const database = new DatabaseSync(join(shell.folder, 'tapstone', 'records.sqlite'));
    expect(database.prepare('SELECT is_broken FROM tests').all()).toEqual([{ is_broken: 1 }]);
    database.close();
  });

  it('NO_COLOR: no code that sets a colour; a variable CI changes nothing', async () => {
    terminal = new Terminal(120, 40, 'NO_COLOR=1 CI=1');
    await terminal.shows(/press the button/i);
    terminal.keys('Space');
    await terminal.shows(/Touch the upper coil/);
    expect(terminal.lines(true).join('\n')).not.toMatch(/\x1b\[[0-9;]*(3[0-8]|4[0-8]|9[0-7])m/);
  });

  it('works without the server that it shares, and says that tests are kept here', async () => {
    terminal = new Terminal(80, 24, 'TAPSTONE_RECORDS=postgres://bench@127.0.0.1:1/shop');
    const shown = await terminal.shows(/handed over later/);
    expect(shown.replace(/\s+/g, ' '))
      .toMatch(/the server of the records \(127\.0\.0\.1:1\/shop\): does not answer; .*Tests are kept here and handed over later\./);
    expect(shown).toMatch(/Clip on the leads/);
  });

  it('works where its records cannot be kept, and says so', async () => {
    terminal = new Terminal(80, 24, 'XDG_DATA_HOME=/dev/null');
    expect(await terminal.shows(/Clip on the leads/)).toMatch(/Tests are not kept: .*null/);
  });

  it('opens the file of its records once, for the bench and for the hand-over to a server alike', async () => {
    terminal = new Terminal(80, 24, 'TAPSTONE_RECORDS=postgres://bench@127.0.0.1:1/shop');
    await terminal.shows(/handed over later/);
    // The shell of the pane runs the program; Linux shows what that has open (proc(5)).
    const pid = execFileSync('pgrep', ['-P', terminal.fact('pane_pid')], { encoding: 'utf8' }).trim();
    const open = readdirSync(`/proc/${pid}/fd`).map((fd) => readlinkSync(`/proc/${pid}/fd/${fd}`));
    expect(open.filter((path) => path === join(terminal.folder, 'tapstone', 'records.sqlite'))).toHaveLength(1);
  });

  it('works beside a database of another program, says that the test is not kept, and leaves the file as it is', async () => {
    terminal = new Terminal(80, 24, '', '', '', ({ folder }) => {
      mkdirSync(join(folder, 'tapstone'));
      const database = new DatabaseSync(join(folder, 'tapstone', 'records.sqlite'));
      database.exec('CREATE TABLE birds (name TEXT)');
      database.close();
    });
    const folder = join(terminal.folder, 'tapstone');
    const before = readFileSync(join(folder, 'records.sqlite'));
    const unwrapped = (text: string): string => text.replace(/\s+/g, ' ');
    expect(unwrapped(await terminal.shows(/Clip on the leads/)))
      .toMatch(/Tests are not kept: .*records\.sqlite: is the database of another program/);
    terminal.keys('Space');
    await terminal.shows(/Touch the upper coil/);
    terminal.keys('c');
    expect(unwrapped(await terminal.shows(/UNSURE/))).toMatch(/This test is not kept: .*is the database of another program/);
    terminal.keys('q');
    await terminal.shows(/ended with 0/);
    expect(readdirSync(folder)).toEqual(['records.sqlite']);
    expect(readFileSync(join(folder, 'records.sqlite'))).toEqual(before);
  });

  it('reads records from the keyboard only after saying so', async () => {
    terminal = new Terminal(80, 24, '', 'solve -');
    await terminal.shows(/records are read from the keyboard; end them with Ctrl-D/);
    terminal.keys('C-d');
    await terminal.shows(/ended with 65/);
  });

  it('follows a terminal that is made smaller and larger, and cuts nothing off that has to be read', async () => {
    terminal = new Terminal(120, 40);
    await terminal.shows(/press the button/i);
    for (const [columns, rows] of [[60, 20], [40, 24], [80, 24], [120, 40]] as const) {
      terminal.resize(columns, rows);
      await pause(300);
      const text = await terminal.shows(/Clip on the leads[\s\S]*space/);
      expect(text.split('\n').length).toBeLessThanOrEqual(rows);
      expect(text.match(/Tapstone/g)).toHaveLength(1);
      expect(text.replace(/\s+/g, ' ')).toContain('Clip on the leads, then press the button (space).');
    }
  });

  it('a long press cancels, what was measured stays, and the button begins again', async () => {
    terminal = new Terminal(80, 24);
    await terminal.shows(/press the button/i);
    terminal.keys('Space');
    await terminal.shows(/Touch the upper coil/);
    terminal.keys('c');
    expect(await terminal.shows(/UNSURE/)).toMatch(/coil 1 .*ohm/);
    terminal.keys('Space');
    await terminal.shows(/Touch the upper coil/);
  });
});
