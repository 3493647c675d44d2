/** Seeded lots of invented pickups: what a wire map promises, kept on every one of them. */
import { pseudoInverse, Matrix } from 'ml-matrix';
import { beforeAll, describe, expect, it } from 'vitest';
import { asPickup } from '../../host/src/pickup/pickup-file.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';
import { inventPickup, type Family } from './generator.ts';
import type { Class } from './judge.ts';
import { LeadNetwork } from './lead-network.ts';
import { tallyRecords } from './record-lot.ts';
import { inWords, type Tally } from './tally.ts';
import { truthOf } from './truth.ts';
import { tallyTwin, testOnTwin } from './twin-lot.ts';

const SEED = 0x1f2e3d;

/** What no map may ever say wrongly of a sound pickup. */
const LIES: readonly Class[] = [
  'coils wrong',
  'joined wrong',
  'chassis wrong',
  'isolated wrong',
  'place wrong',
  'pole wrong',
  'winding wrong',
  'poles_differ wrong',
  'map breaks its own rules',
];

/** Pickups of this lot whose fault the map does not show, by kind: none at present. */
const KNOWN_MISSED: Readonly<Record<string, readonly number[]>> = {};

/** Lies on sound pickups, in words; empty when there are none. */
function liesOf(tally: Tally): string[] {
  return LIES.flatMap((name) =>
    (tally.classes[name]?.soundPickups ?? 0) === 0
      ? []
      : [
          `${name}: ${tally.classes[name]!.examples.map(({ number, text }) => `${number}: ${text}`).join(' | ')}`,
        ],
  );
}

describe('the generator', () => {
  it('draws the same pickup for the same seed and number, and another one for another', () => {
    expect(inventPickup(SEED, 17)).toEqual(inventPickup(SEED, 17));
    expect(inventPickup(SEED, 17)).not.toEqual(inventPickup(SEED, 18));
    expect(inventPickup(SEED, 17)).not.toEqual(inventPickup(SEED + 1, 17));
  });

  it('draws only pickups that a file may hold, of every family and with every fault', () => {
    const families = new Set<Family>();
    const faults = new Set<string>();
    for (let number = 0; number < 600; number++) {
      const one = inventPickup(SEED, number);
      expect(() => asPickup(JSON.parse(JSON.stringify(one.pickup)))).not.toThrow();
      families.add(one.family);
      one.faults.forEach((fault) => faults.add(fault));
    }
    expect(families.size).toBe(15);
    expect([...faults].sort()).toEqual([
      'bridge',
      'intermittent',
      'leak',
      'live',
      'open',
      'shorted_turns',
      'torn lead',
    ]);
  });
});

describe('the truth that maps are held against', () => {
  it('is the wire map that the formats give for their example pickup', () => {
    const [pickup] = demoLot;
    const example: Pickup = {
      ...pickup!,
      temperature_C: 22,
      leads: [
        ['BU', 'u0'],
        ['YE', 'u1'],
        ['GY', 'l0'],
        ['VT', 'l1'],
        ['BARE', 'chassis'],
      ].map(([colour, node], i) => ({ clip: i + 1, colour: colour!, node: node! })),
    };
    const truth = truthOf(example);
    expect(truth.coils).toMatchObject([
      { ends: [1, 2], minus: 1, plus: 2, place: 'upper', pole: 'N' },
      { ends: [3, 4], minus: 4, plus: 3, place: 'lower', pole: 'S' },
    ]);
    expect(truth.coils[0]!.ohm).toBeCloseTo(4100 * (1 + 0.00393 * 2), 6);
    expect(truth.chassis).toEqual([5]);
    expect(truth.joined).toEqual([]);
  });

  it('finds resistances that a pseudo-inverse of the Laplacian finds too (ml-matrix)', () => {
    for (let number = 0; number < 40; number++) {
      const { pickup } = inventPickup(SEED, number);
      const network = new LeadNetwork(pickup);
      const n = network.nodes.size;
      const laplacian = Matrix.zeros(n, n);
      for (const { tail, head, ohm } of network.stretches) {
        if (tail === head) continue;
        for (const [i, j, sign] of [
          [tail, tail, 1],
          [head, head, 1],
          [tail, head, -1],
          [head, tail, -1],
        ] as const) {
          laplacian.set(i, j, laplacian.get(i, j) + sign / ohm);
        }
      }
      const inverse = pseudoInverse(laplacian, 1e-14);
      for (const [a, i] of network.clips) {
        for (const [b, j] of network.clips) {
          const ohm = network.resistance(a, b);
          // Beside leaks of megohms the pseudo-inverse itself has lost its digits.
          if (a >= b || !(ohm < 1e6)) continue;
          const other = inverse.get(i, i) + inverse.get(j, j) - 2 * inverse.get(i, j);
          expect(Math.abs(other - ohm), `pickup ${number}, clips ${a} and ${b}`).toBeLessThan(
            1e-3 * ohm + 1,
          );
        }
      }
    }
  });
});

