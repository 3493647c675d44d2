/** Published values, each with its source, against what the program works out; where none is published, that is said. */
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { fileURLToPath } from 'node:url';
import { inverse, Matrix } from 'ml-matrix';
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import wabtModule from 'wabt';
import type { BenchRecord, BenchResistance } from '../../host/src/files/bench-record.ts';
import { createLogic, logicModule } from '../../host/src/logic/module.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';
import { lowerTail, RandomStream } from '../../host/src/virtual-bench/random.ts';
import { Topology } from '../../host/src/virtual-bench/topology.ts';
import { colourInWords, isColour } from '../../host/src/wiremap/colours.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { wiringPlan } from '../../host/src/wiring/plan.ts';
import { matchedD } from '../figures/limits.ts';
import { LeadNetwork } from '../lots/lead-network.ts';
import { solveRecord } from '../lots/solve-record.ts';

/** An edge of a network: two nodes and its ohms. */
type Edge = readonly [number, number, number];

/** The text-book network whose windings are these edges, a clip on every node that is listed. */
function networkOf(edges: readonly Edge[], clips: readonly number[]): LeadNetwork {
  const coils = edges.map(
    ([a, b, ohm], i) =>
      ({
        id: `e${i}`,
        from: `v${a}`,
        to: `v${b}`,
        resistance_ohm_20C: ohm,
        inductance_H: 1,
        capacitance_F: 1e-10,
        winding: 'cw',
        pole: 'N',
        place: 'single',
      }) as const,
  );
  const leads = clips.map((node) => ({ clip: node, colour: 'GY', node: `v${node}` }));
  const pickup: Pickup = {
    format: 'pickup/1',
    temperature_C: 20,
    coils,
    couplings: [],
    leads,
    faults: [],
    touches: [],
    magnet_readings: false,
    interference: { hum_Hz: 50, hum_V: 0, noise_V: 0 },
  };
  return new LeadNetwork(pickup);
}

/** A record of nothing but resistances. */
function recordOf(
  clips: readonly number[],
  resistance: (a: number, b: number) => number | null,
  colours: Record<number, string> = {},
): BenchRecord {
  const resistances: BenchResistance[] = [];
  clips.forEach((a, i) =>
    clips.slice(i + 1).forEach((b) => {
      const ohm = resistance(a, b);
      resistances.push(
        ohm === null ? { a, b, ohm, above_ohm: 1e8 } : { a, b, ohm, u_ohm: 0.01 + ohm * 1e-5 },
      );
    }),
  );
  return {
    format: 'bench/1',
    clips: clips.map((clip) => ({
      clip,
      ...(colours[clip] === undefined ? {} : { colour: colours[clip] }),
    })),
    resistances,
  };
}

const solved = (record: BenchRecord): WireMap => solveRecord(createLogic(), record);
const ends = (map: WireMap): string[] =>
  map.coils.map((coil) => (coil.ends ?? []).join('-')).sort();
const range = (count: number): number[] => Array.from({ length: count }, (_, i) => i + 1);
const allPairs = (clips: readonly number[]): [number, number][] =>
  clips.flatMap((a, i) => clips.slice(i + 1).map((b): [number, number] => [a, b]));

