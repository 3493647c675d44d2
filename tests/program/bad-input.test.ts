/** Bad files, as a user meets them: one sentence each, the documented exit code, no stack trace, bounded memory. */
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { examplePickup, exampleRecord } from '../../host/src/files/example-files.ts';
import { tapstone } from './run-program.ts';

const folder = mkdtempSync(join(tmpdir(), 'tapstone-bad-'));
afterAll(() => rmSync(folder, { recursive: true }));
mkdirSync(join(folder, 'folder.json'));

/** Bytes for a file, made when they are needed. */
type Content = () => string | Uint8Array | null;

function spoilt(
  example: () => Record<string, any>,
  spoil: (document: Record<string, any>) => void,
): Content {
  return () => {
    const document = example();
    spoil(document);
    return JSON.stringify(document);
  };
}

const record = (spoil: (document: Record<string, any>) => void): Content =>
  spoilt(exampleRecord, spoil);
const pickup = (spoil: (document: Record<string, any>) => void): Content =>
  spoilt(examplePickup, spoil);
const DEEP = `${'['.repeat(100_000)}${']'.repeat(100_000)}`;

/** Name, content (null: as it lies), sentence after the file's name, exit code. */
const RECORDS: [string, Content, string, number][] = [
  ['missing.json', () => null, 'no such file; expected the path of a file', 66],
  ['folder.json', () => null, 'this is a folder; expected a file', 66],
  ['empty.json', () => '', 'empty; expected a JSON object', 65],
  [
    'truncated.json',
    () => JSON.stringify(exampleRecord()).slice(0, 700),
    'resistances[8].above_ohm: the text ends here, at character 700; expected a comma or } (is the file cut short?)',
    65,
  ],
  [
    'latin1.json',
    () => Buffer.from('{"format":"bench/1","title":"\xe4"}', 'latin1'),
    'byte 29 is 0xe4, which is not UTF-8; expected JSON in UTF-8',
    65,
  ],
  [
    'utf16.json',
    () => Buffer.from('\ufeff{}', 'utf16le'),
    'byte 0 is 0xff, which is not UTF-8; expected JSON in UTF-8',
    65,
  ],
  [
    'text.json',
    () => 'clip,ohm\n1,2\n',
    '"clip" at line 1, column 1 is not JSON; expected a value',
    65,
  ],
  [
    'bare-nan.json',
    () => '{"format":"bench/1","clips":[{"clip":1}],"resistances":[{"a":1,"b":2,"ohm":NaN}]}',
    'resistances[0].ohm: "NaN" at line 1, column 76 is not JSON; expected a value',
    65,
  ],
  [
    'pickup.json',
    () => JSON.stringify(examplePickup()),
    'format: "pickup/1"; expected "bench/1"',
    65,
  ],
  [
    'field.json',
    record((r) => delete r.clips),
    'clips: missing; expected a list of 1 to 6 clips',
    65,
  ],
  [
    'infinity.json',
    record((r) => (r.resistances[0].u_ohm = 'Infinity')),
    'resistances[0].u_ohm: "Infinity" is not a number; expected ohms, 0 or more',
    65,
  ],
  [
    'huge.json',
    record((r) => (r.resistances[0].ohm = 1e308)),
    'resistances[0].ohm: 1e+308 is more than 1000000000000; expected ohms, 0 to 1000000000000, or null',
    65,
  ],
  [
    'negative.json',
    record((r) => (r.resistances[0].ohm = -1)),
    'resistances[0].ohm: -1 is negative; expected ohms, 0 or more, or null',
    65,
  ],
  [
    'double.json',
    record((r) => r.clips.push({ clip: 5 })),
    'clips[5].clip: 5 is listed twice; expected each clip once',
    65,
  ],
  [
    'seven.json',
    record((r) => (r.clips = [1, 2, 3, 4, 5, 6, 7].map((clip) => ({ clip })))),
    'clips: a list of 7; expected a list of 1 to 6 clips',
    65,
  ],
  [
    'unequal.json',
    record((r) => r.touches[0].channels[0].volts_V.pop()),
    'touches[0].channels[1].volts_V: 3 samples; expected 2, as many as in channels[0]',
    65,
  ],
  [
    'samples.json',
    () =>
      JSON.stringify(exampleRecord()).replace(
        '[0,0.0001,null]',
        `[${'0.0001,'.repeat(9_999_999)}0]`,
      ),
    'touches[0].channels[0].volts_V: a list of 10000000; expected a list of 1 to 1000000 volts or null',
    65,
  ],
  [
    'deep.json',
    () => DEEP,
    'a list of 1 where a record was to be; expected a bench record, an object with "format": "bench/1"',
    65,
  ],
  [
    'deep-field.json',
    () => JSON.stringify(exampleRecord()).replace('{', `{"mine":${DEEP},`),
    'mine: nested more than 64 deep; expected at most 64 levels',
    65,
  ],
  [
    'deep-open.json',
    () => `{"mine":${'['.repeat(100_000)}`,
    'mine[0][0][0][0][0][0][0][0][0][0][0]...: the text ends here, at character 100008; expected a value (is the file cut short?)',
    65,
  ],
  [
    'brackets.json',
    () => '['.repeat(3_000_000),
    'more than 200000 lists and objects in one record; expected at most 200000',
    65,
  ],
  [
    'proto.json',
    () => '{"__proto__":{"format":"bench/1","clips":[{"clip":1}],"resistances":[]}}',
    'format: missing; expected "bench/1"',
    65,
  ],
  [
    'escape.json',
    record((r) => (r.resistances[0].ohm = '\x1b]0;x\x07\u202e')),
    'resistances[0].ohm: "\\x1b]0;x\\x07\\u{202e}" is not a number; expected ohms, 0 or more, or null',
    65,
  ],
];

