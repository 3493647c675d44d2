/**
 * Records that a person typed in from meters of their own: each slip of the fingers gets its true reason and the one reading
 * that settles it, beside the mirror case in which the same numbers are right.
 */
import { describe, expect, it } from 'vitest';
import { asBenchRecord } from '../../host/src/files/bench-file.ts';
import type { BenchRecord } from '../../host/src/files/bench-record.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { wiringPlan } from '../../host/src/wiring/plan.ts';
import { inventPickup } from '../lots/generator.ts';
import { solveRecord } from '../lots/solve-record.ts';
import { truthOf } from '../lots/truth.ts';
import { inventHabits, SLIPS, typedRecord, withSlip } from './typed-record.ts';
import { wrongWords } from './wrong-words.ts';

const logic = createLogic();

type Reading = readonly [a: number, b: number, ohm: number | null];
type Swing = readonly [at: string, plus: number, minus: number, swing: '+' | '-' | '0', peak_V?: number | undefined];
const WORD = { '+': 'positive', '-': 'negative', '0': 'none' } as const;

/** A record as typed: colours of clips 1, 2 ..., ohms (null: open), swings, poles by place. */
function typed(
  colours: readonly string[], readings: readonly Reading[], swings: readonly Swing[], poles: Readonly<Record<string, 'N' | 'S'>> = {},
): BenchRecord {
  return asBenchRecord({
    format: 'bench/1',
    clips: colours.map((colour, index) => ({ clip: index + 1, colour })),
    resistances: readings.map(([a, b, ohm]) => (ohm === null ? { a, b, ohm, above_ohm: 2e7 } : { a, b, ohm })),
    observed: swings.map(([at, plus, minus, swing, peak_V]) =>
      ({ at, plus, minus, swing: WORD[swing], ...(peak_V === undefined ? {} : { peak_V }) })),
    magnets: Object.entries(poles).map(([at, pole]) => ({ at, pole })),
  });
}

function solve(record: BenchRecord): WireMap {
  return solveRecord(logic, record);
}
const said = (map: WireMap): string => [...map.findings.map(({ text }) => text), ...map.unknown].join('\n');

const FOUR = ['BU', 'YE', 'GY', 'VT'];
const APART: readonly Reading[] = [[1, 3, null], [1, 4, null], [2, 3, null], [2, 4, null]];
const TWO: readonly Reading[] = [[1, 2, 4100], [3, 4, 4200], ...APART];
const POLES = { upper: 'N', lower: 'S' } as const;
const BOTH: readonly Swing[] = [['upper', 1, 2, '+'], ['upper', 3, 4, '0'], ['lower', 3, 4, '+'], ['lower', 1, 2, '0']];

describe('kilohms typed as ohms', () => {
  const one = (ohm: number): WireMap => solve(typed(['BU', 'YE'], [[1, 2, ohm]], [['single', 1, 2, '+'], ['single', 1, 2, '+']], { single: 'N' }));

  it('16 ohm for a whole pickup is asked back', () => {
    const map = one(16);
    expect(map.verdict).toBe('unsure');
    expect(said(map)).toContain('Whether clips 1 and 2 read ohms or kilohms');
    // What was seen of plus and minus does not hang on the ohms.
    expect(map.coils[0]).toMatchObject({ plus: 1, minus: 2 });
  });
  it('16 kilohm is good', () => { expect(one(16000).verdict).toBe('good'); });
  it('a coil of 4.1 and one of 4.2 are asked back, and not called bad joints', () => {
    const map = solve(typed(FOUR, [[1, 2, 4.1], [3, 4, 4.2], ...APART], BOTH, POLES));
    expect(map.verdict).toBe('unsure');
    expect(map.findings).toEqual([]);
    expect(map.unknown.filter((text) => text.includes('ohms or kilohms'))).toHaveLength(2);
  });
  it('1.9 is asked back, which would be a joint', () => {
    expect(said(one(1.9))).toContain('ohms or kilohms');
  });
  it('one reading of three in a line is taken as kilohms, since only so it fits the others', () => {
    const map = solve(typed(['BU', 'YE', 'GY'], [[1, 2, 4100], [2, 3, 6.2], [1, 3, 10300]],
      [['upper', 1, 2, '+'], ['upper', 2, 3, '0'], ['lower', 2, 3, '+'], ['lower', 1, 2, '0']], POLES));
    expect(map.verdict).toBe('unsure');
    expect(map.coils.map(({ ends, ohm }) => [ends, ohm])).toEqual([[[1, 2], 4100], [[2, 3], 6200]]);
    expect(said(map)).toContain('taken as kilohms');
  });
  it('a bad joint of 6 ohm beside a coil stays a bad joint: both of its ends read alike', () => {
    const map = solve(typed(['BU', 'YE', 'GY'], [[1, 2, 4100], [2, 3, 6.2], [1, 3, 4110]], [['single', 1, 2, '+'], ['single', 1, 2, '+']]));
    expect(map.findings).toContainEqual(expect.objectContaining({ kind: 'bridge', severity: 'fault' }));
    expect(said(map)).not.toContain('kilohms');
  });
  it('a tester knows what it measured: nothing is asked back', () => {
    const record = typed(['BU', 'YE'], [[1, 2, 16]], [['single', 1, 2, '+']]);
    expect(said(solve({ ...record, tester: { serial: 'T' } }))).not.toContain('kilohms');
  });
});