describe('networks of resistances', () => {
  for (const n of [3, 4, 5, 6]) {
    const edges = allPairs(range(n)).map(([a, b]): Edge => [a, b, 1000]);
    const resistance = 2000 / n;
    it(`Klein and Randic 1993: between any two of ${n} points, all joined by 1 kohm, are 2/n kohm`, () => {
      const network = networkOf(edges, range(n));
      for (const [a, b] of allPairs(range(n)))
        expect(network.resistance(a, b)).toBeCloseTo(resistance, 9);
    });
    it(`Fiedler, Bapat, backwards: a network of ${n} clips, all joined by windings of 1 to 3 kohm, comes back edge by edge`, () => {
      // Unequal ones: with equal ones a star with a hidden middle reads the same.
      const uneven = edges.map(([a, b]): Edge => [a, b, 1000 + 500 * ((3 * a + 7 * b) % 5)]);
      const network = networkOf(uneven, range(n));
      const map = solved(recordOf(range(n), (a, b) => network.resistance(a, b)));
      expect(ends(map)).toEqual(uneven.map(([a, b]) => `${a}-${b}`).sort());
      for (const [a, b, ohm] of uneven) {
        const coil = map.coils.find((one) => one.ends?.[0] === a && one.ends[1] === b);
        expect(Math.abs(coil!.ohm! / ohm - 1), `${a}-${b}`).toBeLessThan(1e-4);
      }
    });
    it(`Klein and Randic 1993: a chain of ${n} points has |i - j| kohm between two, and comes back as a chain`, () => {
      const chain = range(n - 1).map((a): Edge => [a, a + 1, 1000]);
      const network = networkOf(chain, range(n));
      for (const [a, b] of allPairs(range(n)))
        expect(network.resistance(a, b)).toBeCloseTo(1000 * (b - a), 9);
      expect(ends(solved(recordOf(range(n), (a, b) => 1000 * Math.abs(a - b))))).toEqual(
        chain.map(([a, b]) => `${a}-${b}`),
      );
    });
    it(`Klein and Randic 1993: a ring of ${n} points has k(n - k)/n kohm between two, and comes back as a ring`, () => {
      const ring = range(n).map((a): Edge => [a, (a % n) + 1, 1000]);
      const between = (a: number, b: number): number =>
        (1000 * Math.abs(a - b) * (n - Math.abs(a - b))) / n;
      const network = networkOf(ring, range(n));
      for (const [a, b] of allPairs(range(n)))
        expect(network.resistance(a, b)).toBeCloseTo(between(a, b), 9);
      expect(ends(solved(recordOf(range(n), between)))).toEqual(
        ring.map(([a, b]) => [a, b].sort().join('-')).sort(),
      );
    });
  }

  it('any circuits text: the cube of 1 ohm has 7/12, 3/4 and 5/6 ohm along an edge, a face and through the body', () => {
    const bits = (x: number): number => [1, 2, 4].filter((bit) => (x & bit) !== 0).length;
    const edges = allPairs(range(8))
      .filter(([a, b]) => bits((a - 1) ^ (b - 1)) === 1)
      .map(([a, b]): Edge => [a, b, 1]);
    const network = networkOf(edges, [1, 2, 4, 8]);
    expect(network.resistance(1, 2)).toBeCloseTo(7 / 12, 12);
    expect(network.resistance(1, 4)).toBeCloseTo(3 / 4, 12);
    expect(network.resistance(1, 8)).toBeCloseTo(5 / 6, 12);
  });

  it('Kirchhoff: the unbalanced bridge of 100, 200, 300, 400 and 50 ohm has these six pair readings, and twenty times them give it back', () => {
    const edges: Edge[] = [
      [1, 2, 100],
      [2, 4, 200],
      [1, 3, 300],
      [3, 4, 400],
      [2, 3, 50],
    ];
    // Computed once with numpy's pseudo-inverse; the six values stand here to 1e-6.
    const readings: Record<string, number> = {
      '1-4': 208.62069,
      '1-2': 77.586207,
      '1-3': 98.275862,
      '2-3': 41.37931,
      '2-4': 137.931034,
      '3-4': 151.724138,
    };
    const network = networkOf(edges, [1, 2, 3, 4]);
    for (const [a, b] of allPairs([1, 2, 3, 4])) {
      expect(Math.abs(network.resistance(a, b) - readings[`${a}-${b}`]!)).toBeLessThan(1e-5);
    }
    // Windings have kilohms; a few ohms would be contacts.
    const map = solved(recordOf([1, 2, 3, 4], (a, b) => 20 * readings[`${a}-${b}`]!));
    expect(ends(map)).toEqual(edges.map(([a, b]) => `${a}-${b}`).sort());
  });

  it('Kennelly 1899: a delta of 10, 20 and 30 kohm reads as a star of 5, 10/3 and 10 kohm does', () => {
    const delta = networkOf(
      [
        [1, 2, 10000],
        [2, 3, 20000],
        [3, 1, 30000],
      ],
      [1, 2, 3],
    );
    const star = networkOf(
      [
        [1, 9, 5000],
        [2, 9, 10000 / 3],
        [3, 9, 10000],
      ],
      [1, 2, 3],
    );
    for (const [a, b] of allPairs([1, 2, 3]))
      expect(delta.resistance(a, b)).toBeCloseTo(star.resistance(a, b), 8);
  });

  it("Foster 1949: over all edges, resistance between the ends over the edge's own sums to n - 1", () => {
    fc.assert(
      fc.property(randomNetwork(), ({ n, edges }) => {
        const network = networkOf(edges, range(n));
        const sum = edges.reduce((total, [a, b, ohm]) => total + network.resistance(a, b) / ohm, 0);
        expect(Math.abs(sum - (n - 1))).toBeLessThan(1e-9 * n);
      }),
      { seed: 30, numRuns: 200 },
    );
  });

  it('Fiedler, Bapat: the bordered matrix of resistances, inverted, holds the Laplacian', () => {
    fc.assert(
      fc.property(randomNetwork(), ({ n, edges }) => {
        const network = networkOf(edges, range(n));
        const bordered = Matrix.zeros(n + 1, n + 1);
        for (let i = 1; i <= n; i++) {
          bordered.set(0, i, 1);
          bordered.set(i, 0, 1);
          for (let j = 1; j <= n; j++)
            if (i !== j) bordered.set(i, j, network.resistance(i, j) / 1000);
        }
        const result = inverse(bordered);
        for (const [a, b] of allPairs(range(n))) {
          const conductance = edges
            .filter(([x, y]) => (x === a && y === b) || (x === b && y === a))
            .reduce((sum, [, , ohm]) => sum + 1000 / ohm, 0);
          expect(Math.abs(2 * result.get(a, b) - conductance)).toBeLessThan(
            1e-9 * (1 + conductance) * n * n,
          );
        }
      }),
      { seed: 31, numRuns: 200 },
    );
  });

  it('arithmetic: pairs of 10, 4.3 and 6.3 kohm with a bare clip are a winding of 10 kohm bridged at 0.4 through 300 ohm', () => {
    const readings: Record<string, number> = { '1-2': 10000, '1-3': 4300, '2-3': 6300 };
    const map = solved(recordOf([1, 2, 3], (a, b) => readings[`${a}-${b}`]!, { 3: 'BARE' }));
    expect(ends(map)).toEqual(['1-2']);
    const bridge = map.findings.find((finding) => finding.kind === 'bridge');
    expect(bridge?.fraction).toBeCloseTo(0.4, 4);
    expect(bridge?.clips).toEqual([3, 1]);
    expect(map.verdict).toBe('fault');
  });
});

