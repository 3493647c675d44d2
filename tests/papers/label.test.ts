/** Labels: read by poppler and by a reader of QR codes, with nothing on one another and every lead as the wire map has it. */
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { boxOf } from '../../host/src/drawing/letters.ts';
import type { TextShape } from '../../host/src/drawing/scene.ts';
import { labelShapes, LabelTooSmall, POINTS_mm } from '../../host/src/papers/label.ts';
import { leadRoles } from '../../host/src/papers/lead-roles.ts';
import { tapstone } from '../program/run-program.ts';
import { codeIn, FOUND, METERS, NASTY, pdfCodes, pdfPages, pdfText, recordOf, Shop, tested } from './shop.ts';

const shop = new Shop();
const LONG = 'P-12345678901234567890123456789012345678';
beforeAll(() => {
  shop.one(METERS);
  shop.one(METERS, { title: NASTY, number: '\u0416-7 \u00e9' });
  shop.one(METERS, { number: LONG });
  shop.one(recordOf('tests/found/frame-on-the-last-turns.bench.json'), { number: 'F-1' });
  shop.lot('box 3', Array.from({ length: 30 }, () => METERS));
});
afterAll(() => shop.close());
const label = (...args: string[]) => shop.run('label', ...args);

describe.each([[60, 30], [105, 148], [80, 50]])('what stands on %i x %i mm', (width, height) => {
  it.each([...FOUND, 'a long number', 'not tested'])('%s', (name) => {
    const record = FOUND.includes(name) ? recordOf(`tests/found/${name}`) : METERS;
    const number = name === 'a long number' ? LONG : '0001';
    const pickup = tested(record, { title: NASTY, number, ...(name === 'not tested' ? { test: null } : {}) });
    const shapes = labelShapes(pickup, width * POINTS_mm, height * POINTS_mm);
    const texts = shapes.filter((shape): shape is TextShape => shape.kind === 'text');
    const code = shapes.flatMap((shape) => (shape.kind === 'area' ? shape.points : []));
    const boxes = [...texts.map(boxOf), {
      left: Math.min(...code.map(({ x }) => x)), right: Math.max(...code.map(({ x }) => x)),
      top: Math.min(...code.map(({ y }) => y)), bottom: Math.max(...code.map(({ y }) => y)),
    }];
    boxes.forEach((one, at) => {
      expect(Math.min(one.left, one.top)).toBeGreaterThan(0);
      expect(Math.max(one.right / width, one.bottom / height)).toBeLessThan(POINTS_mm);
      for (const other of boxes.slice(at + 1)) {
        // Lines of one size may touch where one has a descender and the next an accent.
        const depth = Math.min(one.bottom, other.bottom) - Math.max(one.top, other.top);
        expect(one.left < other.right && other.left < one.right && depth > 0.01).toBe(false);
      }
    });
    expect(Math.min(...texts.map(({ size }) => size))).toBeGreaterThanOrEqual(4.5);
    expect(texts.map(({ text }) => text).join('')).not.toMatch(/[\p{Cc}\p{Cf}]/u);
  });
});

describe('what a lead is called', () => {
  it.each(FOUND)('is what the map says of it: %s', (name) => {
    const record = recordOf(`tests/found/${name}`);
    const { map, colours } = tested(record).test!;
    const roles = leadRoles(map, record.clips.map(({ clip }) => clip), colours);
    expect(new Set(roles.map((one) => one.name)).size).toBe(roles.length);
    for (const { clip, role } of roles) {
      const node = map.joined.find((group) => group.includes(clip)) ?? [clip];
      const isAt = (end: number | null): boolean => end !== null && node.includes(end);
      const words = role.split(/, |: | and /);
      for (const coil of map.coils.filter(({ ohm }) => ohm !== null)) {
        const called = words.filter((word) => word.endsWith(` ${coil.place ?? coil.name}`));
        if (map.coils.some((other) => other !== coil && other.place !== null && other.place === coil.place)) continue;
        expect([role, called.length]).toEqual([role, coil.ends!.some(isAt) ? 1 : 0]);
        if (called.length === 0) continue;
        expect([role, called[0]![0]]).toEqual([role, isAt(coil.plus) ? '+' : isAt(coil.minus) ? '\u2013' : '+']);
        expect(called[0]!.startsWith('+ or')).toBe(coil.plus === null);
      }
      expect(/\bframe\b/.test(role)).toBe(node.some((one) => map.chassis.includes(one)));
    }
  });
});