describe('joined leads', () => {
  const joined = (first: number | null, second: number | null): WireMap =>
    solve(typed(['BU', 'YE', 'GY'], [[1, 2, 0.2], [1, 3, first], [2, 3, second]], [['single', 1, 3, '+'], ['single', 1, 3, '+']], { single: 'N' }));

  it('that read ten times apart against a third one are a contradiction, and not good', () => {
    const map = joined(410, 4100);
    expect(map.verdict).toBe('unsure');
    expect(said(map)).toContain('Clips 1 and 2 are joined, yet against clip 3 one reads 410 ohm and the other 4100 ohm');
    expect(map.coils.every(({ plus }) => plus === null)).toBe(true);
  });
  it('of which one reads open are a contradiction', () => {
    expect(joined(null, 4100).verdict).toBe('unsure');
    expect(said(joined(null, 4100))).toContain('one reads open and the other 4100 ohm');
  });
  it('that read alike are good', () => { expect(joined(4090, 4100).verdict).toBe('good'); });
  it('5.74k and 3.51k beside 9.27k are a tap and no fault', () => {
    const map = solve(typed(['BU', 'YE', 'GY'], [[1, 2, 5740], [2, 3, 3510], [1, 3, 9270]],
      [['single', 1, 2, '+'], ['single', 2, 3, '+'], ['single', 1, 2, '+'], ['single', 2, 3, '+']]));
    expect(map.verdict).toBe('good');
    expect(map.coils).toHaveLength(2);
  });
});

describe('a stack of three leads', () => {
  const three = (swings: readonly Swing[]): WireMap =>
    solve(typed(['BU', 'YE', 'GY'], [[1, 2, 4100], [2, 3, 4000], [1, 3, 8100]], swings, { single: 'N' }));
  const opposite: readonly Swing[] = [['single', 1, 2, '+'], ['single', 2, 3, '-']];

  it('is no tapped coil when all swings on both sides of the link go opposite ways', () => {
    const map = three([...opposite, ...opposite, ...opposite]);
    expect(map.verdict).toBe('unsure');
    expect(map.coils.some(({ text }) => text === 'Part of a tapped winding.')).toBe(false);
    expect(said(map)).toContain('no tap of one winding');
    expect(said(map)).toContain('note how large each swing is');
    expect(wiringPlan(map).layouts.map(({ kind, unsigned }) => [kind, unsigned])).toEqual([['alone', true], ['alone', true]]);
  });
  it('one swing on each side says it too', () => { expect(three(opposite).verdict).toBe('unsure'); });
  it('swings that go together are a tapped coil', () => {
    const map = three([['single', 1, 2, '+'], ['single', 2, 3, '+'], ['single', 1, 2, '+'], ['single', 2, 3, '+']]);
    expect(map.verdict).toBe('good');
    expect(map.coils.map(({ plus }) => plus)).toEqual([1, 2]);
  });
  it('one wrong among three is a contradiction and no stack', () => {
    const together: readonly Swing[] = [['single', 1, 2, '+'], ['single', 2, 3, '+']];
    expect(said(three([...together, ...together, ...opposite]))).not.toContain('no tap of one winding');
  });
});

