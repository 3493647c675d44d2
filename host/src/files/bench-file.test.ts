import { describe, expect, it } from 'vitest';
import { asBenchRecord } from './bench-file.ts';
import { exampleRecord } from './example-files.ts';

type Spoil = (record: Record<string, any>) => void;

function refusal(spoil: Spoil): string {
  const record = exampleRecord();
  spoil(record);
  try {
    asBenchRecord(record);
  } catch (error) {
    return (error as Error).message;
  }
  return 'taken';
}

const CASES: [string, Spoil, string][] = [
  ['another format', (r) => (r.format = 'pickup/1'), 'format: "pickup/1"; expected "bench/1"'],
  ['no format', (r) => delete r.format, 'format: missing; expected "bench/1"'],
  ['no clips', (r) => delete r.clips, 'clips: missing; expected a list of 1 to 6 clips'],
  [
    'no resistances',
    (r) => delete r.resistances,
    'resistances: missing; expected a list of readings, at most 1000',
  ],
  ['0 clips', (r) => (r.clips = []), 'clips: an empty list; expected a list of 1 to 6 clips'],
  [
    '7 clips',
    (r) => (r.clips = Array(7).fill({ clip: 1 })),
    'clips: a list of 7; expected a list of 1 to 6 clips',
  ],
  [
    'a clip listed twice',
    (r) => (r.clips[1].clip = 1),
    'clips[1].clip: 1 is listed twice; expected each clip once',
  ],
  [
    'clip 7',
    (r) => (r.clips[0].clip = 7),
    'clips[0].clip: 7 is not a clip number; expected a clip number, 1 to 6',
  ],
  [
    'a clip and a half',
    (r) => (r.clips[0].clip = 1.5),
    'clips[0].clip: 1.5 is not a clip number; expected a clip number, 1 to 6',
  ],
  [
    'an unknown colour',
    (r) => (r.clips[0].colour = 'BLUE'),
    'clips[0].colour: "BLUE" is not a colour code; expected a colour code of IEC 60757 such as BU, RDBU or GNYE, or BARE',
  ],
  [
    'a clip that is not in use',
    (r) => (r.resistances[0].b = 6),
    'resistances[0].b: 6 is not a clip in use; expected a clip that "clips" lists (1, 2, 3, 4, 5)',
  ],
  [
    'a pair of one clip',
    (r) => (r.resistances[0].b = 1),
    'resistances[0].b: 1 stands in "a" too; expected two different clips',
  ],
  [
    'NaN as text',
    (r) => (r.resistances[3].ohm = 'NaN'),
    'resistances[3].ohm: "NaN" is not a number; expected ohms, 0 or more, or null',
  ],
  [
    'a negative resistance',
    (r) => (r.resistances[0].ohm = -5),
    'resistances[0].ohm: -5 is negative; expected ohms, 0 or more, or null',
  ],
  [
    '1e308 ohm',
    (r) => (r.resistances[0].ohm = 1e308),
    'resistances[0].ohm: 1e+308 is more than 1000000000000; expected ohms, 0 to 1000000000000, or null',
  ],
  [
    'Infinity from 1e400',
    (r) => (r.resistances[0].u_ohm = Infinity),
    'resistances[0].u_ohm: a number beyond all range is more than 1000000000000; expected ohms, 0 to 1000000000000',
  ],
  [
    'null without a bound',
    (r) => delete r.resistances[2].above_ohm,
    'resistances[2].above_ohm: missing; expected ohms above 0',
  ],
  [
    'a reading that is a number',
    (r) => (r.resistances[1] = 4),
    'resistances[1]: 4 is not an object; expected an object with a, b and ohm',
  ],
  [
    'channels of unequal length',
    (r) => r.touches[0].channels[1].volts_V.push(0),
    'touches[0].channels[1].volts_V: 4 samples; expected 3, as many as in channels[0]',
  ],
  [
    'a channel without samples',
    (r) => (r.touches[0].channels[0].volts_V = []),
    'touches[0].channels[0].volts_V: an empty list; expected a list of 1 to 1000000 volts or null',
  ],
  [
    '10 million samples',
    (r) => (r.touches[0].channels[0].volts_V = new Array(10_000_000).fill(0)),
    'touches[0].channels[0].volts_V: a list of 10000000; expected a list of 1 to 1000000 volts or null',
  ],
  [
    'a sample that is a text',
    (r) => (r.touches[0].channels[0].volts_V[1] = '0.1'),
    'touches[0].channels[0].volts_V[1]: "0.1" is not a number; expected volts, or null',
  ],
  [
    'a sample beyond all range',
    (r) => (r.touches[0].channels[0].volts_V[1] = 1e39),
    'touches[0].channels[0].volts_V[1]: 1e+39 is out of range; expected volts, -1000 to 1000, or null',
  ],
  [
    'no channels',
    (r) => (r.touches[0].channels = []),
    'touches[0].channels: an empty list; expected a list of 1 to 15 channels',
  ],
  [
    '999 samples a second',
    (r) => (r.touches[0].rate_Hz = 999),
    'touches[0].rate_Hz: 999 is too small; expected hertz, 1000 to 100000',
  ],
  [
    'a touch without a start',
    (r) => delete r.touches[0].start_s,
    'touches[0].start_s: missing; expected seconds',
  ],
  [
    'an inductance without uncertainty',
    (r) => delete r.inductances[0].u_H,
    'inductances[0].u_H: missing; expected henries, 0 or more',
  ],
  [
    'a coupling that drives one clip',
    (r) => (r.couplings[0].drive.minus = 2),
    'couplings[0].drive.minus: 2 stands in "plus" too; expected two different clips',
  ],
  [
    'a pole called north',
    (r) => (r.magnets[0].pole = 'north'),
    'magnets[0].pole: "north" is not known here; expected "N" or "S"',
  ],
  [
    'a swing called up',
    (r) => (r.observed[0].swing = 'up'),
    'observed[0].swing: "up" is not known here; expected one of "positive", "negative", "none"',
  ],
  [
    'a place without a name',
    (r) => (r.touches[0].at = ''),
    'touches[0].at: an empty text; expected the name of a place',
  ],
  [
    'a live voltage that is null',
    (r) => (r.live = [{ a: 1, b: 2, volt_V: null }]),
    'live[0].volt_V: null is not a number; expected volts',
  ],
  [
    '300 degrees',
    (r) => (r.temperature_C = 300),
    'temperature_C: 300 is more than 150; expected degrees Celsius, -60 to 150',
  ],
  [
    'touches that are an object',
    (r) => (r.touches = {}),
    'touches: an object is not a list; expected a list of touches, at most 1000',
  ],
];