const PICKUPS: [string, Content, string, number][] = [
  ['missing.json', () => null, 'no such file; expected the path of a file', 66],
  ['folder.json', () => null, 'this is a folder; expected a file', 66],
  ['p-empty.json', () => '', 'empty; expected a JSON object', 65],
  [
    'p-format.json',
    () => JSON.stringify(exampleRecord()),
    'format: "bench/1"; expected "pickup/1"',
    65,
  ],
  [
    'p-lines.json',
    () => `${JSON.stringify(examplePickup())}\n${JSON.stringify(examplePickup())}`,
    'several JSON documents, one a line; expected one document',
    65,
  ],
  [
    'p-node.json',
    pickup((p) => (p.leads[0].node = 'nowhere')),
    'leads[0].node: "nowhere" leads nowhere; expected an end of a coil, coil@fraction, "chassis", or null for a lead that is connected to nothing',
    65,
  ],
  [
    'p-none.json',
    pickup((p) => (p.leads = [])),
    'leads: an empty list; expected a list of 1 to 6 leads',
    65,
  ],
  [
    'p-huge.json',
    pickup((p) => (p.coils[0].inductance_H = 1e308)),
    'coils[0].inductance_H: 1e+308 is more than 10000; expected henries, above 0 and up to 10000',
    65,
  ],
  [
    'p-deep.json',
    () => `{"format":"pickup/1","x":${DEEP}}`,
    'x: nested more than 64 deep; expected at most 64 levels',
    65,
  ],
  [
    'p-text.json',
    pickup((p) => (p.coils[1].resistance_ohm_20C = '4k1')),
    'coils[1].resistance_ohm_20C: "4k1" is not a number; expected ohms above 0',
    65,
  ],
];

function place(name: string, content: Content): string {
  const bytes = content();
  const path = join(folder, name);
  if (bytes !== null) writeFileSync(path, bytes);
  return path;
}

