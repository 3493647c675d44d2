/** Partners, outliers and pictures of a lot, against the harness's own circuit and against SciPy. */
import { describe, expect, it } from 'vitest';
import { histogram, scatter } from '../../host/src/records/charts.ts';
import { factsOf } from '../../host/src/records/facts.ts';
import { lotLines } from '../../host/src/shop/lot-lines.ts';
import { csvLine } from '../../host/src/text/csv.ts';
import { compared } from '../../host/src/records/leads-of.ts';
import { findOutliers, median, medianDeviation } from '../../host/src/records/outliers.ts';
import { asPartner, rankPartners } from '../../host/src/records/partners.ts';
import { positionsOf } from '../../host/src/harness/positions.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { load } from '../harness/example-harnesses.ts';
import { askPython } from '../reference/python.ts';
import { mapOf, RECORD } from './behaviour.ts';

const CLIPS = ['BU', 'YE', 'GY', 'VT'].map((colour, index) => ({ clip: index + 1, colour }));
const single = (number: string, ohm: number, pole: 'N' | 'S' | null, henry = 2.5, more: Partial<WireMap> = {}) =>
  compared(number, mapOf([{ ohm, pole, henry }], more), CLIPS);
const double = (number: string, ohms: readonly [number, number], poles: readonly ['N' | 'S', 'N' | 'S']) =>
  compared(number, mapOf([{ ohm: ohms[0], pole: poles[0], henry: 2 }, { ohm: ohms[1], pole: poles[1], henry: 2 }]), CLIPS);
/** The same pickup with plus and minus of each coil exchanged. */
const turned = (number: string, map: WireMap) =>
  compared(number, { ...map, coils: map.coils.map((coil) => ({ ...coil, plus: coil.minus, minus: coil.plus })) }, CLIPS);