/** Connected networks of 3 to 6 points: a tree and a few edges more. */
function randomNetwork(): fc.Arbitrary<{ n: number; edges: Edge[] }> {
  const ohm = fc.double({ min: 100, max: 20000, noNaN: true });
  return fc.integer({ min: 3, max: 6 }).chain((n) =>
    fc
      .tuple(
        fc.tuple(
          ...range(n - 1).map((i) =>
            fc.tuple(fc.integer({ min: 1, max: i }), fc.constant(i + 1), ohm),
          ),
        ),
        fc.array(fc.tuple(fc.integer({ min: 1, max: n }), fc.integer({ min: 1, max: n }), ohm), {
          maxLength: 6,
        }),
      )
      .map(([tree, more]) => ({
        n,
        edges: [...tree, ...more.filter(([a, b]) => a !== b)] as Edge[],
      })),
  );
}

describe('chance', () => {
  it('Abramowitz and Stegun, table 26.1: areas of the normal tail', () => {
    const table: [number, number][] = [
      [1, 0.1586553],
      [2, 0.02275013],
      [3, 1.349898e-3],
      [4, 3.167124e-5],
      [4.753424, 1e-6],
      [5, 2.866516e-7],
    ];
    for (const [x, area] of table) expect(Math.abs(lowerTail(-x) / area - 1)).toBeLessThan(2e-5);
  });

  it('Kay, detection theory: known shape in white noise is called wrong with chance Q(d), here for d of 1, 2 and 3', () => {
    const rise_s = 0.006;
    const noise_V = 3e-4;
    const chance = new RandomStream(38, 'antipodal');
    const shape = range(59).map((i) => Math.sin((Math.PI * i) / 60));
    const unitFlux_Wb = (2 * rise_s) / Math.PI;
    for (const [d, area] of [
      [1, 0.1586553],
      [2, 0.02275013],
      [3, 1.349898e-3],
    ] as const) {
      const flux_Wb = (d / matchedD(unitFlux_Wb, rise_s, noise_V)) * unitFlux_Wb;
      const peak_V = (Math.PI * flux_Wb) / (2 * rise_s);
      const trials = 40_000;
      let wrong = 0;
      for (let i = 0; i < trials; i++) {
        const statistic = shape.reduce(
          (sum, s) => sum + s * (peak_V * s + noise_V * chance.gaussian()),
          0,
        );
        if (statistic < 0) wrong += 1;
      }
      expect(Math.abs(wrong / trials - area)).toBeLessThan(
        4 * Math.sqrt((area * (1 - area)) / trials),
      );
    }
  });
});