describe('a bad bench record', () => {
  it.each(RECORDS)('%s is refused in one sentence', async (name, content, sentence, exit) => {
    const path = place(name, content);
    const { code, out, err } = await tapstone(['solve', path]);
    expect({ code, out, err }).toEqual({ code: exit, out: '', err: `${path}: ${sentence}\n` });
  });

  it('does not keep the good ones from being solved, in order', async () => {
    const good = place(
      'good.json',
      record(() => undefined),
    );
    const bad = RECORDS.filter(([name]) => name !== 'samples.json').map(([name]) =>
      join(folder, name),
    );
    const { code, out, err } = await tapstone([
      'solve',
      '--json',
      ...bad.flatMap((path) => [path, good]),
    ]);
    const formats = out
      .trimEnd()
      .split('\n')
      .map((line) => JSON.parse(line).format);
    expect(code).toBe(65);
    expect(formats).toEqual(bad.flatMap(() => ['error/1', 'wiremap/1']));
    expect(err.trimEnd().split('\n')).toHaveLength(bad.length);
  });
});

describe('a bad pickup', () => {
  it.each(PICKUPS)('%s is refused in one sentence', async (name, content, sentence, exit) => {
    const path = place(name, content);
    const { code, out, err } = await tapstone(['rehearse', path, '--json']);
    expect({ code, out, err }).toEqual({ code: exit, out: '', err: `${path}: ${sentence}\n` });
  });
});