describe('partners', () => {
  it('put a pair that cancels first, then the nearest, and say what is to be done', () => {
    const own = single('1', 6000, 'N');
    const ranked = rankPartners(own, [
      single('equal poles', 6000, 'N'), single('far', 7000, 'S', 3.2), single('near', 6060, 'S', 2.52), single('unknown', 6000, null),
      turned('exchanged', single('', 6060, 'S', 2.52).map),
    ]);
    expect(ranked.map(({ number, hum }) => [number, hum])).toEqual([
      ['near', 'both'], ['exchanged', 'both'], ['far', 'both'], ['unknown', 'not known'], ['equal poles', 'stays']]);
    expect(ranked[0]!.reason).toBe(
      'hum cancels when both sound (0 % of it is left); 1.0 % more ohms, 0.8 % more henries; in phase when wired by the same colours');
    expect(ranked[1]!.reason).toMatch(/; out of phase by the same colours: exchange the two leads of each of its coils$/);
    expect(ranked[3]!.reason).toMatch(/^whether hum cancels is not known: a pole is missing;/);
    expect(ranked[4]!.reason).toMatch(/^hum stays when both sound \(100 % of it is left\);/);
  });

  it('name the coils of two that cancel with one coil each, which two hum-cancelling pickups always can', () => {
    const found = asPartner(double('a', [4000, 4100], ['N', 'S']), double('b', [4050, 4000], ['N', 'S']));
    expect(found.hum).toBe('both');
    expect(found.reason).toMatch(/also coil [12] of a with coil [12] of b/);
    // A pair of equal poles hums as a whole, and one of its coils cancels with the other pole of the partner.
    expect(asPartner(double('a', [4000, 4100], ['N', 'N']), double('b', [4050, 4000], ['N', 'S'])))
      .toMatchObject({ hum: 'one coil each', reason: expect.stringMatching(/one coil each: coil [12] of a with coil 2 of b/) });
    expect(asPartner(single('a', 6000, 'N'), double('b', [6000, 6000], ['S', 'N']))).toMatchObject({ hum: 'one coil each' });
  });

  it('take what the sections of a winding make in each other into its henries', () => {
    const [L, f] = [2.5, 0.38];
    const tapped = (pair: Partial<WireMap['pairs'][number]>) => compared('tapped', mapOf(
      [{ ohm: 6000 * f, pole: 'N', henry: f * f * L }, { ohm: 6000 * (1 - f), pole: 'N', henry: (1 - f) ** 2 * L }],
      { pairs: [{ a: 'coil 1', b: 'coil 2', poles_differ: false, witnesses: ['one_winding'], ...pair }] },
    ), CLIPS);
    const whole = single('whole', 6000, 'N', L);
    expect(asPartner(whole, tapped({})).henries).toBeCloseTo(0, 12);
    expect(asPartner(tapped({}), whole).henries).toBeCloseTo(0, 12);
    expect(asPartner(whole, tapped({ mutual_H: f * (1 - f) * L * 0.96 })).henries).toBeCloseTo(-2 * f * (1 - f) * 0.04, 12);
    expect(factsOf(RECORD, tapped({}).map).henry).toBeCloseTo(L, 9);
    // Two windings that couple are two windings still.
    const two = mapOf([{ ohm: 4000, pole: 'N', henry: 2 }, { ohm: 4000, pole: 'S', henry: 3 }],
      { pairs: [{ a: 'coil 1', b: 'coil 2', poles_differ: true, witnesses: ['coupling'], mutual_H: 0.2 }] });
    expect(factsOf(RECORD, two).henry).toBe(5);
    expect(factsOf(RECORD, mapOf([{ ohm: 4000, pole: 'N', henry: 2 }, { ohm: 4000, pole: 'S' }])).henry).toBeNull();
  });

  it('never send the frame to hot, and go by the map where colours differ or plus is unknown', () => {
    const own = single('1', 6000, 'N');
    const tied = compared('tied', { ...turned('', single('', 6000, 'S').map).map, chassis: [1, 5], joined: [[1, 5]] }, CLIPS);
    expect(asPartner(own, tied).reason).toMatch(/its frame is on one end: part the frame from that end before its leads are exchanged$/);
    const other = compared('x', single('', 6000, 'S').map, [{ clip: 1, colour: 'PK' }, { clip: 2, colour: 'TQ' }]);
    expect(asPartner(own, other)).toMatchObject({ needsExchange: null, reason: expect.stringMatching(/plus and minus of its own map/) });
    const { map } = single('', 6000, 'S');
    const unknown = compared('y', { ...map, coils: map.coils.map((coil) => ({ ...coil, plus: null, minus: null })) }, CLIPS);
    expect(asPartner(own, unknown)).toMatchObject(
      { needsExchange: null, reason: expect.stringMatching(/touch it again before it is wired$/) });
  });

  it('leave as much hum as the circuit of a harness says that has nothing but the two in parallel', () => {
    const chance = new RandomStream(7, 'partners');
    const harness = {
      format: 'harness/1', slots: ['a', 'b'].map((slot) => ({ slot, hot: 'out', ground: 'gnd', frame: 'gnd' })), joins: [], parts: [],
      switches: [], output: { hot: 'out', ground: 'gnd' }, fitted: ['a', 'b'].map((slot) => ({ slot, map: `${slot}.wiremap.json` })),
    };
    for (let round = 0; round < 40; round += 1) {
      const pole = (): 'N' | 'S' => (chance.unit() < 0.5 ? 'N' : 'S');
      const any = () => single('', 4000 + 5000 * chance.unit(), pole(), 1.5 + 2 * chance.unit());
      const [a, b] = [any(), any()];
      const [setting] = positionsOf(load({ harness: harness as never, maps: [a.map, b.map] as never })).settings;
      // The circuit is solved at 82.41 Hz, where an inductance of 3 H adds 1.5 kilohm at a right angle; ours takes the ohms alone.
      expect(Math.abs(asPartner(a, b).left! - setting!.hum!)).toBeLessThan(0.05);
    }
  });
});