describe('numbers in the machine', () => {
  it('IEEE 754-2019: single precision of the engine that runs the module rounds to these very bits', async () => {
    const wabt = await wabtModule();
    const source = `(module
      (func (export "sqrt") (param i32) (result i32) (i32.reinterpret_f32 (f32.sqrt (f32.reinterpret_i32 (local.get 0)))))
      (func (export "div") (param i32 i32) (result i32)
        (i32.reinterpret_f32 (f32.div (f32.reinterpret_i32 (local.get 0)) (f32.reinterpret_i32 (local.get 1)))))
      (func (export "add") (param i32 i32) (result i32)
        (i32.reinterpret_f32 (f32.add (f32.reinterpret_i32 (local.get 0)) (f32.reinterpret_i32 (local.get 1)))))
      (func (export "from") (param i32) (result i32) (i32.reinterpret_f32 (f32.convert_i32_s (local.get 0))))
      (func (export "narrow") (param f64) (result i32) (i32.reinterpret_f32 (f32.demote_f64 (local.get 0)))))`;
    const { buffer } = wabt.parseWat('binary32.wat', source).toBinary({});
    const { exports } = new WebAssembly.Instance(new WebAssembly.Module(new Uint8Array(buffer)));
    const call = (name: string, ...args: number[]): string =>
      ((exports[name] as (...values: number[]) => number)(...args) >>> 0)
        .toString(16)
        .toUpperCase()
        .padStart(8, '0');
    const bits = (value: number): number => new Int32Array(new Float32Array([value]).buffer)[0]!;
    expect(call('sqrt', bits(2))).toBe('3FB504F3');
    expect(call('sqrt', bits(3))).toBe('3FDDB3D7');
    expect(call('div', bits(1), bits(3))).toBe('3EAAAAAB');
    expect(call('div', bits(10), bits(3))).toBe('40555555');
    expect(call('narrow', 0.1)).toBe('3DCCCCCD');
    expect(call('add', bits(0.1), bits(0.2))).toBe('3E99999A');
    expect(call('narrow', Math.PI)).toBe('40490FDB');
    expect(call('from', 2 ** 24 + 1)).toBe('4B800000');
    expect(call('from', 2 ** 24 + 3)).toBe('4B800002');
    expect(call('narrow', 1 - 2 ** -24)).toBe('3F7FFFFF');
    expect(call('sqrt', 0x3f7fffff)).toBe('3F7FFFFF');
    expect(call('narrow', 1e-40)).toBe('000116C2');
    expect(call('sqrt', 0x000116c2)).toBe('1E3CE4E7');
    expect(call('div', 1, bits(2))).toBe('00000000');
    expect(call('narrow', 3.4028234663852886e38)).toBe('7F7FFFFF');
  });

  it('FIPS 180-4 examples: the digest that names the module is SHA-256, and another tool agrees on the module', () => {
    const digest = (text: string): string => createHash('sha256').update(text).digest('hex');
    expect(digest('')).toBe('e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855');
    expect(digest('abc')).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
    expect(digest('abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq')).toBe(
      '248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1',
    );
    const file = fileURLToPath(new URL('../../shared-logic/build/logic.wasm', import.meta.url));
    const tool = spawnSync('sha256sum', [file], { encoding: 'utf8' });
    expect(logicModule().sha256).toBe(tool.stdout.slice(0, 64));
  });
});