describe('a pair that fights', () => {
  const hidden = (swings: readonly Swing[]): WireMap => solve(typed(['BU', 'YE'], [[1, 2, 8100]], swings, POLES));

  it('seen once at each place is told as that, and no wiring is offered', () => {
    const map = hidden([['upper', 1, 2, '+'], ['lower', 1, 2, '-']]);
    expect(map.verdict).toBe('unsure');
    expect(said(map)).toContain('opposite ways, once each');
    expect(said(map)).not.toContain('too faint');
    expect(wiringPlan(map).layouts).toEqual([]);
  });
  it('seen twice at each place is a fault', () => {
    expect(hidden([['upper', 1, 2, '+'], ['lower', 1, 2, '-'], ['upper', 1, 2, '+'], ['lower', 1, 2, '-']]).findings)
      .toContainEqual(expect.objectContaining({ kind: 'out_of_phase', severity: 'fault' }));
  });
  it('that works together is worth one swing when it was seen once at each place', () => {
    const [coil] = hidden([['upper', 1, 2, '+'], ['lower', 1, 2, '+']]).coils;
    expect(coil?.plus).toBe(1);
    expect(coil?.confidence).toBeLessThan(0.981);
  });
  it('a coil of unknown polarity in the way is part of the circuit: no way past it is offered', () => {
    // Three in a row; the middle one is in doubt. Its neighbours in series would be joined across it.
    const map = solve(typed(FOUR, [[1, 2, 4100], [2, 3, 4200], [3, 4, 4000], [1, 3, 8300], [2, 4, 8200], [1, 4, 12300]], [
      ['upper', 1, 2, '+'], ['upper', 3, 2, '0'], ['upper', 4, 3, '0'], ['upper', 1, 2, '+'],
      ['middle', 3, 2, '+'], ['middle', 3, 2, '-'], ['middle', 1, 2, '0'], ['middle', 4, 3, '0'],
      ['lower', 4, 3, '+'], ['lower', 1, 2, '0'], ['lower', 3, 2, '0'], ['lower', 4, 3, '+'],
    ]));
    expect(map.coils.map(({ plus }) => plus)).toEqual([1, null, 4]);
    // In series, 1 joined to 3 would lay the middle one across the first, and 4 joined to 2 across the last; in parallel it is shorted.
    expect(wiringPlan(map).layouts.map(({ kind, unsigned }) => (unsigned ? `${kind} unsigned` : kind)))
      .toEqual(['parallel', 'alone', 'alone', 'alone unsigned']);
  });
});

describe('a bridged coil', () => {
  it('keeps its ends, on the frame', () => {
    const map = solve(typed(['BU', 'YE', 'BARE'], [[1, 2, 4100], [1, 3, 1610], [2, 3, 2530]], [['single', 1, 2, '+']]));
    expect(map.coils.map(({ ends }) => ends)).toEqual([[1, 2]]);
  });
  it('keeps its ends in each of 60 invented pickups with a bridge whose coil has both ends brought out', () => {
    const seed = 11;
    let [met, lost] = [0, 0];
    for (let number = 0; met < 60; number++) {
      const one = inventPickup(seed, number, { health: 'any' });
      if (one.faults.join() !== 'bridge') continue;
      met++;
      const chance = new RandomStream(seed + number, 'typing');
      const truth = truthOf(one.pickup);
      const map = solve(typedRecord(one, truth, inventHabits(chance), chance));
      if (map.coils.every(({ ends }) => ends !== null)) continue;
      lost++;
      // A bridge to a point between two taps: three arms inside, nothing is called good.
      expect(map.verdict, `seed ${seed}, pickup ${number}`).toBe('unsure');
    }
    expect(lost).toBeLessThan(2);
  });
});

