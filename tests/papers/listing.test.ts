/** Texts of offers: nothing that was not measured, nothing left out, and no field that becomes markup. */
import { execFileSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { listingText, TEMPLATE } from '../../host/src/papers/listing.ts';
import { giveOrTake } from '../../host/src/papers/uncertain.ts';
import { FOUND, METERS, NASTY, recordOf, Shop, tested } from './shop.ts';

const whole = (name: string, more: Parameters<typeof tested>[1] = {}) => {
  const pickup = tested(recordOf(`tests/found/${name}`), more);
  return { ...pickup, test: pickup.test! };
};

/** What a reader of GitHub's Markdown makes of a text (cmark-gfm, its reference), as HTML. */
function html(markdown: string): string {
  return execFileSync('cmark-gfm', ['-e', 'autolink', '-e', 'table', '-e', 'strikethrough'], { input: markdown, encoding: 'utf8' });
}
const textOf = (page: string): string => page.replace(/<[^>]*>/g, '').replaceAll('&lt;', '<').replaceAll('&gt;', '>').replaceAll('&quot;', '"')
  .replaceAll('&amp;', '&').split('\n').map((line) => line.trim()).filter((line) => line !== '').join('\n');

describe('a value with its uncertainty', () => {
  it.each([
    // JCGM 100:2008, 7.2.4: m = (100.021 47 +- 0.000 79) g.
    [100.02147, 0.000395, '100.02147 g, give or take 0.00079 g'],
    // 7.2.6: at most two digits, and the value to the same place.
    [4130.63, 1.2, '4130.6 g, give or take 2.4 g'], [15334, 57.4, '15330 g, give or take 110 g'], [2.3, undefined, 'about 2.3 g, with no uncertainty stated'],
  ])('%d with %d', (value, u, words) => {
    expect(giveOrTake(value, u, 'g')).toBe(words);
  });
});

describe.each(FOUND)('of %s', (name) => {
  it('tells each reading of the map with its uncertainty, and names as not tested exactly what is not in it', () => {
    const { test } = whole(name);
    const text = listingText(whole(name), false, TEMPLATE.plain);
    const [measured, rest] = [text.split('\nFound\n')[0]!, text.split('\nNot tested\n')[1]!];
    for (const { ohm, u_ohm } of test.map.coils) if (ohm !== null) expect(measured).toContain(giveOrTake(ohm, u_ohm, 'ohm'));
    const some = (is: (coil: (typeof test.map.coils)[number]) => boolean): boolean => test.map.coils.some(is);
    expect(rest.includes('Which end is plus')).toBe(some(({ ohm, plus }) => ohm !== null && plus === null));
    expect(rest.includes('The inductance of')).toBe(some(({ ohm, inductance_H }) => ohm !== null && inductance_H === undefined));
    expect(rest.includes('The magnetic pole of')).toBe(some(({ pole, hidden_junction }) => pole === null && hidden_junction !== true));
    expect(rest.includes('Whether the magnetic poles')).toBe(test.map.pairs.some(({ poles_differ }) => poles_differ === null));
    expect(rest.includes('plate, cover or frame')).toBe(test.map.chassis.length === 0);
    expect(rest).toContain('Sound, loudness');
    for (const { text: finding, severity } of test.map.findings) expect(text.includes(finding)).toBe(severity !== 'note');
    expect(text.split('\n')[1]).toMatch({ good: /^(Nothing found|WARNING|UNSURE)/, fault: /^FAULT/, unsure: /^UNSURE/ }[test.map.verdict]);
  });

  it('is the same text when a reader of Markdown has made a page of it, whatever the fields hold', () => {
    const pickup = whole(name, { title: `${NASTY} www.a.b a@b.c https://d.e | ~~f~~ \`g\` # h`, number: '1. {title} - +', lot: '- x' });
    const page = html(listingText(pickup, true, TEMPLATE.markdown)).replace('<a href="mailto:a@b.c">a@b.c</a>', 'a@b.c');
    expect(page.match(/<(?!\/?(h2|h3|p|ul|li)>)/g)).toBe(null);
    const plain = listingText(pickup, false, TEMPLATE.plain).replace(/^- /gm, '').split('\n').filter((line) => line !== '').join('\n');
    expect(textOf(page)).toBe(plain);
    expect(plain.replaceAll('\n', '')).not.toMatch(/[\p{Cc}\p{Cf}]/u);
  });
});

describe('tapstone listing', () => {
  const shop = new Shop();
  beforeAll(() => shop.one(METERS, { title: NASTY }));
  afterAll(() => shop.close());
  const listing = (...args: string[]) => shop.run('listing', ...args);

  it('reads like this', async () => {
    const { code, out, err } = await listing('0001');
    expect([code, err]).toEqual([0, '']);
    expect(out).toBe(`Pickup 0001: =1+1 \\x1b]0;owned\\x07\\u{202e}good <b>*x*</b> [a](http://b) \u0416\u97f3
Nothing found against it.

Measured on 2026-03-14 with meters of our own
- The coil "lower": 7620 ohm, give or take 57 ohm; its face shows magnetic south.
- The coil "upper": 7710 ohm, give or take 58 ohm; its face shows magnetic north.
- The magnetic poles of the coil "lower" and the coil "upper" differ.
"Give or take" is twice the standard uncertainty (k = 2): about 95 % of such readings lie within it.

Found
- nothing

Leads
- pink (PK): \u2013 lower
- turquoise (TQ): \u2013 upper
- orange (OG): + upper
- violet (VT): + lower
- bare wire (BARE): frame
+ goes positive and \u2013 negative as steel touches the pole of that coil.

Not tested
- The inductance of the coil "lower" and the coil "upper".
- The capacitance of the coil "lower" and the coil "upper".
- Shorted turns inside a winding.
- The temperature: copper reads about 0.4 % more for each degree.
- The strength of the magnets.
- Sound, loudness and microphonic squeal, looks and mechanical state, what instrument it fits.
`);
  });

  it.each([[], ['--markdown']])('takes a template, of which its own is one: %j', async (...flags) => {
    const path = shop.path('own.txt');
    writeFileSync(path, (await listing('--show-template', ...flags)).out);
    expect(await listing('0001', '--template', path, ...flags)).toEqual(await listing('0001', ...flags));
    writeFileSync(path, 'No. {number}, {date}\r\n{leads}');
    expect((await listing('0001', '--template', path)).out).toMatch(/^No\. 0001, 2026-03-14\n- pink \(PK\): \u2013 lower\n(- .*\n){4}$/);
  });

  it('says what the shop has noted against a pickup that every test calls good', async () => {
    shop.one(METERS, { number: 'dented' });
    await shop.run('stock', 'state', 'dented', 'fault');
    expect((await listing('dented')).out).toMatch(/^Pickup dented: .*\nFAULT, as the shop noted\n/);
  });

  it('refuses what it cannot fill in, in one sentence', async () => {
    const path = shop.path('bad.txt');
    writeFileSync(path, 'costs {price}');
    const fault = /bad\.txt: \{price\} is no field; expected one of \{number\}, .*\n$/;
    expect(await listing('0001', '--template', path)).toMatchObject({ code: 65, out: '', err: expect.stringMatching(fault) });
    writeFileSync(path, Buffer.from([0xff, 0x41]));
    const noText = /not a text in UTF-8; expected .*\n$/;
    expect(await listing('0001', '--template', path)).toMatchObject({ code: 65, out: '', err: expect.stringMatching(noText) });
    expect(await listing('0001', '--template', shop.path('none'))).toMatchObject({ code: 66, out: '' });
    expect(await listing()).toMatchObject({ code: 64, err: 'tapstone listing: 0 numbers stand behind it; expected the number of one pickup\n' });
    expect(await listing('8')).toMatchObject({ code: 66, err: 'tapstone listing: no pickup has number 8; "tapstone stock" lists them\n' });
  });
});