describe('a bench record', () => {
  it('is taken when it holds every field of the format, and is the very document', () => {
    const record = exampleRecord();
    expect(asBenchRecord(record)).toBe(record);
  });

  it('needs no more than format, clips and resistances', () => {
    expect(() =>
      asBenchRecord({ format: 'bench/1', clips: [{ clip: 1 }], resistances: [] }),
    ).not.toThrow();
  });

  it.each(CASES)('is refused with one sentence for %s', (_, spoil, sentence) => {
    expect(refusal(spoil)).toBe(sentence);
  });

  it('is refused when it is a list, a text or null', () => {
    for (const [value, stood] of [
      [[], 'an empty list'],
      ['x', '"x"'],
      [null, 'null'],
      [3, '3'],
    ] as const) {
      expect(() => asBenchRecord(value)).toThrow(
        `${stood} where a record was to be; expected a bench record`,
      );
    }
  });

  it('keeps unknown fields and is not misled by __proto__', () => {
    const record = JSON.parse(
      '{"format":"bench/1","clips":[{"clip":1,"note":"n"}],"resistances":[],"__proto__":{"live":7},"mine":[1]}',
    );
    expect(asBenchRecord(record)).toBe(record);
    expect(JSON.stringify(record)).toContain('"__proto__":{"live":7},"mine":[1]');
    expect(() =>
      asBenchRecord(JSON.parse('{"__proto__":{"format":"bench/1","clips":[],"resistances":[]}}')),
    ).toThrow('format: missing');
    expect(({} as { live?: unknown }).live).toBeUndefined();
  });

  it('is refused when an unknown field is nested 100,000 deep', () => {
    const deep = `${'['.repeat(100_000)}${']'.repeat(100_000)}`;
    expect(refusal((record) => (record.mine = JSON.parse(deep)))).toBe(
      'mine: nested more than 64 deep; expected at most 64 levels',
    );
    expect(refusal((record) => (record.clips[0] = JSON.parse(deep)))).toBe(
      'clips[0]: a list of 1 is not an object; expected an object with "clip"',
    );
  });

  it('shows control characters of what stood there', () => {
    expect(refusal((record) => (record.resistances[0].ohm = '\x1b[2J\u202e'))).toBe(
      'resistances[0].ohm: "\\x1b[2J\\u{202e}" is not a number; expected ohms, 0 or more, or null',
    );
  });
});

describe('a field that is not known', () => {
  const told = (document: object): string[] => {
    const sentences: string[] = [];
    asBenchRecord({ format: 'bench/1', clips: [{ clip: 1 }, { clip: 2 }], resistances: [], ...document }, (one) => sentences.push(one));
    return sentences;
  };
  it('and looks like one of ours is told with the one that was meant', () => {
    expect(told({ observd: [] })).toEqual(['observd: no such field, so it is ignored; did you mean observed?']);
    expect(told({ Observed: [] })).toEqual(['Observed: no such field, so it is ignored; did you mean observed?']);
    expect(told({ temperature: 21 })).toEqual(['temperature: no such field, so it is ignored; did you mean temperature_C?']);
  });
  it('is told once for all entries of a list', () => {
    const resistances = [{ a: 1, b: 2, ohm: 4100, u_ohms: 1 }, { a: 1, b: 2, ohm: 4100, u_ohms: 1 }];
    expect(told({ resistances })).toEqual(['resistances[0].u_ohms: no such field, so it is ignored; did you mean u_ohm?']);
  });
  it('and looks like none is kept as before, without a word', () => {
    expect(told({ shelf: 'B2', c: 1, remarks: { by: 'me' } })).toEqual([]);
    expect(told({ observed: [{ plus: 1, minus: 2, swing: 'none', by: 'me' }] })).toEqual([]);
  });
});
