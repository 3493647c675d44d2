/** Sheets: read by poppler and by a reader of QR codes, with every reading of the record and nothing on one another. */
import { existsSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { boxOf } from '../../host/src/drawing/letters.ts';
import { pdfOf } from '../../host/src/drawing/pdf.ts';
import type { LineShape, Point, TextShape } from '../../host/src/drawing/scene.ts';
import { logicModule } from '../../host/src/logic/module.ts';
import { testedSheet } from '../../host/src/papers/sheet.ts';
import { touchScale_V, tracePlot } from '../../host/src/papers/traces.ts';
import { codeIn, FOUND, METERS, NASTY, pdfPages, pdfText, recordOf, Shop, tested } from './shop.ts';

/** A place may be called anything that the formats let pass. */
const ODD_PLACE = '\u0416\u97f3 <b>';

describe.each(FOUND)('the sheet of %s', (name) => {
  it('has nothing on a text, and can be written whatever the fields hold', async () => {
    const json = JSON.stringify(recordOf(`tests/found/${name}`)).replaceAll('"at":"upper"', `"at":"${ODD_PLACE}"`).replaceAll('"upper"', `"${ODD_PLACE}"`);
    const pickup = tested(JSON.parse(json) as typeof METERS, { title: NASTY, lot: NASTY, number: 'P-\u0416' });
    const scene = testedSheet({ ...pickup, test: pickup.test! });
    for (const { shapes, height } of scene.blocks) {
      const texts = shapes.filter((shape): shape is TextShape => shape.kind === 'text');
      const boxes = texts.map(boxOf);
      boxes.forEach((one, at) => {
        const isInside = one.left >= 0 && one.right <= scene.width + 0.01 && one.bottom <= height + 3;
        expect([texts[at]!.text, isInside]).toEqual([texts[at]!.text, true]);
        boxes.slice(at + 1).forEach((other, after) => {
          const depth = Math.min(one.bottom, other.bottom) - Math.max(one.top, other.top);
          expect([texts[at]!.text, texts[at + 1 + after]!.text, one.left < other.right && other.left < one.right && depth > 0.3]).toEqual(
            [texts[at]!.text, texts[at + 1 + after]!.text, false]);
        });
      });
    }
    expect((await pdfOf(scene)).length).toBeGreaterThan(1000);
  });
});

describe('a trace', () => {
  const touch = {
    at: 'upper', rate_Hz: 100, start_s: -1,
    channels: [{
      plus: 2, minus: 1,
      volts_V: [...Array<number>(500).fill(0), 0.15, ...Array<null>(20).fill(null), -0.05, ...Array<number>(478).fill(0)],
    }],
  };
  it('passes through the highest and the lowest value, with plus up, and has a gap where nothing is known', () => {
    expect(touchScale_V(touch)).toBe(0.2);
    const { shapes } = tracePlot(touch.channels[0]!, touch, ['a', 'b'], 0.2, 0, 400);
    const [zero, ...curves] = shapes.filter((shape): shape is LineShape => shape.kind === 'line');
    expect(curves).toHaveLength(2);
    const middle = zero!.points[0]!.y;
    const above = curves.flatMap(({ points }) => points).map(({ y }: Point) => middle - y);
    const upper = Math.max(...above);
    expect(Math.min(...above)).toBeCloseTo(-upper / 3, 9);
    expect(curves[0]!.points.some(({ y }) => middle - y === upper)).toBe(true);
    expect(shapes.flatMap((shape) => (shape.kind === 'text' ? [shape.text] : []))).toEqual(
      ['a', 'b', '+200 mV', '\u2013200 mV', '-1.00 s', '9.00 s', '20 of 1000 values over range']);
  });
});

describe('tapstone sheet', () => {
  const shop = new Shop();
  const touched = 'frame-on-the-last-turns.bench.json';
  beforeAll(() => {
    shop.one({ ...METERS, tester: { serial: 'TS-0007', firmware: '0.1.0' } }, { title: NASTY });
    shop.one(recordOf(`tests/found/${touched}`));
  });
  afterAll(() => shop.close());

  it('writes A4 with every reading, what is not known and not tested, date, tester and module', async () => {
    const out = shop.path('one.pdf');
    expect(await shop.run('sheet', '0001', '--out', out)).toMatchObject({ code: 0, out: '', err: '' });
    for (const page of pdfPages(out)) expect(page).toEqual([210, 297]);
    expect(codeIn(out, 1, [0, 0, 210, 100])).toBe('0001');
    const text = pdfText(out);
    expect(text.replace(/[\n\f]/g, '')).not.toMatch(/[\p{Cc}\p{Cf}]/u);
    const words = text.replace(/\s+/g, ' ');
    expect(words).toContain(logicModule().sha256);
    expect(words).toContain('tester TS-0007, firmware 0.1.0');
    // Asia/Kolkata is UTC +05:30.
    const { taken } = METERS;
    expect(words).toContain(taken === undefined ? '2026-03-14 15:52:31 +05:30' : '+05:30');
    for (const { ohm } of METERS.resistances) if (ohm !== null && ohm > 1000) expect(words).toContain(`${(ohm / 1000).toFixed(3)} kilohm`);
    for (const part of ['Not tested', 'Shorted turns inside a winding.', 'give or take', 'Cautions', 'Wiring', '+ upper', 'BARE']) expect(words).toContain(part);
    for (const { plus, minus } of METERS.observed ?? []) expect(words).toMatch(new RegExp(`clip ${plus},[^:]*against clip ${minus},`));
  });

  it('says FAULT first, and draws no wiring of what must not be wired', async () => {
    const out = shop.path('fault.pdf');
    expect((await shop.run('sheet', '0002', '--out', out)).code).toBe(0);
    const words = pdfText(out).replace(/\s+/g, ' ');
    expect(words).toMatch(/^ ?0002 FAULT: do not fit as it is/);
    expect(words).toContain('Wiring Not drawn: there is no way of wiring this pickup. Not possible: any wiring, since this pickup has a fault;');
    expect(words).toContain('A soldering iron burns');
  });

  it.each([
    [[], 64, 'tapstone sheet: 0 numbers stand behind it; expected the number of one pickup'],
    [['0001'], 64, 'tapstone sheet: nobody said where the PDF goes; expected --out FILE.pdf or --print'],
    [['9', '--out', 'x.pdf'], 66, 'tapstone sheet: no pickup has number 9; "tapstone stock" lists them'],
  ])('refuses %j in one sentence', async (args, code, sentence) => {
    expect(await shop.run('sheet', ...args)).toMatchObject({ code, out: '', err: `${sentence}\n` });
    expect(existsSync('x.pdf')).toBe(false);
  });
});