describe('outliers', () => {
  const lot = (count: number, ohm: (index: number) => number) =>
    Array.from({ length: count }, (_, index) => single(String(index), ohm(index), 'N'));

  it('agree with SciPy on median and MAD', () => {
    const chance = new RandomStream(3, 'robust');
    const lists = Array.from({ length: 60 }, (_, index) => Array.from({ length: 1 + (index % 17) }, () => 1e4 * chance.unit()));
    const nasty = ['=1+1', '+x', '-x', '@x', ' =x', '"quoted", and comma', 'line\nbreak', '\u202Eabc', '\x1b[31m', 'plain', ''];
    const table = csvLine(nasty) + csvLine([1.5, true, null]);
    const answer = askPython<{ median: number[]; mad: number[]; rows: string[][] }>('robust_statistics.py', { lists, table });
    lists.forEach((list, index) => {
      expect(median(list)).toBeCloseTo(answer.median[index]!, 9);
      expect(medianDeviation(list)).toBeCloseTo(answer.mad[index]!, 9);
    });
    // Read by Python's csv module: no cell is a formula, no control reaches whoever prints it, nothing moves to another cell.
    expect(answer.rows).toEqual([
      ["'=1+1", "'+x", "'-x", "'@x", "' =x", '"quoted", and comma', 'line\\nbreak', '\\u{202e}abc', '\\x1b[31m', 'plain', ''],
      ['1.5', 'yes', ''],
    ]);
  });

  it('name the one that differs, in what and by how much, and nobody in an ordinary lot', () => {
    const wave = (index: number): number => 6000 + 40 * Math.sin(index * 2.4);
    expect(findOutliers(lot(12, wave)).outliers).toEqual([]);
    const [only, ...none] = findOutliers(lot(12, (index) => (index === 7 ? 5400 : wave(index)))).outliers;
    expect(none).toEqual([]);
    expect(only).toMatchObject({ number: '7', isReversed: false });
    expect(only!.text).toMatch(
      /^coil BU-YE: resistance 5\.4 kohm, (9|10)\.\d % below the median \d\.\d+ kohm \(MAD \d+\.?\d* ohm, n = 12\)$/);
    expect(findOutliers(lot(4, (index) => (index === 3 ? 1000 : 6000))).outliers).toEqual([]);
  });

  it('put a reversed twin first, and tell a turned magnet from a turned winding, and both from either', () => {
    const all = [...lot(8, (index) => (index === 0 ? 5000 : 6000 + index)), turned('winding', single('', 6000, 'N').map),
      turned('magnet', single('', 6000, 'S').map), single('both', 6000, 'S')];
    const found = findOutliers(all).outliers;
    expect(found.map(({ number, isReversed }) => [number, isReversed])).toEqual(
      [['winding', true], ['magnet', true], ['both', true], ['0', false]]);
    expect(found[0]!.text).toBe('coil BU-YE: plus is BU, of 9 in 11 it is YE; it is wound the other way, or its two leads are exchanged');
    expect(found[1]!.text).toMatch(/; the pole is S, of 9 in 11 it is N; its magnet is the other way round$/);
    expect(found[2]!.text).toMatch(/^coil BU-YE: the pole is S, .*; it is wound the other way and its magnet is turned: hum cancels/);
  });

  it('compare windings where both poles are known, however few they are', () => {
    const tell = (poles: readonly ('N' | 'S' | null)[], odd: 'N' | 'S' | null): string[] => findOutliers([
      ...poles.map((pole, index) => single(String(index), 6000, pole)), turned('odd', single('', 6000, odd).map),
    ]).outliers.filter(({ number }) => number === 'odd').map(({ text }) => text.split('; ').at(-1)!);
    // N with YE plus and S with BU plus: from BU to YE both run clockwise.
    expect(tell(['N', null, null], 'S')).toEqual(['its magnet is the other way round']);
    expect(tell(['N', null, null], 'N')).toEqual(['it is wound the other way, or its two leads are exchanged']);
    const open = 'it is wound the other way, its two leads are exchanged, or its magnet is turned: a magnet reading would tell';
    expect(tell([null, null, null], 'S')).toEqual([open]);
    expect(tell(['N', 'N', null], null)).toEqual([open]);
    // Of two that are known the windings differ: neither tells what the others are.
    expect(tell(['N', 'S', null], 'S')).toEqual([open]);
  });

  it('say nothing of the winding of one whose plus is not known', () => {
    const { map } = single('', 6000, 'S');
    const unknown = compared('odd', { ...map, coils: map.coils.map((coil) => ({ ...coil, plus: null, minus: null })) }, CLIPS);
    expect(findOutliers([...lot(4, () => 6000), unknown]).outliers.map(({ text }) => text)).toEqual([
      'coil BU-YE: the pole is S, of 4 in 5 it is N; its magnet is turned; which way it is wound is not known']);
  });

  it('compare only look-alikes', () => {
    const { groups, outliers } = findOutliers([...lot(6, () => 6000), double('d', [1, 2], ['N', 'S'])]);
    expect(groups).toEqual([
      { leads: 'BU-YE', n: 6, senses: 'compared', values: 'compared' }, { leads: 'BU-YE, GY-VT', n: 1, senses: 'too few', values: 'too few' },
    ]);
    expect(outliers).toEqual([]);
  });

  it('say what could not be compared, in place of calling it alike', () => {
    const told = (pickups: readonly ReturnType<typeof single>[]): string[] => lotLines({ lines: [], report: findOutliers(pickups) }, 200);
    expect(told(lot(6, () => 6000))).toEqual(['Compared: 6 with BU-YE.', 'None differs from the others.']);
    expect(told(lot(2, () => 6000))).toEqual([
      'Compared: 2 with BU-YE (too few).',
      'Too few to compare: 3 look-alikes show which of them is reversed, 5 whose values are apart.']);
    expect(told(lot(4, (index) => 6000 + 900 * index))).toEqual([
      'Compared: 4 with BU-YE (too few for values).', 'In what was compared none differs from the others.']);
    const poles = (['N', 'N', 'S', 'S'] as const).map((pole, index) => single(String(index), 6000, pole));
    expect(told(poles)[0]).toBe('Compared: 4 with BU-YE (two ways round, neither that of most) (too few for values).');
    const silent = lot(5, () => 6000).map((one) => compared(one.number, {
      ...one.map, coils: one.map.coils.map((coil) => ({ ...coil, plus: null, minus: null, pole: null })),
    }, CLIPS));
    expect(told(silent)[0]).toBe('Compared: 5 with BU-YE (which way round not: plus and pole of too few are known).');
  });
});

describe('pictures of a lot', () => {
  it('count every value once', () => {
    expect(histogram([6000, 6010, 6100, 6120, 6190, 7000], 40, (ohm) => ohm.toFixed(0))).toEqual([
      '6000 │████████████████████████████ 5', '6500 │', '7000 │██████ 1',
    ]);
    expect(histogram([5], 20, String)).toHaveLength(1);
    expect(histogram([], 20, String)).toEqual(['nothing to count']);
  });

  it('put points where they belong', () => {
    const words = { x: (value: number) => value.toFixed(0), y: (value: number) => value.toFixed(1) };
    expect(scatter([{ x: 0, y: 0 }, { x: 100, y: 1 }, { x: 100, y: 1 }, { x: 50, y: 0.5 }], 30, 7, words)).toEqual([
      ' 1.1 │                      2',
      '     │',
      '     │            ·',
      '     │',
      '-0.1 │ ·',
      '     └────────────────────────',
      '      -5                   105',
    ]);
  });
});
