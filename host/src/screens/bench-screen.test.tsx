import { layingLines } from '../bench/laying.ts';
import { renderToString } from 'ink';
import { describe, expect, it } from 'vitest';
import type { WireMap } from '../wiremap/wiremap.ts';
import { BenchScreen, scrollRange, TABS } from './bench-screen.tsx';
import type { BenchView, PairReading } from '../bench/view.ts';
import { wrap } from '../text/wrap.ts';
import { cellText, shortOhms } from '../bench/view.ts';

const map: WireMap = {
  format: 'wiremap/1',
  verdict: 'unsure',
  coils: [
    {
      name: 'coil 1', minus: 1, plus: 2, ends: [1, 2], ohm: 4132.6, ohm_20C: 4098.8, u_ohm: 2.5,
      place: 'upper', pole: 'N', winding: 'cw', inductance_H: 2.31, confidence: 0.9999,
    },
    { name: 'coil 2', minus: null, plus: null, ends: [3, 4], ohm: 12_212.2, u_ohm: 7.4, place: null, pole: null },
  ],
  pairs: [{ a: 'coil 1', b: 'coil 2', poles_differ: null, witnesses: [] }],
  chassis: [5],
  joined: [],
  findings: [
    {
      kind: 'weak_touch', severity: 'warning', clips: [3, 4],
      text: 'The touch at "lower" moved coil 2 too little to tell its plus end; touch it again with a heavier piece of steel.',
    },
  ],
  unknown: ['Which end of coil 2 is plus: no touch on it was strong enough.'],
};

const readings = new Map<string, PairReading>([
  ['1-2', { ohm: 4132.6 }], ['1-3', { ohm: null, above_ohm: 1e8 }], ['3-4', { ohm: 12_212.2 }],
]);

function view(changes: Partial<BenchView> = {}): BenchView {
  return {
    source: 'virtual bench TWIN-0001',
    title: 'pickup 3 of 10: two coils, four leads and a drain wire',
    clips: [
      { clip: 1, colour: 'BU' }, { clip: 2, colour: 'RDBU' }, { clip: 3, colour: 'GY' }, { clip: 4 },
      { clip: 5, colour: 'BARE' }, { clip: 6, colour: 'GYPK' },
    ],
    readings,
    activePair: [2, 3],
    laying: layingLines(['upper', 'lower']),
    step: 'listening for steel',
    progress: 0.62,
    prompt: 'Touch the upper coil with steel, hold it there, then lift.',
    message: null,
    trace: [
      { label: 'coil 1, clip 2 against 1', spans: Array.from({ length: 90 }, (_, i) => ({ low_V: -0.01, high_V: i === 30 ? 0.2 : 0.01 })) },
      { label: 'coil 2, clip 4 against 3', spans: Array.from({ length: 90 }, () => ({ low_V: -0.01, high_V: 0.01 })) },
    ],
    map,
    final: false,
    ways: null,
    wiring: [{ text: 'Series: tie clip 1 to clip 3.', indent: 2 }, { text: 'Ground: clip 5, always.', indent: 2 }],
    bell: true,
    keys: [{ key: 'space', does: 'button' }, { key: 't', does: 'touch' }, { key: 'c', does: 'cancel' }, { key: 'q', does: 'quit' }],
    ...changes,
  };
}

const draw = (columns: number, rows: number, changes: Partial<BenchView> = {}, tab: (typeof TABS)[number] = 'map') =>
  renderToString(<BenchScreen view={view(changes)} columns={columns} rows={rows} tab={tab} scroll={0} />, { columns })
    .split('\n');