describe('a sign that is missing gets its true reason and one reading', () => {
  const pair = (swings: readonly Swing[], readings = TWO): WireMap => solve(typed(FOUR, readings, swings, POLES));

  it('one swing for each coil without "none" at the other place: look at the other coil', () => {
    const map = pair([['upper', 1, 2, '+'], ['lower', 3, 4, '+']]);
    expect(map.coils.map(({ plus }) => plus)).toEqual([null, null]);
    expect(said(map)).toContain('the swing at the place "upper" may be no more than a share of coil 2');
    expect(said(map)).toContain('touch there again with the meter on clips 3 and 4');
    expect(said(map)).not.toContain('too faint');
  });
  it('and that reading settles it', () => {
    expect(pair([['upper', 1, 2, '+'], ['lower', 3, 4, '+'], ['upper', 3, 4, '0'], ['lower', 1, 2, '0']]).coils.map(({ plus }) => plus))
      .toEqual([1, 3]);
  });
  it('a forgotten pair: read that resistance', () => {
    const map = pair(BOTH, [[1, 2, 4100], ...APART]);
    expect(said(map)).toContain('Plus and minus of coil 1: its swing may belong to a coil among clips 3 and 4');
    expect(said(map)).not.toContain('too faint');
    expect(said(map)).not.toContain('hidden junction');
  });
  it('one swing of two typed wrong: touch once more', () => {
    const map = pair([...BOTH, ['upper', 1, 2, '-']]);
    expect(map.coils[0]?.plus).toBeNull();
    expect(said(map)).toContain('touch it once more with the meter on clips 1 and 2');
    expect(said(map)).not.toContain('too faint');
  });
  it('a swing typed for the other pair: nothing was noted of the coil there', () => {
    const map = pair([['upper', 1, 2, '+'], ['upper', 3, 4, '0'], ['lower', 1, 2, '+'], ['lower', 1, 2, '0']]);
    expect(said(map)).toContain('Plus and minus of coil 2: nothing was noted of it at the place "lower"; touch there with the meter on clips 3 and 4');
  });
  it('both coils swung and nobody noted how much: the larger one is the touched coil\'s', () => {
    const swings: readonly Swing[] = [['upper', 1, 2, '+'], ['upper', 3, 4, '+']];
    expect(said(pair(swings))).toContain('note how large each swing is');
    expect(pair([['upper', 1, 2, '+', 0.066], ['upper', 3, 4, '+', 0.005]]).coils[0]?.plus).toBe(1);
  });
  it('two swings that disagree with the rest are told, and not good', () => {
    const map = pair([['upper', 3, 4, '+'], ['upper', 1, 2, '0'], ...BOTH]);
    expect(map.verdict).toBe('unsure');
    expect(said(map)).toContain('does not fit the others');
    expect(pair([...BOTH, ...BOTH]).verdict).toBe('good');
  });
});

describe('one slip of the fingers', () => {
  const seed = 20;
  const pickups = 150;
  /** One typed swing is worth 0.98 (formats: `observed`). */
  const ONE_SWING = 0.9805;

  it(`never leads to a plus, minus or wiring that is wrong and surer than one swing (seed ${seed}, ${pickups} pickups, each slip)`, () => {
    const wrong: string[] = [];
    const counts = { records: 0, slips: 0, good: 0, clean: 0 };
    for (let number = 0; number < pickups; number++) {
      const one = inventPickup(seed, number, { health: number % 3 === 0 ? 'any' : 'sound' });
      if (one.faults.some((kind) => kind === 'live' || kind === 'intermittent')) continue;
      const truth = truthOf(one.pickup);
      const chance = new RandomStream(seed * 1000 + number, 'typing');
      const clean = typedRecord(one, truth, inventHabits(chance), chance);
      for (const slip of ['none', ...SLIPS] as const) {
        const record = slip === 'none' ? clean : withSlip(clean, slip, chance);
        if (record === null) continue;
        const map = solve(asBenchRecord(record));
        counts.records++;
        if (slip === 'none') counts.clean++;
        else counts.slips++;
        if (slip === 'none' && map.verdict === 'good') counts.good++;
        const words = wrongWords(one, truth, map).filter(({ confidence }) => confidence > ONE_SWING);
        if (words.length > 0) wrong.push(`pickup ${number}, ${one.family}, ${slip}: ${words.map(({ text }) => text).join('; ')}`);
      }
    }
    expect(wrong).toEqual([]);
    // Mirror: without a slip most are good, so nothing was bought by calling all unsure.
    expect(counts.good / counts.clean).toBeGreaterThan(0.75);
    expect(counts.slips).toBeGreaterThan(1500);
  }, 120_000);
});