describe('records made elsewhere', () => {
  let tally: Tally;
  beforeAll(() => {
    tally = tallyRecords(createLogic(), { seed: SEED }, 0, 400);
  });

  it('never give a sound pickup wrong coils, joined clips, chassis, places, poles or winding senses', () => {
    expect(liesOf(tally)).toEqual([]);
  });
  it('give no wrong plus and minus with more than 0.99, and hardly any sign less than they could', () => {
    expect(tally.confidentlyWrong, inWords(tally, 12)).toBe(0);
    // A fault may rightly leave a sign open; what is promised is promised of sound pickups.
    const sound = tallyRecords(createLogic(), { seed: SEED, health: 'sound' }, 0, 400);
    expect(sound.confidentlyWrong, inWords(sound, 12)).toBe(0);
    expect(sound.givenSigns / sound.expectedSigns, inWords(sound, 12)).toBeGreaterThanOrEqual(0.995);
  });
  it('show every bridge, open coil and live lead but those that are known to be missed', () => {
    for (const kind of ['bridge', 'open', 'live']) {
      expect(tally.faults[kind]?.met ?? 0, kind).toBeGreaterThan(0);
      const missed = tally.classes[`${kind} missed` as Class]?.examples.map(({ number }) => number) ?? [];
      expect(missed, `${kind}: ${inWords(tally, 12)}`).toEqual(KNOWN_MISSED[kind] ?? []);
    }
  });
  it('raise an alarm on at most 0.5 % of sound pickups', () => {
    expect(
      (tally.classes['false alarm']?.soundPickups ?? 0) / tally.sound,
      inWords(tally, 12),
    ).toBeLessThanOrEqual(0.005);
  });
});

describe('whole tests on the board twin', () => {
  it('never lie about a sound pickup, find every bridge, open coil and live lead, and agree with the host in every byte', async () => {
    const tally = await tallyTwin({ seed: SEED }, 0, 60);
    expect(liesOf(tally)).toEqual([]);
    expect(tally.wrongSigns, inWords(tally, 12)).toBe(0);
    expect(tally.givenSigns / tally.expectedSigns, inWords(tally, 12)).toBeGreaterThanOrEqual(0.99);
    for (const kind of ['bridge', 'open', 'live']) {
      const { met, found } = tally.faults[kind] ?? { met: 0, found: 0 };
      expect(found, `${kind}: ${inWords(tally, 12)}`).toBe(met);
    }
    expect(tally.classes['false alarm'], inWords(tally, 12)).toBeUndefined();
    expect(tally.sums.differences).toBe(0);
  });

  it('give the same wire map for the same seed', async () => {
    const { pickup } = inventPickup(SEED, 3);
    const first = await testOnTwin(pickup, 5, createLogic());
    const second = await testOnTwin(pickup, 5, createLogic());
    expect(first.outcome.map).toEqual(second.outcome.map);
    expect(first.test_s).toBe(second.test_s);
  });
});