describe('a name that stands twice', () => {
  const twice = (text: string, after: RegExp, more: string): string => text.replace(after, (found) => found + more);
  const bench = twice(JSON.stringify(exampleRecord()), /"inductances":\[\{/, '"plus":2,');
  const sentence = (path: string, field: string): string => `${path}: ${field}: stands twice; expected each name once\n`;

  it('is refused in every record, map, pickup and setting, not taken as the last of them', async () => {
    const lines = place('twice.jsonl', () => `${JSON.stringify(exampleRecord())}\n${bench}\n`);
    expect(await tapstone(['solve', lines])).toMatchObject({ code: 65, err: sentence(`${lines}:2`, 'inductances[0].plus') });
    const imported = await tapstone(['records', 'import', lines], { environment: { XDG_DATA_HOME: join(folder, 'twice') } });
    expect(imported).toMatchObject({ code: 65, out: '1 taken, 0 here already\n', err: sentence(`${lines}:2`, 'inductances[0].plus') });
    const spelt = place('twice.pickup.json', () => twice(JSON.stringify(examplePickup()), /"leads":\[\{/, '"n\\u006fde":null,'));
    expect(await tapstone(['rehearse', spelt])).toMatchObject({ code: 65, err: sentence(spelt, 'leads[0].node') });
    const settings = { XDG_CONFIG_HOME: join(folder, 'config') };
    mkdirSync(join(folder, 'config', 'tapstone'), { recursive: true });
    const path = place('config/tapstone/settings.json', () => '{"format":"settings/1","label":"50x30","label":"62x29"}');
    expect(await tapstone(['label', '0001', '--out', 'x.pdf'], { environment: settings })).toMatchObject({
      code: 65, err: `tapstone label: ${sentence(path, 'label')}`,
    });
  });

  it('is refused in what a harness names, and in a record of its jack', async () => {
    const map = place('twice.wiremap.json', () => '{"format":"wiremap/1","verdict":"good","coils":[{"name":"A","ends":[1,2],"minus":1,"minus":2}]}');
    const harness = place('twice.harness.json', () => JSON.stringify({
      format: 'harness/1', slots: [{ slot: 'neck', hot: 'a', ground: 'b', frame: 'b' }], switches: [], output: { hot: 'a', ground: 'b' },
      fitted: [{ slot: 'neck', map: 'twice.wiremap.json', leads: { 1: 'a', 2: 'b' } }],
    }));
    const told = await tapstone(['positions', harness]);
    expect(told).toMatchObject({ code: 65, err: `${harness}: fitted[0].map: ${sentence('twice.wiremap.json', 'coils[0].minus')}` });
    expect((await tapstone(['draw', map, '--out', join(folder, 'x.svg')])).err).toBe(sentence(map, 'coils[0].minus'));
    const empty = place('none.harness.json', () => JSON.stringify({
      format: 'harness/1', slots: [], switches: [], output: { hot: 'a', ground: 'b' }, fitted: [],
    }));
    const jack = place('twice.bench.json', () => bench);
    expect(await tapstone(['proof', empty, jack])).toMatchObject({ code: 65, err: sentence(jack, 'inductances[0].plus') });
  });
});

describe('lines that are hard to read', () => {
  it('are refused one by one, and the others are solved', async () => {
    const good = JSON.stringify(exampleRecord());
    let names = '{"format":"bench/1"';
    for (let n = 0; n < 2_000_000; n += 1) names += `,"${n.toString(36)}":0`;
    const path = place('hard.jsonl', () => [
      good, `{"mine":"${'x'.repeat(9 << 20)}\x01"}`, good, `${names}}`, good, `{"mine":"${'\\n'.repeat(9 << 20)}\\q`, good,
    ].join('\n'));
    const { code, out, err } = await tapstone(['solve', '--json', path]);
    expect(err.trimEnd().split('\n')).toEqual([
      `${path}:2: mine: "\\x01" at line 1, column 9437194 is not JSON; expected \\u0001 for this character`,
      `${path}:4: more than 500000 fields in one record; expected at most 500000`,
      `${path}:6: mine: "\\q" at line 1, column 18874378 is not JSON; expected an escape such as \\n or \\u001b`,
    ]);
    const formats = out.trimEnd().split('\n').map((line) => JSON.parse(line).format);
    expect(formats).toEqual(['wiremap/1', 'error/1', 'wiremap/1', 'error/1', 'wiremap/1', 'error/1', 'wiremap/1']);
    expect(code).toBe(65);
  });
});

describe('a file without an end', () => {
  it.each([
    [['flash', '/dev/zero'], '/dev/zero: more than 32 MiB; expected a UF2 file of the firmware, which is smaller'],
    [['rehearse', '/dev/zero'], '/dev/zero: more than 16 MiB in one record; expected at most 16 MiB'],
    [['solve', '/dev/zero'], '/dev/zero: more than 128 MiB in one record; expected at most 128 MiB'],
  ])('%j is refused where its limit is', async (args, sentence) => {
    expect(await tapstone(args)).toMatchObject({ code: 65, out: '', err: `${sentence}\n` });
  });
});

describe('more JSON lines than memory should hold', () => {
  // Ten kilobytes each, most of them a field that is not ours.
  const line = Buffer.from(`${JSON.stringify({ ...exampleRecord(), mine: 'x'.repeat(9000) })}\n`);
  const LONG_bytes = 130 << 20;

  /** Records, a line beyond the limit, records again: 155 MB in all. */
  function* pieces(): Generator<Uint8Array> {
    const hundred = Buffer.concat(new Array<Buffer>(100).fill(line));
    for (let block = 0; block < 20; block++) yield hundred;
    const blanks = Buffer.alloc(1 << 20, ' ');
    for (let given = 0; given < LONG_bytes; given += blanks.length) yield blanks;
    yield Buffer.from('{}\n');
    for (let block = 0; block < 5; block++) yield hundred;
  }

  it('are solved as they come, and a line beyond the limit is refused without being kept', async () => {
    const run = await tapstone(['solve', '-', '--json'], { input: pieces(), peak: true });
    expect(run.code).toBe(65);
    expect(run.err).toBe('-:2001: more than 128 MiB in one record; expected at most 128 MiB\n');
    const lines = run.out.trimEnd().split('\n');
    expect(lines).toHaveLength(2501);
    expect(lines.findIndex((text) => text.startsWith('{"format":"error/1"'))).toBe(2000);
    // The line up to the limit, twice while it is joined, and what threads and parser need.
    expect(run.most_MiB).toBeLessThan(900);
  });
});