describe('bench screen', () => {
  for (const [columns, rows] of [[80, 24], [120, 40], [60, 24], [44, 30], [40, 24], [30, 40], [200, 60], [80, 16]] as const) {
    for (const tab of TABS) {
      for (const final of [false, true]) {
        const name = `${columns}x${rows}-${tab}-${final ? 'finished' : 'running'}`;
        it(`draws the frame ${name} as it is kept, within its size`, async () => {
          const lines = draw(columns, rows, { final, message: final ? null : 'Tester TS-0007 was unplugged; plug it in again.' }, tab)
            .map((line) => line.replace(/\x1b\[[0-9;]*m/g, ''));
          expect(lines.length).toBeLessThan(rows);
          for (const line of lines) expect(line.length).toBeLessThanOrEqual(columns);
          // One that was looked at; `npx vitest run host/src/screens --update` writes them anew.
          await expect(`${lines.map((line) => line.trimEnd()).join('\n')}\n`).toMatchFileSnapshot(`frames/bench-${name}.txt`);
        });
      }
    }
  }

  it('shows the matrix, the prompt, the trace and the map together at 80x24', () => {
    const text = draw(80, 24).join('\n');
    for (const piece of ['red and blue (RDBU)', '4133', 'open', '[·]', 'Touch the upper coil', '±200 mV', 'coil 1  minus 1 BU', '62 % of the test']) {
      expect(text).toContain(piece);
    }
  });

  it('says the verdict in words when the test is over', () => {
    expect(draw(80, 24, { final: true }).join('\n')).toContain('UNSURE');
    expect(draw(40, 24, { final: true }).join('\n')).toContain('UNSURE');
  });

  it('says behind a good verdict what is still to be minded, and not that nothing was found', () => {
    const sound: WireMap = { ...map, verdict: 'good', coils: [map.coils[0]!], findings: [], unknown: [] };
    const likely: WireMap = { ...sound, coils: [{ ...map.coils[0]!, confidence: 0.97 }] };
    const said = (one: WireMap): string | undefined => /GOOD.*?(?= {2}|\n|$)/.exec(draw(80, 24, { final: true, map: one }).join('\n'))?.[0];
    expect([sound, likely, { ...sound, findings: map.findings }].map(said)).toEqual(['GOOD', 'GOOD, touch again', 'GOOD, see findings']);
    const findings = (one: WireMap): string => draw(80, 24, { final: true, map: one }, 'findings').join('\n');
    expect([findings(sound).includes('Nothing found against this pickup.'), findings(likely).includes('Nothing found against')]).toEqual([true, false]);
  });

  it('says how much of a long tab is out of sight', () => {
    const wiring = Array.from({ length: 40 }, (_, i) => ({ text: `Step ${i + 1}.`, indent: 2 }));
    expect(draw(80, 24, { wiring, final: true }, 'wiring').join('\n')).toMatch(/lines 1-\d+ of 40/);
  });
});

describe('the head and the keys of the screen', () => {
  const keys = ['g magnet', 'space skip', 'c cancel', 'q quit', 'n next', 'p previous', 'tab panel', 'b bell off'];
  const hints = keys.map((hint) => ({ key: hint.split(' ')[0]!, does: hint.slice(hint.indexOf(' ') + 1) }));

  for (const [columns, rows] of [[80, 24], [60, 20], [44, 30], [120, 40]] as const) {
    it(`name every key and the whole title at ${columns}x${rows}`, () => {
      const lines = draw(columns, rows, { keys: hints, final: true });
      const text = lines.join(' ').replace(/\s+/g, ' ');
      for (const hint of keys) expect(text).toContain(hint);
      expect(text).toContain('pickup 3 of 10: two coils, four leads and a drain wire');
      expect(lines.length).toBeLessThan(rows);
    });
  }

  it('give the panel their rows where there are few', () => {
    const lines = draw(40, 14, { keys: hints, clips: view().clips.slice(0, 4) });
    expect(lines.length).toBeLessThan(14);
    expect(lines.at(-1)).toBe('g magnet  space skip  c cancel  q quit');
  });
});

describe('the lower panel', () => {
  it('scrolls no farther than its last line, so that the way back begins at once', () => {
    const wiring = Array.from({ length: 40 }, (_, i) => ({ text: `Step ${i + 1}.`, indent: 2 }));
    const long = view({ wiring, final: true });
    const { most, page } = scrollRange(long, 80, 24, 'wiring');
    expect(most + page).toBe(40);
    const at = (scroll: number): string =>
      renderToString(<BenchScreen view={long} columns={80} rows={24} tab="wiring" scroll={scroll} />, { columns: 80 });
    expect(at(most)).toContain('Step 40.');
    expect(at(most - 1)).not.toContain('Step 40.');
  });

  it('never says that a sign is wholly sure', () => {
    const coils = map.coils.map((coil, at) => (at === 0 ? { ...coil, confidence: 0.999_98 } : coil));
    const text = draw(120, 40, { map: { ...map, coils } }).join('\n');
    expect(text).toContain('plus is sure to 99.99 %');
    expect(text).not.toContain('100.00 %');
  });

  it('tells ohms at 20 C, inductance, whether poles differ, and never "nothing found" of what is unsure', () => {
    const text = draw(120, 40).join('\n');
    for (const piece of ['4098.8 at 20 C', '2.31 H', 'coil 1 and coil 2  not known whether their poles differ']) expect(text).toContain(piece);
    const differ = draw(120, 40, { map: { ...map, pairs: [{ a: 'coil 1', b: 'coil 2', poles_differ: true, witnesses: ['magnet'] }] } });
    expect(differ.join('\n')).toContain('coil 1 and coil 2  poles differ');
    const none = draw(120, 40, { final: true, map: { ...map, findings: [] } }, 'findings').join('\n');
    expect(none).toContain('Nothing found in what was measured; what is not known stands in the map.');
    expect(none).not.toContain('against this pickup');
  });

  it('shows before the test how the pickup lies and what its places are called', () => {
    const lines = draw(80, 24, { map: null, step: 'ready', trace: [] });
    expect(lines.slice(-8, -1).map((line) => line.trimEnd())).toEqual([
      'The side that faces the strings lies up, the leads to your left:',
      '      +-----------------------+',
      'leads | o   o   o   o   o   o |  upper: away from you',
      '      +-----------------------+',
      '      | o   o   o   o   o   o |  lower: next to you',
      '      +-----------------------+',
      '                 you',
    ]);
  });

  it('breaks the line of a coil between facts, not inside one', () => {
    expect(draw(60, 24, { final: true }).join('\n')).toContain('\n  plus is sure to 99.99 %');
  });
});

describe('words on the screen', () => {
  it('writes ohms in at most six characters', () => {
    for (const ohm of [0.42, 9.996, 99.97, 4132.6, 9999.6, 12_460, 99_996, 250_000, 999_600, 8.1e6, 9.996e6, 1e8]) {
      expect(shortOhms(ohm).length).toBeLessThanOrEqual(6);
    }
    expect([4132.6, 12_460, 8.1e6].map(shortOhms)).toEqual(['4133', '12.46k', '8.10M']);
    expect(cellText({ ohm: null, above_ohm: 1e8 })).toBe('open');
    expect(cellText(undefined)).toBe('·');
  });

  it('wraps at spaces and breaks a word that is longer than the line', () => {
    expect(wrap('touch the upper coil', 10, 0)).toEqual(['touch the', 'upper coil']);
    expect(wrap('abcdefghijkl', 5, 2)).toEqual(['abcde', '  fgh', '  ijk', '  l']);
    expect(wrap('', 10, 0)).toEqual(['']);
  });
});