describe('tapstone label', () => {
  it('writes a page of 60 x 30 mm for each, with number, ohms, poles and leads, and the code of the number', async () => {
    const out = shop.path('one.pdf');
    expect(await label('0001', '\u0416-7 \u00e9', LONG, '--out', out)).toMatchObject({ code: 0, out: '', err: '' });
    expect(pdfPages(out)).toEqual([[60, 30], [60, 30], [60, 30]]);
    expect(pdfCodes(out)).toEqual(['0001', '\u0416-7 \u00e9', LONG]);
    const [first, second] = pdfText(out).split('\f');
    // hardware-notes/examples/plain-meters.bench.json: typed ohms of 7.62 and 7.71 kilohm, no temperature, a compass at each coil.
    const wanted = [/^ *0001$/m, /lower +S +7\.62 kilohm/, /upper +N +7\.71 kilohm/, /PK +\u2013 lower/, /BARE +frame/, /ohms as read/];
    for (const words of wanted) expect(first).toMatch(words);
    expect(second).toMatch(/\\u\{416\}-7 \u00e9/);
    expect(second!.replaceAll('\n', '')).not.toMatch(/[\p{Cc}\p{Cf}]/u);
  });

  it('says before anything else that a pickup is not to be fitted', async () => {
    const out = shop.path('fault.pdf');
    expect((await label('F-1', '--out', out)).code).toBe(0);
    expect(pdfText(out).replace(/\s+/g, ' ')).toMatch(/^ ?F-1 FAULT: do not fit as it is/);
  });

  it('lays a whole lot on A4 in its order, and is the same file each time', async () => {
    const [out, again] = [shop.path('lot.pdf'), shop.path('again.pdf')];
    for (const path of [out, again]) expect(await label('--lot', 'box 3', '--on', 'a4', '--out', path)).toMatchObject({ code: 0, err: '' });
    expect(readFileSync(out).equals(readFileSync(again))).toBe(true);
    expect(pdfPages(out)).toEqual([[210, 297], [210, 297]]);
    const shown = pdfText(out).match(/\b00\d\d\b/g)!;
    expect(shown).toHaveLength(30);
    expect([...shown].sort()).toEqual(shown);
    // 3 x 9 of 60 x 30 mm in the middle of 210 x 297 mm.
    const looked = [0, 7, 14, 20, 26, 27, 29];
    const codes = looked.map((at) => (
      codeIn(out, 1 + Math.floor(at / 27), [15 + 60 * (at % 3), 13.5 + 30 * (Math.floor(at / 3) % 9), 60, 30])));
    expect(codes).toEqual(looked.map((at) => shown[at]));
  });

  it('leaves out the places of a sheet that are used already, on the first page alone', async () => {
    const out = shop.path('used.pdf');
    expect(await label('--lot', 'box 3', '--on', 'a4', '--skip', '25', '--out', out)).toMatchObject({ code: 0, err: '' });
    expect(pdfPages(out)).toHaveLength(3);
    const shown = pdfText(out).split('\f').map((page) => page.match(/\b00\d\d\b/g) ?? []);
    expect(shown.map(({ length }) => length)).toEqual([2, 27, 1, 0]);
    const at = (place: number): number[] => [15 + 60 * (place % 3), 13.5 + 30 * Math.floor(place / 3), 60, 30];
    expect([codeIn(out, 1, at(24)), codeIn(out, 1, at(25)), codeIn(out, 1, at(26)), codeIn(out, 2, at(0))])
      .toEqual(['', shown[0]![0], shown[0]![1], shown[1]![0]]);
  });

  it('is of the size that the settings name, and says in one sentence what is wrong with them', async () => {
    const [out, config] = [shop.path('settled.pdf'), shop.path('config')];
    const settle = (text: string): void => {
      mkdirSync(join(config, 'tapstone'), { recursive: true });
      writeFileSync(join(config, 'tapstone', 'settings.json'), text);
    };
    const run = (...args: string[]) => tapstone(['label', ...args], { environment: { XDG_DATA_HOME: shop.folder, XDG_CONFIG_HOME: config } });
    settle('{"format": "settings/1", "label": "80x40"}');
    expect(await run('0001', '--out', out)).toMatchObject({ code: 0, err: '' });
    expect(pdfPages(out)).toEqual([[80, 40]]);
    expect(await run('0001', '--size', 'a6', '--out', out)).toMatchObject({ code: 0, err: '' });
    expect(pdfPages(out)).toEqual([[105, 148]]);
    for (const [text, sentence] of [
      ['{"format": "settings/1", "label": 60}', 'label: 60; expected a6, or width and height of 10 to 300 mm, such as 60x30'],
      ['{"label": "a6"}', 'format: missing; expected "settings/1"'],
    ] as const) {
      settle(text);
      expect(await run('0001', '--out', shop.path('none.pdf')))
        .toMatchObject({ code: 65, out: '', err: `tapstone label: ${join(config, 'tapstone', 'settings.json')}: ${sentence}\n` });
    }
    expect(existsSync(shop.path('none.pdf'))).toBe(false);
  });

  it.each([
    [[], 64, 'tapstone label: expected either numbers of pickups or --lot NAME'],
    [['0001'], 64, 'tapstone label: nobody said where the PDF goes; expected --out FILE.pdf or --print'],
    [['0001', '--out', 'x.png'], 64, 'tapstone label: --out x.png is no name of a PDF; expected one that ends in .pdf'],
    [['0001', '--size', '5x5', '--out', 'x.pdf'], 64, 'tapstone label: --size: "5x5" is no size; expected a6, or width and height of 10 to 300 mm, such as 60x30'],
    [['0001', '--size', '20x12', '--out', 'x.pdf'], 65, 'tapstone label: what must stand on the label of 0001 has no room on one of 20 x 12 mm; expected a larger --size'],
    [['0001', '--size', '300x40', '--on', 'a4', '--out', 'x.pdf'], 64, 'tapstone label: a label of 300 x 40 mm does not lie on A4, 210 x 297 mm; leave out --on'],
    [['0001', '--skip', '2', '--out', 'x.pdf'], 64, 'tapstone label: --skip counts labels of a page of A4; write --on a4 as well'],
    [['0001', '--on', 'a4', '--skip', '27', '--out', 'x.pdf'], 64, 'tapstone label: --skip: "27" is not how many of 3 x 9 labels are used; expected 0 to 26'],
    [['7777', '--out', 'x.pdf'], 66, 'tapstone label: no pickup has number 7777; "tapstone stock" lists them'],
    [['--lot', 'none', '--out', 'x.pdf'], 66, 'tapstone label: there is no lot "none"; "tapstone lot" lists them'],
  ])('refuses %j in one sentence and writes nothing', async (args, code, sentence) => {
    expect(await label(...args)).toMatchObject({ code, out: '', err: `${sentence}\n` });
    expect(existsSync('x.pdf')).toBe(false);
  });

  it('refuses a size on which nothing can be read', () => {
    expect(() => labelShapes(tested(METERS), 30, 30)).toThrow(LabelTooSmall);
  });
});
