/** The command line: help, exit codes, order, and nothing on standard output but the result. */
import { execFile, spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { afterAll, describe, expect, it } from 'vitest';
import { HELP } from '../../host/src/cli/help.ts';
import { exampleRecord } from '../../host/src/files/example-files.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import { tapstone } from './run-program.ts';

const folder = mkdtempSync(join(tmpdir(), 'tapstone-'));
afterAll(() => rmSync(folder, { recursive: true }));

function file(name: string, text: string): string {
  const path = join(folder, name);
  writeFileSync(path, text);
  return path;
}

/** A record whose map tells which one it was: the resistance is the number. */
function numbered(ohm: number): string {
  return JSON.stringify({
    format: 'bench/1',
    clips: [{ clip: 1 }, { clip: 2 }],
    resistances: [{ a: 1, b: 2, ohm }],
  });
}

/** The numbers of the records whose maps were printed, or the message of a refusal. */
function told(out: string): (number | string)[] {
  return out
    .trimEnd()
    .split('\n')
    .map((line) => {
      const map = JSON.parse(line);
      return map.format === 'error/1' ? map.message : map.coils[0].ohm;
    });
}

describe('a misspelt field', () => {
  it('is told on standard error, and the record is solved all the same', async () => {
    const record = file('misspelt.bench.json', JSON.stringify({ ...JSON.parse(numbered(4100)), observd: [] }));
    const { code, out, err } = await tapstone(['solve', record, '--json']);
    expect([code, told(out)]).toEqual([0, [4100]]);
    expect(err).toBe(`${record}: warning: observd: no such field, so it is ignored; did you mean observed?\n`);
  });
});

describe('help', () => {
  it('leads with examples and documents every exit code', async () => {
    const { code, out, err } = await tapstone(['--help']);
    expect([code, err]).toEqual([0, '']);
    expect(out.split('\n').slice(0, 2)).toEqual(['Usage: tapstone [COMMAND]', '']);
    expect(out.split('\n')[2]).toMatch(/^ {2}tapstone +the screens, from the bench on$/);
    for (const line of out.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
    for (const exit of [
      '0 done',
      '64 usage',
      '65 bad content',
      '66 no such file, number, test or lot',
      '69 no tester, no records server, no\n  printing command or too old a Node.js',
      '70 our bug',
      '74 cannot write',
    ]) {
      expect(out).toContain(exit);
    }
  });

  it.each(['solve', 'rehearse', 'positions', 'plan', 'records', 'check', 'calibrate', 'flash'])(
    'is there for %s, whatever else stands on the line',
    async (command) => {
      const { code, out, err } = await tapstone([command, '--nonsense', '-h']);
      expect([code, err]).toEqual([0, '']);
      expect(out).toMatch(new RegExp(`^Usage: tapstone ${command} `));
    },
  );

  it('is printed by the installed program, from the bundle or from the sources', async () => {
    const program = fileURLToPath(new URL('../../host/bin/tapstone.js', import.meta.url));
    const { stdout } = await promisify(execFile)(process.execPath, [program, '--help']);
    expect(stdout).toBe(HELP);
  });

  it('tells the version of package.json', async () => {
    const { version } = JSON.parse(
      readFileSync(new URL('../../package.json', import.meta.url), 'utf8'),
    );
    expect(await tapstone(['--version'])).toMatchObject({
      code: 0,
      out: `tapstone ${version}\n`,
      err: '',
    });
  });
});

describe('a command line that is not understood', () => {
  const cases: [string[], string][] = [
    [['slove', 'x'], 'tapstone: command slove is not known; did you mean solve?'],
    [
      ['frobnicate'],
      'tapstone: command frobnicate is not known; expected one of solve, enter, rehearse, positions, plan, proof, harness, draw, records, stock, lot, label, listing, sheet, check, calibrate, flash',
    ],
    [['solve', '--jsno', 'x'], 'tapstone solve: option --jsno is not known; did you mean --json?'],
    [['solve', '--json', '--json', 'x'], 'tapstone solve: --json is given twice; expected once'],
    [['solve', '--json=1', 'x'], 'tapstone solve: --json takes no value; write --json alone'],
    [
      ['solve'],
      'tapstone solve: no file is named; write tapstone solve FILE, or - for standard input',
    ],
    [['rehearse'], 'tapstone rehearse: no file is named; write tapstone rehearse FILE.pickup.json'],
    [['rehearse', 'a', 'b'], 'tapstone rehearse: b is one file too many; expected one pickup or one harness'],
    [
      ['rehearse', 'a', '--twin', 'bord'],
      'tapstone rehearse: --twin bord is not known; did you mean board?',
    ],
    [
      ['rehearse', 'a', '--seed', '-1'],
      'tapstone rehearse: --seed -1 is not a seed; expected a whole number, 0 to 4294967295',
    ],
    [['positions'], 'tapstone positions: no file is named; write tapstone positions FILE.harness.json'],
    [['plan', 'a', 'b'], 'tapstone plan: b is one file too many; expected one harness'],
    [['plan', 'a', '--allow', 'magnets'], 'tapstone plan: --allow magnets is not known; did you mean magnet?'],
    [['plan', 'a', '--allow', 'way', '--allow'], 'tapstone plan: --allow needs a value; write --allow way|magnet'],
    [['rehearse', 'a', '--seed'], 'tapstone rehearse: --seed needs a value; write --seed N'],
    [['solve', '-b.json'], 'tapstone solve: option -b.json is not known; a file of this name is written ./-b.json'],
    [['--json', 'solve', 'x'], 'tapstone: options of solve stand after it; write tapstone solve --json'],
    ...['again', 'follow', 'hand-over', 'prepare'].map((word): [string[], string] => [
      ['records', word, 'x.jsonl'], `tapstone records ${word}: x.jsonl is not expected here; expected options only`]),
    [['records', 'follow', '--json', '--csv'], 'tapstone records follow: --json and --csv exclude each other; expected one of them'],
    [['records', '1', '--csv'], 'tapstone records 1: --csv is for lists; expected --json or no option'],
    [['stock', '0001', '--state', 'sold'], 'tapstone stock 0001: --state is for lists; expected --json or no option'],
    [['stock', '0001', '--csv'], 'tapstone stock 0001: --csv is for lists; expected --json or no option'],
    [['stock', 'state', '0001', '--json', 'sold'], 'tapstone stock state: --json is for lists; expected no option'],
    [['stock', '--state', 'GOOD'], 'tapstone stock: --state: "GOOD" is no state; did you mean good?'],
    [['lot', '--json', '--csv'], 'tapstone lot: --json and --csv exclude each other; expected one of them'],
    [['--verson'], 'tapstone: option --verson is not known; did you mean --version?'],
    [
      ['solve', '--x\x1b[2J'],
      'tapstone solve: option --x\\x1b[2J is not known; expected one of --all-ways, --json, --help',
    ],
  ];
  it.each(cases)('%j is told in one line, exit code 64', async (args, line) => {
    expect(await tapstone(args)).toMatchObject({ code: 64, out: '', err: `${line}\n` });
  });
});

describe('solve', () => {
  it('prints one line for each record, in order, whatever file it came from', async () => {
    const lines = file('lines.jsonl', `${numbered(5000)}\n${numbered(6000)}\n\n${numbered(7000)}`);
    const pretty = file('pretty.json', JSON.stringify(JSON.parse(numbered(8000)), null, 2));
    const { code, out, err } = await tapstone(['solve', lines, '-', pretty, '--json'], {
      input: numbered(4000),
    });
    expect([code, err]).toEqual([0, '']);
    expect(told(out)).toEqual([5000, 6000, 7000, 4000, 8000]);
  });

  it('keeps the order of a large input that worker threads share', async () => {
    const numbers = Array.from({ length: 60_000 }, (_, index) => 1000 + index);
    const path = file('large.jsonl', numbers.map(numbered).join('\n'));
    const { code, out, err } = await tapstone(['solve', '--json', path]);
    expect([code, err]).toEqual([0, '']);
    expect(told(out)).toEqual(numbers);
  });

  it('solves the good ones beside a bad one, which has its line in both streams, exit code 65', async () => {
    const bad =
      '{"format":"bench/1","clips":[{"clip":1},{"clip":2}],"resistances":[{"a":1,"b":2,"ohm":"NaN"}]}';
    const path = file('mixed.jsonl', `${numbered(5000)}\n${bad}\n${numbered(6000)}\n`);
    const { code, out, err } = await tapstone(['solve', path, '--json']);
    const message = 'resistances[0].ohm: "NaN" is not a number; expected ohms, 0 or more, or null';
    expect(code).toBe(65);
    expect(err).toBe(`${path}:2: ${message}\n`);
    expect(told(out)).toEqual([5000, message, 6000]);
    expect(JSON.parse(out.split('\n')[1] ?? '')).toEqual({
      format: 'error/1',
      source: `${path}:2`,
      message,
    });
  });

  it('goes on after a file that is not there, exit code 66', async () => {
    const good = file('good.json', numbered(5000));
    const { code, out, err } = await tapstone([
      'solve',
      join(folder, 'nowhere.json'),
      good,
      '--json',
    ]);
    expect(code).toBe(66);
    expect(err).toBe(
      `${join(folder, 'nowhere.json')}: no such file; expected the path of a file\n`,
    );
    expect(told(out)).toEqual(['no such file; expected the path of a file', 5000]);
  });

  it('sees a name that is empty, and a folder at its standard input', async () => {
    for (const args of [['solve', ''], ['records', 'import', ''], ['rehearse', '']])
      expect(await tapstone(args)).toMatchObject({ code: 66, err: '"": no such file; expected the path of a file\n' });
    const main = new URL('../../host/src/main.ts', import.meta.url).pathname;
    const told = spawnSync('sh', ['-c', '"$0" "$1" solve - < "$2"', process.execPath, main, folder], { encoding: 'utf8' });
    expect([told.status, told.stderr]).toEqual([66, '-: this is a folder; expected a file\n']);
  });

  it('goes on where nobody takes what it says beside its results', async () => {
    const mixed = file('mixed.jsonl', [numbered(5000), '{', numbered(6000)].join('\n'));
    const main = new URL('../../host/src/main.ts', import.meta.url).pathname;
    for (const away of ['2>&-', '2>/dev/full']) {
      const run = spawnSync('sh', ['-c', `"$0" "$1" solve --json "$2" ${away}`, process.execPath, main, mixed], { encoding: 'utf8' });
      expect([run.status, run.stdout.trimEnd().split('\n').length]).toEqual([65, 3]);
    }
  });

  it('takes a file whose name looks like an option after --', async () => {
    const { code, err } = await tapstone(['solve', '--json', '--', '--json']);
    expect([code, err]).toEqual([66, '--json: no such file; expected the path of a file\n']);
  });

  it('prints a readable map for people, without escape sequences', async () => {
    const { code, out } = await tapstone(['solve', '-'], {
      input: JSON.stringify(exampleRecord()),
      environment: { NO_COLOR: '1', FORCE_COLOR: '' },
    });
    expect(code).toBe(0);
    expect(out).toContain('blue (BU)');
    expect(out).toContain('\nWiring\n');
    expect(out).toContain('\nCautions\n');
    expect(/[^\n\x20-\x7e]/.test(out)).toBe(false);
    expect(Math.max(...out.split('\n').map((line) => line.length))).toBeLessThanOrEqual(80);
  });

  it('ends quietly when the reader of its output goes away', async () => {
    const { code, err } = await new Promise<{ code: number | null; err: string }>((resolve) => {
      const path = file(
        'long.jsonl',
        Array.from({ length: 20_000 }, () => numbered(5000)).join('\n'),
      );
      void import('node:child_process').then(({ spawn }) => {
        const main = new URL('../../host/src/main.ts', import.meta.url).pathname;
        const child = spawn(process.execPath, [main, 'solve', '--json', path]);
        let text = '';
        child.stderr.setEncoding('utf8').on('data', (more: string) => (text += more));
        child.stdout.once('data', () => child.stdout.destroy());
        child.on('close', (status) => resolve({ code: status, err: text }));
      });
    });
    expect([code, err]).toEqual([74, '']);
  });
});

describe('rehearse', () => {
  const pickup = file('demo.pickup.json', JSON.stringify(demoLot[0]));

  it('prints one line of JSON, writes a whole record, and solving that gives the same line', async () => {
    const record = join(folder, 'demo.bench.json');
    const first = await tapstone(['rehearse', pickup, '--seed', '7', '--json', '--record', record]);
    expect([first.code, first.err]).toEqual([0, '']);
    const again = await tapstone(['solve', record, '--json']);
    expect(again).toMatchObject({ code: 0, out: first.out, err: '' });
    expect(readdirSync(folder).filter((name) => name.endsWith('.part'))).toEqual([]);
  });

  it('finds the leads of a sound pickup whose truth is known', async () => {
    const { out } = await tapstone(['rehearse', pickup, '--seed', '0x2a', '--json']);
    const map = JSON.parse(out);
    expect(map.verdict).toBe('good');
    const ends = map.coils.map((coil: { ends: number[] }) => coil.ends);
    const truth = demoLot[0]?.coils.map(({ from, to }) =>
      (demoLot[0]?.leads ?? [])
        .filter(({ node }) => node === from || node === to)
        .map(({ clip }) => clip)
        .sort(),
    );
    expect(ends).toEqual(expect.arrayContaining(truth ?? []));
    expect(ends).toHaveLength(truth?.length ?? -1);
  });

  it('gives the bench without a screen the same noise and hand for the same seed', async () => {
    const [first, again] = await Promise.all(['3', '3'].map((seed) => tapstone(['--seed', seed])));
    expect(first!.out).toMatch(/^GOOD/);
    expect(again!.out).toBe(first!.out);
    expect(await tapstone(['--seed', 'x'])).toMatchObject({
      code: 64, err: 'tapstone: --seed x is not a seed; expected a whole number, 0 to 4294967295\n',
    });
  });

  it('gives the same bytes for the same seed, and prints the seed that it drew', async () => {
    const [a, b] = await Promise.all(
      [1, 2].map(() => tapstone(['rehearse', pickup, '--seed', '3', '--json'])),
    );
    expect(a?.out).toBe(b?.out);
    expect((await tapstone(['rehearse', pickup, '--json'])).err).toMatch(/^seed \d+\n$/);
  });

  it('does not leave half a record where it cannot write, exit code 74', async () => {
    const { code, out, err } = await tapstone([
      'rehearse',
      pickup,
      '--seed',
      '1',
      '--json',
      '--record',
      join(folder, 'none', 'x.json'),
    ]);
    expect([code, out]).toEqual([74, '']);
    expect(err).toBe(
      `${join(folder, 'none', 'x.json')}: cannot be written: its folder does not exist\n`,
    );
  });
});

describe('a data folder that cannot be used', () => {
  it('is told in one line that names it, not as a fault of the program', async () => {
    const plain = file('a-file', 'in the way');
    const made = await tapstone(['records'], { environment: { XDG_DATA_HOME: plain } });
    expect(made).toMatchObject({
      code: 66, out: '', err: `${join(plain, 'tapstone', 'records.sqlite')}: no such file; expected the path of a file\n`,
    });
    mkdirSync(join(folder, 'tapstone'), { recursive: true });
    const other = file(join('tapstone', 'records.sqlite'), 'not ours, and long enough to be looked at');
    expect(await tapstone(['records'], { environment: { XDG_DATA_HOME: folder } })).toMatchObject({
      code: 65,
      err: `${other}: holds no records of tapstone; expected its database. Move the file away and start again\n`,
    });
  });
});

describe('without arguments and without a terminal', () => {
  it('tests the first pickup of the lot and prints its map', async () => {
    const { code, out, err } = await tapstone([]);
    expect(code).toBe(0);
    expect(err).toContain('"tapstone --help" tells what else there is');
    expect(out).toContain('\nWiring\n');
  });
});
