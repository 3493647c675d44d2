import { describe, expect, it } from 'vitest';
import { renderWireMap } from './render-text.ts';
import type { WireMap } from '../wiremap/wiremap.ts';

const MAP: WireMap = {
  format: 'wiremap/1',
  verdict: 'good',
  coils: [
    {
      name: 'coil 1',
      minus: 1,
      plus: 2,
      ends: [1, 2],
      ohm: 4132.6,
      ohm_20C: 4098.8,
      u_ohm: 2.5,
      place: 'upper',
      pole: 'N',
      winding: 'cw',
      inductance_H: 2.31,
      confidence: 0.9999,
    },
    {
      name: 'coil 2',
      minus: 4,
      plus: 3,
      ends: [3, 4],
      ohm: 4212.2,
      ohm_20C: 4177.7,
      u_ohm: 2.5,
      place: 'lower',
      pole: 'S',
      winding: 'ccw',
      confidence: 0.9998,
    },
  ],
  pairs: [{ a: 'coil 1', b: 'coil 2', poles_differ: true, witnesses: ['coupling', 'magnet'] }],
  chassis: [5],
  joined: [],
  findings: [],
  unknown: [],
};
const COLOURS = new Map([
  [1, 'BU'],
  [2, 'YE'],
  [3, 'GY'],
  [4, 'VT'],
  [5, 'BARE'],
]);

describe('the wire map for people', () => {
  it('names clip, colour and code of plus and minus, and resistance with uncertainty and at 20 C', () => {
    const text = renderWireMap(MAP, COLOURS, null);
    expect(text).toContain(
      'coil 1, upper\n  minus       clip 1, blue (BU)\n  plus        clip 2, yellow (YE)\n',
    );
    expect(text).toContain(
      '  resistance  4132.6 ohm, uncertainty 2.5 ohm (k = 1); 4098.8 ohm at 20 C\n',
    );
    expect(text).toContain(
      '  pole        south (S); from minus to plus the wire runs counterclockwise',
    );
    expect(text).toContain('Always ground: clip 5, bare wire (BARE)');
  });

  it('stays within 80 columns and shows control characters, whatever a record calls its places', () => {
    const place = `\x1b[31m${'x'.repeat(90)}\u202e end`;
    const text = renderWireMap(
      {
        ...MAP,
        coils: MAP.coils.map((coil) => ({ ...coil, place })),
        unknown: [`place ${place} is not known`],
      },
      COLOURS,
      null,
    );
    expect(Math.max(...text.split('\n').map((line) => line.length))).toBeLessThanOrEqual(80);
    expect(text).toContain('\\x1b[31m');
    expect(/[^\n\x20-\x7e]/.test(text)).toBe(false);
  });

  it('asks for another touch where plus and minus are likely but not sure', () => {
    const coils = MAP.coils.map((coil, at) => ({ ...coil, confidence: at === 0 ? 0.93 : 0.999989 }));
    const text = renderWireMap({ ...MAP, coils }, COLOURS, null);
    expect(text.match(/sure of it.*/g)).toEqual([
      'sure of it  93.00 %; touch it again before you solder',
      'sure of it  99.99 %',
    ]);
  });

  it('says beside GOOD what is still to be minded', () => {
    const first = (map: WireMap): string | undefined => renderWireMap(map, COLOURS, null).split('\n')[0];
    expect(first(MAP)).toBe('GOOD: nothing speaks against fitting this pickup.');
    const warned: WireMap = { ...MAP, findings: [{ kind: 'leak', severity: 'warning', clips: [1, 5], text: 'A leak.' }] };
    expect(first(warned)).toBe('GOOD, with a warning: read the findings before you fit this pickup.');
    const likely = MAP.coils.map((coil) => ({ ...coil, confidence: 0.97 }));
    expect(first({ ...MAP, coils: likely })).toBe('GOOD, but not every plus and minus is sure yet: touch again before you solder.');
  });

  it('does not say of live leads that no coil was found: nobody looked', () => {
    const text = renderWireMap({
      ...MAP, verdict: 'fault', coils: [], pairs: [],
      findings: [{ kind: 'live', severity: 'fault', clips: [1, 2], text: 'A voltage.' }],
    }, COLOURS, null);
    expect(text).toContain('\n\nNothing was measured: a voltage stands on the leads.\n\n');
    expect(text).not.toContain('No coil was found');
  });

  it('ends with the cautions: mains, hot iron, magnets, local codes', () => {
    const cautions = renderWireMap(MAP, COLOURS, null).split('\nCautions\n')[1] ?? '';
    for (const word of ['mains', 'iron', 'Magnets', 'local electrical codes', 'qualified person']) expect(cautions).toContain(word);
  });

  it('says what is not known instead of leaving it out', () => {
    const coils = MAP.coils.map((coil) => ({
      ...coil,
      plus: null,
      minus: null,
      confidence: undefined,
      pole: null,
      winding: undefined,
      place: null,
    }));
    const text = renderWireMap(
      { ...MAP, verdict: 'unsure', coils, pairs: [], unknown: ['No touch was seen.'] },
      new Map(),
      null,
    );
    expect(text).toContain('  ends        clip 1; clip 2; plus and minus not known\n');
    expect(text).toContain('  pole        not known\n');
    expect(text).toContain('Not known\n  - No touch was seen.\n');
  });
});