describe('settling and mains', () => {
  it('arithmetic: 63.212 % of a change are done after one time constant, all but 1e-5 after 11.513', () => {
    const lag = new Topology({
      states: 1,
      inputs: 1,
      derivative: Float64Array.of(-1, 1),
      outputs: new Float64Array(0),
      clampOutputs: new Float64Array(0),
      steady: Float64Array.of(1),
      steadyOutputs: new Float64Array(0),
      steadyClamps: new Float64Array(0),
    });
    const left = (time_s: number): number => {
      const deviation = Float64Array.of(1);
      lag.decay(deviation, time_s);
      return deviation[0]!;
    };
    expect(1 - left(1)).toBeCloseTo(0.63212, 5);
    expect(left(11.513)).toBeCloseTo(1e-5, 8);
  });

  it('EN 50160 (from memory): mains 1 % off 50 or 60 Hz, 8 mV of it, does not turn the sign of a touch of 0.2 mWb', () => {
    for (const hum_Hz of [49.5, 50, 50.5, 59.4, 60, 60.6]) {
      for (let turn = 0; turn < 8; turn++) {
        const map = solved({
          ...recordOf([1, 2], () => 6000),
          touches: [
            touch([{ plus: 2, minus: 1, flux_Wb: 2e-4 }], 'single', {
              hum_Hz,
              hum_V: 8e-3,
              turn: turn / 8,
            }),
          ],
        });
        expect(map.coils[0]).toMatchObject({ plus: 2, minus: 1 });
      }
    }
  });
});

/** A touch of 6 ms rise, held to the end of the capture, at 10 kHz. */
function touch(
  channels: readonly { plus: number; minus: number; flux_Wb: number }[],
  at: string,
  { hum_Hz, hum_V, turn }: { hum_Hz: number; hum_V: number; turn: number } = {
    hum_Hz: 50,
    hum_V: 0,
    turn: 0,
  },
): NonNullable<BenchRecord['touches']>[number] {
  const rise_s = 0.006;
  const chance = new RandomStream(Math.round(hum_Hz * 100 + turn * 8), 'mains');
  return {
    at,
    rate_Hz: 10000,
    start_s: -0.1,
    channels: channels.map(({ plus, minus, flux_Wb }) => ({
      plus,
      minus,
      volts_V: Array.from({ length: 3000 }, (_, i) => {
        const t = -0.1 + i / 10000;
        const arrival =
          t >= 0 && t <= rise_s
            ? ((Math.PI * flux_Wb) / (2 * rise_s)) * Math.sin((Math.PI * t) / rise_s)
            : 0;
        return (
          arrival + hum_V * Math.cos(2 * Math.PI * (hum_Hz * t + turn)) + 1e-4 * chance.gaussian()
        );
      }),
    })),
  };
}

describe('words', () => {
  it('IEC 60757:1983 (GOST 28763-90): the codes of wire colours, and how two on one wire are joined', () => {
    const codes = 'BK BN RD OG YE GN BU VT GY WH PK GD TQ SR GNYE'.split(' ');
    for (const code of [...codes, 'RDBU', 'BARE']) expect(isColour(code)).toBe(true);
    for (const code of ['YEGN', 'RDRD', 'BL', 'bk', 'RD-BU', 'BKBNRD', ''])
      expect(isColour(code)).toBe(false);
    expect(colourInWords('VT')).toMatch(/^violet/);
    expect(colourInWords('RDBU')).toMatch(/^red and blue/);
  });

  it("any physics text: a needle's north-seeking end points to S, and a coil read from minus to plus is ccw there", () => {
    // A compass entered as pole S: the face that drew the north-seeking end.
    const map = solved({
      ...recordOf([1, 2], () => 6000),
      touches: [touch([{ plus: 1, minus: 2, flux_Wb: 2e-3 }], 'single')],
      magnets: [{ at: 'single', pole: 'S' }],
    });
    expect(map.coils[0]).toMatchObject({ plus: 1, minus: 2, pole: 'S', winding: 'ccw' });
  });
});

