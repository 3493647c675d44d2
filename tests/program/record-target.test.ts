/** `--record` onto what is no plain file of its own: a device, a pipe, a link, the pickup itself. */
import { execFileSync, spawn } from 'node:child_process';
import {
  chmodSync, copyFileSync, linkSync, lstatSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, readlinkSync, rmSync, statSync,
  symlinkSync, writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { writeWhole } from '../../host/src/edge/files.ts';
import { examplePickup } from '../../host/src/files/example-files.ts';
import { tapstone } from './run-program.ts';

const MAIN = fileURLToPath(new URL('../../host/src/main.ts', import.meta.url));

let folder: string;
let pickup: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'tapstone-record-'));
  pickup = join(folder, 'demo.pickup.json');
  writeFileSync(pickup, JSON.stringify(examplePickup()));
});
afterEach(() => rmSync(folder, { recursive: true }));

const rehearse = (record: string, input = pickup, text = ''): ReturnType<typeof tapstone> =>
  tapstone(['rehearse', input, '--seed', '1', '--json', '--record', record], { input: text });

/** One of its own: where a test fails, root would replace the machine's. */
function nullDevice(): string {
  if (process.getuid?.() !== 0) return '/dev/null';
  execFileSync('mknod', [join(folder, 'null'), 'c', '1', '3']);
  return join(folder, 'null');
}

describe('a record that is written', () => {
  it('to a device goes through it, and the device stays one', async () => {
    const device = nullDevice();
    expect(await rehearse(device)).toMatchObject({ code: 0, err: '' });
    expect(lstatSync(device).isCharacterDevice()).toBe(true);
    expect(readdirSync(folder).filter((name) => name.includes('.part'))).toEqual([]);
  });

  it('to a pipe reaches its reader, and the pipe stays one', async () => {
    const pipe = join(folder, 'pipe');
    execFileSync('mkfifo', [pipe]);
    const reader = spawn('cat', [pipe]);
    let read = '';
    reader.stdout.setEncoding('utf8').on('data', (text: string) => (read += text));
    const closed = new Promise((resolve) => reader.on('close', resolve));
    expect(await rehearse(pipe)).toMatchObject({ code: 0, err: '' });
    await closed;
    expect(JSON.parse(read)).toMatchObject({ format: 'bench/1' });
    expect(lstatSync(pipe).isFIFO()).toBe(true);
  });

  it('by way of links changes the file they lead to, its permissions kept, and the links stay', async () => {
    mkdirSync(join(folder, 'far'));
    const target = join(folder, 'far', 'real.bench.json');
    writeFileSync(target, 'old');
    chmodSync(target, 0o640);
    symlinkSync('far/real.bench.json', join(folder, 'near'));
    symlinkSync('near', join(folder, 'link'));
    await writeWhole(join(folder, 'link'), 'new');
    expect(readlinkSync(join(folder, 'link'))).toBe('near');
    expect(readFileSync(target, 'utf8')).toBe('new');
    expect(statSync(target).mode & 0o777).toBe(0o640);
    expect(readdirSync(join(folder, 'far'))).toEqual(['real.bench.json']);
  });

  it('by way of a link that leads to no file yet makes that file', async () => {
    symlinkSync('later.json', join(folder, 'link'));
    await writeWhole(join(folder, 'link'), 'new');
    expect(readlinkSync(join(folder, 'link'))).toBe('later.json');
    expect(readFileSync(join(folder, 'later.json'), 'utf8')).toBe('new');
  });

  it('by way of a link that leads to itself is told', async () => {
    symlinkSync('loop', join(folder, 'loop'));
    expect(await rehearse(join(folder, 'loop'))).toMatchObject({
      code: 74,
      err: `${join(folder, 'loop')}: cannot be written: links here lead to each other in a circle\n`,
    });
  });

  it('to standard output, which goes to a file, stands there before the map', async () => {
    const out = join(folder, 'both.jsonl');
    // As /dev/stdout does, which root would replace where this fails.
    symlinkSync('/proc/self/fd/1', join(folder, 'stdout'));
    const line = `'${process.execPath}' '${MAIN}' rehearse '${pickup}' --seed 1 --json --record '${folder}/stdout' > '${out}'`;
    execFileSync('sh', ['-c', line]);
    const formats = readFileSync(out, 'utf8').trimEnd().split('\n').map((text) => JSON.parse(text).format);
    expect(formats).toEqual(['bench/1', 'wiremap/1']);
  });
});

describe('a record that would overwrite the pickup it comes from', () => {
  const refused = (record: string): object => ({
    code: 64, out: '', err: `tapstone rehearse: --record ${record} is the file that is rehearsed; name another\n`,
  });

  it('is refused before the test, by its own name, a link of either kind, or another way to it', async () => {
    const before = readFileSync(pickup, 'utf8');
    symlinkSync('demo.pickup.json', join(folder, 'soft'));
    linkSync(pickup, join(folder, 'hard'));
    for (const name of [pickup, join(folder, 'soft'), join(folder, 'hard'), `${folder}/./demo.pickup.json`]) {
      expect(await rehearse(name)).toMatchObject(refused(name));
    }
    expect(readFileSync(pickup, 'utf8')).toBe(before);
  });

  it('is refused when the pickup comes by standard input', () => {
    const line = `'${process.execPath}' '${MAIN}' rehearse - --seed 1 --record '${pickup}' < '${pickup}' 2>&1; echo $?`;
    expect(execFileSync('sh', ['-c', line], { encoding: 'utf8' })).toBe(
      `tapstone rehearse: --record ${pickup} is the file that is rehearsed; name another\n64\n`);
    expect(readFileSync(pickup, 'utf8')).toBe(JSON.stringify(examplePickup()));
  });

  it('is refused of a harness where it is a wire map of it or a pickup behind it', async () => {
    const examples = fileURLToPath(new URL('../../hardware-notes/examples/harness/', import.meta.url));
    for (const name of readdirSync(examples)) copyFileSync(join(examples, name), join(folder, name));
    const harness = readdirSync(folder).find((name) => name.endsWith('.harness.json'))!;
    const { fitted: [{ slot, map }] } = JSON.parse(readFileSync(join(folder, harness), 'utf8')) as { fitted: { slot: string; map: string }[] };
    const whole = join(folder, harness);
    for (const name of [join(folder, map), pickup]) {
      const before = readFileSync(name, 'utf8');
      expect(await tapstone(['rehearse', whole, '--seed', '1', '--pickup', `${slot}=${pickup}`, '--record', name])).toMatchObject({
        code: 64, out: '', err: `tapstone rehearse: --record ${name} is one of the files that are read; name another file\n`,
      });
      expect(readFileSync(name, 'utf8')).toBe(before);
    }
    expect(await tapstone(['harness', whole, '--out', join(folder, map)])).toMatchObject({
      code: 64, err: `tapstone harness: --out ${join(folder, map)} is one of the files that are read; name another file\n`,
    });
  });

  it('is not, when it goes to a device', async () => {
    expect(await rehearse(nullDevice(), '-', JSON.stringify(examplePickup()))).toMatchObject({ code: 0 });
  });
});