describe('one coil looked at for each place', () => {
  // A neighbour sees 4 to 20 % of a swing (physics.md 4), and goes the same way each time.
  const own = (peak_V?: number): WireMap => {
    const once: Swing[] = [['upper', 1, 2, '+', peak_V], ['lower', 3, 4, '+', peak_V]];
    return solve(typed(FOUR, TWO, [...once, ...once], POLES));
  };
  it.each([undefined, 0.004, 0.006])('may be the neighbour both times: no plus, and it asks for the other (%s V)', (peak_V) => {
    const map = own(peak_V);
    expect(map.verdict).toBe('unsure');
    expect(map.coils.map(({ plus }) => plus)).toEqual([null, null]);
  });
  it('is that one where it moved as a hand moves its own', () => {
    expect(own(0.08)).toMatchObject({ verdict: 'good', coils: [{ plus: 1, place: 'upper' }, { plus: 3, place: 'lower' }] });
  });
  it('is no less sure the more often it is repeated', () => {
    const sureOf = (repeats: number): number => {
      const swings = Array.from({ length: repeats }, (): Swing[] => [['upper', 1, 2, '+', 0.08], ['lower', 3, 4, '+', 0.08]]).flat();
      return Math.min(...solve(typed(FOUR, TWO, swings, POLES)).coils.map(({ confidence }) => confidence ?? 0));
    };
    expect(sureOf(16)).toBeGreaterThanOrEqual(sureOf(2));
  });
  it('is sure with the other one still beside it', () => {
    const still: Swing[] = [['upper', 3, 4, '0'], ['upper', 3, 4, '0'], ['lower', 1, 2, '0'], ['lower', 1, 2, '0']];
    const map = solve(typed(FOUR, TWO, [['upper', 1, 2, '+'], ['upper', 1, 2, '+'], ['lower', 3, 4, '+'], ['lower', 3, 4, '+'], ...still], POLES));
    expect(map).toMatchObject({ verdict: 'good', coils: [{ plus: 1 }, { plus: 3 }] });
  });
  it('stays open where only the small swings got a size, and what a hand makes elsewhere tells them for shares', () => {
    const six: readonly Reading[] = [[1, 2, 7000], [3, 4, 7100], [5, 6, 7050]];
    const apart: Reading[] = [];
    for (const a of [1, 2]) for (const b of [3, 4, 5, 6]) apart.push([a, b, null]);
    for (const a of [3, 4]) for (const b of [5, 6]) apart.push([a, b, null]);
    const twice = (...swings: Swing[]): Swing[] => [...swings, ...swings];
    const map = solve(typed(['BU', 'YE', 'GY', 'VT', 'PK', 'TQ'], [...six, ...apart], twice(
      ['a', 1, 2, '-'], ['a', 3, 4, '+', 0.019], ['a', 5, 6, '0'], ['b', 3, 4, '+'], ['b', 1, 2, '+', 0.016], ['b', 5, 6, '0'],
      ['c', 5, 6, '+', 0.09], ['c', 1, 2, '0'], ['c', 3, 4, '0'])));
    const given = map.coils.filter(({ place }) => place === 'a' || place === 'b');
    for (const { ends, place } of given) expect([ends, place]).toEqual([place === 'a' ? [1, 2] : [3, 4], place]);
  });
});

