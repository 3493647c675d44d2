/** What people type, over a table. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isWrong, ohmsInWords, readLeads, readOhms, readPlaces, readPole, readSwing } from './values.ts';

const open = (above_ohm: number): unknown => ({ ohm: null, above_ohm });

describe('ohms as people write them', () => {
  it.each([
    ['4.13k', 4130], ['4k13', 4130], ['7,9k', 7900], ['3.9M', 3.9e6], ['0.4', 0.4], ['4130', 4130], [' 4.13 kOhm ', 4130], ['4.13 kΩ', 4130],
    ['4.13K', 4130], ['16', 16], ['4R7', 4.7], ['4r7', 4.7], ['2M2', 2.2e6], ['.4', 0.4], ['12 k', 12_000], ['0', 0], ['1', 1], ['8.20k', 8200],
    ['4.130', 4.13], ['10 ohms', 10], ['1k', 1000], ['５k', 5000],
  ] as const)('%s', (typed, ohm) => { expect(readOhms(typed)).toEqual({ ohm }); });
  it.each([
    ['OL', 2e6], ['ol', 2e6], ['O.L', 2e6], ['0L', 2e6], ['.OL', 2e6], ['open', 2e6], ['inf', 2e6], ['∞', 2e6], ['>20M', 2e7], ['> 2M', 2e6], ['>200k', 2e5],
  ] as const)('%s', (typed, above_ohm) => { expect(readOhms(typed)).toEqual(open(above_ohm)); });
  it.each([
    ['', 'no resistance'], ['k', 'no resistance'], ['4.1.3k', 'no resistance'], ['4,130.5', 'no resistance'], ['-4k', 'below 0'], ['3.9m', 'thousandth'],
    ['1e999', 'no resistance'], ['4 k 1 x', 'no resistance'], ['99999999999999', 'beyond any meter'], ['>0', 'no resistance'], ['+', 'no resistance'],
    ['\u001b[31m4k', 'no resistance'], ['4k1k', 'no resistance'], ['NaN', 'no resistance'],
  ] as const)('%s is refused in one sentence that says what was expected', (typed, why) => {
    const read = readOhms(typed) as { wrong: string };
    expect(read.wrong).toContain(why);
    expect(read.wrong).toContain('expected ohms such as 4.13k');
    expect(read.wrong).not.toMatch(/[\u0000-\u001f]/);
  });
  it('every number that is written out is read as that number', () => {
    fc.assert(fc.property(fc.integer({ min: 1, max: 9999 }), fc.integer({ min: -2, max: 4 }), (digits, power) => {
      const ohm = Number((digits * 10 ** power).toPrecision(12));
      const kilo = String(Number((ohm / 1000).toPrecision(12)));
      fc.pre(!kilo.includes('e'));
      for (const typed of [String(ohm), `${kilo}k`, `${kilo.replace('.', ',')} k`, kilo.includes('.') ? kilo.replace('.', 'k') : `${kilo}k`])
        expect(readOhms(typed)).toEqual({ ohm });
      expect(readOhms(ohmsInWords(Number(ohm.toPrecision(4))))).toEqual({ ohm: Number(ohm.toPrecision(4)) });
    }));
  });
  it('whatever is typed is a number in range, over range, or refused', () => {
    fc.assert(fc.property(fc.string(), (typed) => {
      const read = readOhms(typed);
      if (isWrong(read)) return;
      const value = read.ohm ?? read.above_ohm;
      expect(Number.isFinite(value) && value >= 0).toBe(true);
    }));
  });
});

describe('swings', () => {
  it.each([
    ['+', { swing: 'positive' }], ['-', { swing: 'negative' }], ['−', { swing: 'negative' }], ['0', { swing: 'none' }], ['+66', { swing: 'positive', peak_V: 0.066 }],
    ['- 12,5 mV', { swing: 'negative', peak_V: 0.0125 }], ['+0.066V', { swing: 'positive', peak_V: 0.066 }], ['+0', { swing: 'none' }], ['none', { swing: 'none' }],
  ] as const)('%s', (typed, swing) => { expect(readSwing(typed)).toEqual(swing); });
  it.each(['', '66', 'up', '++', '+k', '+66A', '+99999999'])('"%s" is refused', (typed) => {
    expect((readSwing(typed) as { wrong: string }).wrong).toContain('expected +, - or 0');
  });
});

describe('poles, leads and places', () => {
  it('n and s are the pole that the face shows', () => {
    expect([readPole('n'), readPole(' S '), readPole('north'), readPole('South')]).toEqual(['N', 'S', 'N', 'S']);
    expect((readPole('x') as { wrong: string }).wrong).toContain('expected n for a north face');
  });
  it('leads are a number or colours', () => {
    expect(readLeads('3')).toEqual([{ clip: 1 }, { clip: 2 }, { clip: 3 }]);
    expect(readLeads('bu, ?;bare')).toEqual([{ clip: 1, colour: 'BU' }, { clip: 2 }, { clip: 3, colour: 'BARE' }]);
    for (const [typed, why] of [['1', '1 leads are not'], ['7', '7 leads are not'], ['BU', 'names one lead'], ['', 'No lead'], ['BU XX', '"XX" is no colour'], ['BU YE BU YE BU YE BU', '7 leads']] as const)
      expect((readLeads(typed) as { wrong: string }).wrong).toContain(why);
  });
  it('places are a number or names', () => {
    expect([readPlaces('1'), readPlaces('2'), readPlaces('front row, back row')]).toEqual([['single'], ['upper', 'lower'], ['front row', 'back row']]);
    for (const typed of ['', '0', '4', 'a,b,c,d', 'a,a', '\u202ea']) expect(isWrong(readPlaces(typed))).toBe(true);
  });
});
