/** Ohms that no network reads are asked back, and ohms that some network reads never are, however its resistances branch and close rings. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { contradictionOf, type OhmsRead } from '../../host/src/entry/chains.ts';
import { pairsOf } from '../../host/src/entry/networks.ts';
import { OVER_RANGE_ohm } from '../../host/src/entry/values.ts';
import type { Pickup, PickupCoil } from '../../host/src/pickup/pickup.ts';
import { LeadNetwork } from '../lots/lead-network.ts';

const SEED = 31;
/** Share by which a hand-held meter errs between readings, and ohms of its leads (as `person.ts` has them, at their most). */
const METER = { share: 0.002, ohm: 0.3 } as const;
const CLIPS_most = 6;
/** Nodes: those of the leads, and some where no lead is. */
const NODES = 9;

/** Resistors between nodes, as windings of a pickup: trees, rings and parts that hang together by nothing. */
function networkOf(resistors: readonly (readonly [number, number, number])[], nodes: readonly number[]): LeadNetwork {
  const coils = resistors.map(([from, to, ohm], index): PickupCoil => ({
    id: `r${index}`, from: `n${from}`, to: `n${to}`, resistance_ohm_20C: ohm, inductance_H: 1, capacitance_F: 0, winding: 'cw', pole: 'N', place: `p${index}`,
  }));
  const leads = nodes.map((node, index) => ({ clip: index + 1, colour: 'GY', node: `n${node}` }));
  return new LeadNetwork({ coils, leads, faults: [], couplings: [], temperature_C: 20 } as unknown as Pickup);
}

const node = fc.integer({ min: 0, max: NODES - 1 });
const between = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });
const resistor = fc.tuple(node, node, fc.oneof(between(0.1, 40), between(400, 30_000), between(1e6, 9e6)))
  .filter(([from, to]) => from !== to);
const set = fc.record({
  resistors: fc.array(resistor, { minLength: 1, maxLength: 14 }),
  nodes: fc.array(node, { minLength: 3, maxLength: CLIPS_most }),
  errors: fc.array(fc.tuple(between(-1, 1), between(0, 1)), { minLength: 15, maxLength: 15 }),
  digits: fc.constantFrom(2, 3, 4),
  most_ohm: fc.constantFrom(20_000, 200_000, OVER_RANGE_ohm, 2e7),
  order: fc.array(between(0, 1), { minLength: 15, maxLength: 15 }),
});

type Drawn = typeof set extends fc.Arbitrary<infer T> ? T : never;

/** All pairs as a person reads them, in some order. */
function readingsOf({ resistors, nodes, errors, digits, most_ohm, order }: Drawn): OhmsRead[] {
  const network = networkOf(resistors, nodes);
  const read = pairsOf(nodes.length).map(([i, j], at): OhmsRead => {
    const ask = { kind: 'ohms', a: i + 1, b: j + 1 } as const;
    const true_ohm = network.resistance(i + 1, j + 1);
    const [share, lead] = errors[at]!;
    const shown = true_ohm * (1 + METER.share * share) + METER.ohm * lead;
    if (shown > most_ohm) return { ask, value: { ohm: null, above_ohm: most_ohm } };
    return { ask, value: { ohm: Number(shown.toPrecision(shown < 10 ? 1 : digits)) } };
  });
  return read.map((one, at) => ({ one, key: order[at]! })).sort((a, b) => a.key - b.key).map(({ one }) => one);
}

describe('readings that no network of resistances has', () => {
  it('are none of those that a network has: any tree or ring, read in any order with a meter of two to four digits', () => {
    fc.assert(fc.property(set, (drawn) => {
      const read = readingsOf(drawn);
      for (const [at, one] of read.entries()) expect(contradictionOf(one, read.slice(0, at))).toBeNull();
    }), { numRuns: 3000, seed: SEED });
  });
  it('are found whatever the order, where one of a network\'s readings that others join is over range', () => {
    let found = 0;
    fc.assert(fc.property(set, fc.nat(), (drawn, which) => {
      const read = readingsOf({ ...drawn, most_ohm: OVER_RANGE_ohm });
      const at = which % read.length;
      const { ask, value } = read[at]!;
      const joined = [...Array(CLIPS_most).keys()].map((index) => index + 1).some((clip) => {
        const to = (end: number): number => read.find((one) => {
          const ends = [one.ask.a, one.ask.b];
          return ends.includes(clip) && ends.includes(end);
        })?.value.ohm ?? Infinity;
        return clip !== ask.a && clip !== ask.b && Math.max(to(ask.a), to(ask.b)) < 1e5;
      });
      if (value.ohm === null || !joined) return;
      found++;
      const slipped = read.map((one, index): OhmsRead => (index === at ? { ask, value: { ohm: null, above_ohm: OVER_RANGE_ohm } } : one));
      const asked = slipped.flatMap((one, index) => contradictionOf(one, slipped.slice(0, index)) ?? []);
      expect(asked.length).toBeGreaterThan(0);
      // Whoever noted it first is asked about that pair, not about one that was read right.
      if (asked[0]!.kind === 'was open') expect(asked[0]!.other.ask).toEqual(ask);
    }), { numRuns: 500, seed: SEED });
    expect(found).toBeGreaterThan(50);
  });
  const read = (a: number, b: number, ohm: number | null, above_ohm = OVER_RANGE_ohm): OhmsRead =>
    ({ ask: { kind: 'ohms', a, b }, value: ohm === null ? { ohm, above_ohm } : { ohm } });

  it('are named by what is odd: open, more, less, or open before', () => {
    const [one, other] = [read(2, 4, 4100), read(3, 4, 4200)];
    expect(contradictionOf(read(2, 3, null), [one, other])).toEqual({ kind: 'open', chain: [one, other] });
    expect(contradictionOf(read(2, 3, 12_000), [one, other])).toEqual({ kind: 'more', chain: [one, other], most_ohm: 8300 });
    const [large, open] = [read(2, 3, 12_000), read(2, 3, null)];
    expect(contradictionOf(one, [large, other])).toEqual({ kind: 'less', other: large, rest: [other], least_ohm: 7800 });
    expect(contradictionOf(other, [open, one])).toEqual({ kind: 'was open', other: open, chain: [one, other] });
    // Two pairs that were over range speak against the one that would join both.
    expect(contradictionOf(other, [open, read(1, 3, null), read(1, 4, 300), one])).toMatchObject({ kind: 'less', other: open });
  });
  it('are not what a meter\'s uncertainty makes of a sum, what a range hides, or a pair that comes and goes', () => {
    expect(contradictionOf(read(2, 3, 8400), [read(2, 4, 4100), read(3, 4, 4200)])).toBeNull();
    expect(contradictionOf(read(2, 3, null, 8000), [read(2, 4, 4100), read(3, 4, 4200)])).toBeNull();
    expect(contradictionOf(read(2, 3, null), [read(2, 4, 4100), read(3, 4, 4200), read(3, 4, null)])).toBeNull();
    expect(contradictionOf(read(2, 3, null), [read(2, 4, 4100), read(3, 4, 9e5)])).toBeNull();
  });
});