describe('many readings', () => {
  const many = (count: number, swing: Swing): Swing[] => Array.from({ length: count }, () => swing);

  it('of one coil say nothing of another that nobody drove', () => {
    const { coils } = solve(typed(FOUR, TWO, [...many(24, ['upper', 2, 1, '+']), ...many(24, ['upper', 4, 3, '0'])]));
    expect(coils.map(({ plus }) => plus)).toEqual([2, null]);
  });
  it('beyond what there is room for are told', () => {
    const map = solve(typed(FOUR, TWO, [...many(40, ['upper', 2, 1, '+']), ...many(4, ['lower', 4, 3, '+'])]));
    expect(said(map)).toContain('more was measured than the solver holds');
  });
  it('at a ninth place count as readings without a place', () => {
    const swings: Swing[] = [];
    for (let n = 1; n <= 9; n++) swings.push([`p${n}`, 1, 2, n < 9 ? '0' : '+'], [`p${n}`, 1, 2, n < 9 ? '0' : '+']);
    expect(said(solve(typed(['BU', 'YE'], [[1, 2, 7000]], swings)))).not.toContain('no touch or swing drove it');
  });
});

describe('a digit that is wrong', () => {
  const three = (a: number, b: number, whole: number): WireMap =>
    solve(typed(['BU', 'YE', 'GY'], [[1, 3, a], [3, 2, b], [1, 2, whole]], [], POLES));
  it.each([[8010, 8820, 16030], [8180, 8211, 16070], [3789, 3830, 7480]])('of %d, %d and %d is read again, not mended with solder', (a, b, whole) => {
    const map = three(a, b, whole);
    expect(map.verdict).toBe('unsure');
    expect(map.findings.map(({ kind }) => kind)).not.toContain('bridge');
    expect(said(map)).toContain('test again');
  });
  it('that stands there each time it is read is what is there', () => {
    const readings: readonly Reading[] = [[1, 3, 8010], [3, 2, 8820], [1, 2, 16030]];
    const map = solve(typed(['BU', 'YE', 'GY'], [...readings, ...readings], [], POLES));
    expect(map.findings).toContainEqual(expect.objectContaining({ kind: 'bridge', severity: 'fault' }));
  });
  it('leaves a real contact beside a coil one, with the ohms that were read', () => {
    const map = three(7900, 20, 7920);
    expect(map.findings).toContainEqual(expect.objectContaining({ kind: 'bridge', severity: 'fault' }));
    expect(said(map)).toContain('connected by 20 ohm');
  });
  it('is told for too much where it is more than any coil has', () => {
    expect(said(solve(typed(['BU', 'YE'], [[1, 2, 9e4]], [])))).toContain('too much for a joint and too much for a coil');
  });
});

describe('a swing beside a spare lead', () => {
  it('accuses no coil of being broken at the place where it moved', () => {
    const map = solve(typed(['BU', 'YE', 'GY'], [[2, 1, 16740], [2, 3, null]], [['slug', 1, 2, '+'], ['screw', 2, 1, '+']]));
    expect(map.verdict).toBe('unsure');
    expect(map.findings.map(({ kind }) => kind)).not.toContain('open');
  });
});

describe('numbers at the end of what f32 holds', () => {
  it('a peak of next to nothing is no touch', () => {
    const at = (peak_V: number): WireMap => solve(typed(FOUR, TWO, [['upper', 1, 2, '+', peak_V], ['lower', 3, 4, '+', peak_V]], POLES));
    expect(at(1e-30)).toMatchObject({ verdict: at(1e-12).verdict, coils: [{ plus: null }, { plus: null }] });
  });
  it('more edges than a network has room for are given up, not kept', () => {
    const star: Reading[] = [];
    for (let a = 1; a <= 6; a++) for (let b = a + 1; b <= 6; b++) star.push([a, b, a > 3 === b > 3 ? 60000 : 63000]);
    star[0] = [1, 2, 60040];
    expect(solve(typed(['BU', 'YE', 'GY', 'VT', 'PK', 'TQ'], star, [])).verdict).not.toBe('good');
  });
  it.each([1.9e8, 2.5e8, 1e12])('a leak of %d ohm changes no verdict', (ohm) => {
    const swings: Swing[] = [['single', 1, 2, '+'], ['single', 1, 2, '+']];
    expect(solve(typed(['BU', 'YE', 'BARE'], [[1, 2, 7000], [1, 3, ohm], [2, 3, ohm]], swings, { single: 'N' })).verdict).toBe('good');
  });
});
