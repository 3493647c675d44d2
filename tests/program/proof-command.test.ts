/** `tapstone proof`, and `tapstone rehearse` of a harness, as a person meets them. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { tapstone } from './run-program.ts';

const EXAMPLES = fileURLToPath(new URL('../../hardware-notes/examples/', import.meta.url));
const HARNESS = `${EXAMPLES}harness/two-singles.harness.json`;
const JACK = `${EXAMPLES}harness/two-singles-jack.bench.jsonl`;
const ONE = `${EXAMPLES}harness/one-pickup.harness.json`;
const PICKUP = `${EXAMPLES}two-coils.pickup.json`;
/** A whole test on the board twin for each setting. */
const SLOW_ms = 180_000;

let folder: string;
beforeAll(() => void (folder = mkdtempSync(join(tmpdir(), 'tapstone-proof-'))));
afterAll(() => rmSync(folder, { recursive: true }));

/** Lines of the example, changed and written to a file of their own. */
function changed(change: (record: Record<string, any>) => void): string {
  const path = join(folder, 'changed.bench.json');
  const records = readFileSync(JACK, 'utf8').trim().split('\n').map((line) => JSON.parse(line) as Record<string, any>);
  records.forEach(change);
  writeFileSync(path, records.map((record) => `${JSON.stringify(record)}\n`).join(''));
  return path;
}

describe('tapstone proof', () => {
  it('tells for the example that the rear pickup is the other way round, and all that looks the same', async () => {
    const { code, out, err } = await tapstone(['proof', HARNESS, JACK]);
    expect([code, err]).toEqual([0, '']);
    expect(out).toContain('NOT AS PLANNED');
    const flowing = out.replace(/\s+/g, ' ');
    expect(flowing).toMatch(/One of these, .*two leads of rear are exchanged: clip 1, orange \(OG\) with clip 2, blue \(BU\)/);
    expect(out).toMatch(/^Cautions$/m);
    for (const line of out.split('\n')) expect(line.length).toBeLessThanOrEqual(80);
  });

  it('prints one line of JSON, and nothing else', async () => {
    const { code, out } = await tapstone(['proof', HARNESS, JACK, '--json']);
    type Printed = { format: string; verdict: string; causes: { confidence: number }[]; settings: unknown[] };
    const proof = JSON.parse(out) as Printed;
    expect([code, out.split('\n').length, proof.format, proof.verdict, proof.settings.length]).toEqual([0, 2, 'proof/1', 'fault', 3]);
    expect(proof.causes[0]!.confidence).toBeGreaterThan(0.8);
  });

  it('reads a guitar whose pickups nobody knows', async () => {
    const unknown = join(folder, 'two-singles.harness.json');
    writeFileSync(unknown, JSON.stringify({ ...JSON.parse(readFileSync(HARNESS, 'utf8')), fitted: [] }));
    const { code, out } = await tapstone(['proof', unknown, JACK]);
    expect([code, out.includes('pickups alone')]).toEqual([0, true]);
    expect(out.replace(/\s+/g, ' ')).toContain('selector both: front single against rear single: one of front and rear is the other way round');
  });

  it('says in one sentence what is wrong with a call or a record', async () => {
    const file = changed((record) => { record.setting = { selector: 'middle' }; });
    expect(await tapstone(['proof', HARNESS, file])).toMatchObject({
      code: 65, out: '', err: `${file}:1: setting: "middle" is not a position of selector; expected one of front, both, rear\n`,
    });
    const other = changed((record) => { record.harness = 'three.harness.json'; });
    expect(await tapstone(['proof', HARNESS, other])).toMatchObject({
      code: 65, err: `${other}:1: harness: "three.harness.json" is another harness; expected a record of two-singles.harness.json\n`,
    });
    const place = changed((record) => { record.observed[0].at = 'front upper'; });
    expect((await tapstone(['proof', HARNESS, place])).err).toContain('observed[0].at: "front upper" is no place of this harness; expected SLOT PLACE');
    expect((await tapstone(['proof', HARNESS, join(folder, 'none.bench.json')])).code).toBe(66);
    expect((await tapstone(['proof', join(folder, 'none.harness.json'), JACK])).code).toBe(66);
  });
});

describe('tapstone rehearse of a harness', () => {
  it('reads a sound guitar, and writes records that prove it again', async () => {
    const record = join(folder, 'one.bench.json');
    const { code, out } = await tapstone(['rehearse', ONE, '--seed', '1', '--record', record]);
    expect([code, out.split('\n')[2]]).toEqual([0, 'AS PLANNED: nothing that was read speaks against this wiring.']);
    const written = JSON.parse(readFileSync(record, 'utf8')) as Record<string, unknown>;
    expect(written).toMatchObject({ format: 'bench/1', harness: 'one-pickup.harness.json', setting: {}, places: ['only upper', 'only lower'] });
    expect((await tapstone(['proof', ONE, record])).out).toBe(out);
  }, SLOW_ms);

  it('by the real firmware in an emulated chip proves the same as by the module alone', async () => {
    const [chip, board] = await Promise.all(['chip', 'board'].map((twin) => tapstone(['rehearse', ONE, '--seed', '1', '--twin', twin])));
    expect([chip!.code, chip!.err, chip!.out]).toEqual([0, '', board!.out]);
  }, SLOW_ms);

  it('with a fault tells at the end what it was', async () => {
    const { code, out, err } = await tapstone(['rehearse', ONE, '--seed', '1', '--fault', '--json']);
    expect([code, JSON.parse(out).format]).toEqual([0, 'proof/1']);
    expect(err).toMatch(/^the fault that was put in: .+\n$/);
  }, SLOW_ms);

  it('with a pickup of its own behind it, as if nobody knew what is fitted', async () => {
    const { code, out } = await tapstone(['rehearse', ONE, '--seed', '1', '--blind', '--json', '--pickup', `only=${PICKUP}`]);
    const { format, settings } = JSON.parse(out) as { format: string; settings: { pickups_ohm: number; u_pickups_ohm: number }[] };
    expect([code, format]).toEqual([0, 'survey/1']);
    // The file's two coils in series, at its 22 degrees: IEC 60028.
    const whole = (4100 + 4180) * (1 + 0.00393 * 2);
    expect(Math.abs(settings[0]!.pickups_ohm - whole)).toBeLessThan(3 * settings[0]!.u_pickups_ohm);
  }, SLOW_ms);

  it.each([
    [['rehearse', ONE, '--pickup', 'rear=x'], 'tapstone rehearse: --pickup "rear=x" names no fitted slot; expected SLOT=FILE with one of only'],
    [['rehearse', ONE, '--all-ways'], `tapstone rehearse: --all-ways is for one pickup; ${ONE} is a harness`],
    [['rehearse', PICKUP, '--fault'], `tapstone rehearse: --fault is for a harness; ${PICKUP} is one pickup`],
  ])('%j is refused', async (args, sentence) => {
    expect(await tapstone(args)).toMatchObject({ code: 64, out: '', err: `${sentence}\n` });
  });
});