describe('facts of the trade: common practice, no published source', () => {
  const pair = recordOf([1, 2, 3, 4], (a, b) => (a + b === 3 ? 4100 : a + b === 7 ? 4180 : null));

  it('the touched coil swings +66 mV and +113 mV where its neighbour shows +5 and +9: the larger swing names the coil', () => {
    const map = solved({
      ...pair,
      observed: [
        { at: 'upper', plus: 2, minus: 1, swing: 'positive', peak_V: 0.066 },
        { at: 'upper', plus: 4, minus: 3, swing: 'positive', peak_V: 0.005 },
        { at: 'lower', plus: 4, minus: 3, swing: 'positive', peak_V: 0.113 },
        { at: 'lower', plus: 2, minus: 1, swing: 'positive', peak_V: 0.009 },
      ],
    });
    const coil = (place: string): unknown => map.coils.find((one) => one.place === place);
    expect(coil('upper')).toMatchObject({ plus: 2, minus: 1 });
    expect(coil('lower')).toMatchObject({ plus: 4, minus: 3 });
  });

  it("one person's swing is worth at most 0.98", () => {
    const map = solved({
      ...recordOf([1, 2], () => 6000),
      observed: [{ at: 'single', plus: 2, minus: 1, swing: 'negative', peak_V: 0.066 }],
    });
    expect(map.coils[0]).toMatchObject({ plus: 1, minus: 2 });
    expect(map.coils[0]?.confidence).toBeLessThanOrEqual(0.98);
    expect(map.coils[0]?.confidence).toBeGreaterThan(0.9);
  });

  it('steel that arrives makes plus positive: 140 mV or so, the neighbour 8 % of it with the same sense', () => {
    const peak_Wb = (0.14 * 2 * 0.006) / Math.PI;
    const map = solved({
      ...pair,
      touches: [
        touch(
          [
            { plus: 1, minus: 2, flux_Wb: peak_Wb },
            { plus: 3, minus: 4, flux_Wb: 0.08 * peak_Wb },
          ],
          'upper',
        ),
        touch(
          [
            { plus: 1, minus: 2, flux_Wb: 0.08 * peak_Wb },
            { plus: 3, minus: 4, flux_Wb: peak_Wb },
          ],
          'lower',
        ),
      ],
    });
    expect(map.coils).toMatchObject([
      { plus: 1, minus: 2, place: 'upper' },
      { plus: 3, minus: 4, place: 'lower' },
    ]);
  });

  it('a pair in series joins minus of one coil to plus of the other, and hum cancels when the poles differ', () => {
    const plan = wiringPlan(
      solved({
        ...pair,
        touches: [
          touch(
            [
              { plus: 1, minus: 2, flux_Wb: 2e-3 },
              { plus: 3, minus: 4, flux_Wb: 1.6e-4 },
            ],
            'upper',
          ),
          touch(
            [
              { plus: 1, minus: 2, flux_Wb: 1.6e-4 },
              { plus: 3, minus: 4, flux_Wb: 2e-3 },
            ],
            'lower',
          ),
        ],
        magnets: [
          { at: 'upper', pole: 'N', field_T: 0.03 },
          { at: 'lower', pole: 'S', field_T: 0.03 },
        ],
      }),
    );
    const series = plan.layouts.filter((layout) => layout.kind === 'series');
    expect(series).toHaveLength(2);
    for (const layout of series) {
      // formats of positions/1: below 0.15 of a coil's hum counts as cancelled.
      expect(layout.hum).toBeLessThan(0.15);
      expect([
        [2, 3],
        [1, 4],
      ]).toContainEqual([...layout.links[0]!].sort());
    }
  });
});
