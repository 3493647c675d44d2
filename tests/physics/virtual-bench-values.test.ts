/** The virtual bench against published values: each test names its source. */
import { describe, expect, it } from 'vitest';
import { Circuit, ONE } from '../../host/src/virtual-bench/circuit.ts';
import {
  addPickup,
  clipNode,
  copperOhm,
  couplingMatrix,
  touchSign,
} from '../../host/src/virtual-bench/pickup-circuit.ts';
import type { PickupCoil, Pole, Winding } from '../../host/src/pickup/pickup.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { TouchSources } from '../../host/src/virtual-bench/touch-sources.ts';
import { Transient, type MovingSources } from '../../host/src/virtual-bench/transient.ts';
import { quietPickup } from './quiet-pickup.ts';

type Edge = readonly [string, string, number];

/** Resistance between two nodes of a network of ohms, by the bench's steady state. */
function resistance(edges: readonly Edge[], from: string, to: string): number {
  const circuit = new Circuit();
  for (const [a, b, ohm] of edges) circuit.resistor(a, b, ohm);
  circuit.current(to, from, [{ input: ONE, gain: 1 }]);
  circuit.resistor(to, '0', 1);
  circuit.probe(from, to);
  return new Transient(circuit).steadyProbe(0);
}

function kirchhoffIndex(edges: readonly Edge[], nodes: number): number {
  let sum = 0;
  for (let i = 0; i < nodes; i++) {
    for (let j = i + 1; j < nodes; j++) sum += resistance(edges, `n${i}`, `n${j}`);
  }
  return sum;
}

describe('networks of resistances', () => {
  it('Klein and Randic 1993: 2/n ohm across a complete graph of 1 ohm, Kirchhoff index n - 1', () => {
    for (let n = 2; n <= 6; n++) {
      const edges: Edge[] = [];
      for (let i = 0; i < n; i++) for (let j = i + 1; j < n; j++) edges.push([`n${i}`, `n${j}`, 1]);
      expect(resistance(edges, 'n0', `n${n - 1}`)).toBeCloseTo(2 / n, 9);
      expect(kirchhoffIndex(edges, n)).toBeCloseTo(n - 1, 9);
    }
  });

  it('Klein and Randic 1993: a path of six has the Kirchhoff index 35', () => {
    const edges: Edge[] = [0, 1, 2, 3, 4].map((i) => [`n${i}`, `n${i + 1}`, 1]);
    expect(resistance(edges, 'n1', 'n5')).toBeCloseTo(4, 9);
    expect(kirchhoffIndex(edges, 6)).toBeCloseTo(35, 8);
  });

  it('Klein and Randic 1993: a cycle of six has k(n - k)/n ohm and the Kirchhoff index 17.5', () => {
    const edges: Edge[] = [0, 1, 2, 3, 4, 5].map((i) => [`n${i}`, `n${(i + 1) % 6}`, 1]);
    for (let k = 1; k < 6; k++) {
      expect(resistance(edges, 'n0', `n${k}`)).toBeCloseTo((k * (6 - k)) / 6, 9);
    }
    expect(kirchhoffIndex(edges, 6)).toBeCloseTo(17.5, 8);
  });

  it('cube of 1 ohm (any circuits text): edge 7/12, face 3/4, body diagonal 5/6 ohm', () => {
    const edges: Edge[] = [];
    for (let i = 0; i < 8; i++) {
      for (const bit of [1, 2, 4]) if ((i & bit) === 0) edges.push([`n${i}`, `n${i | bit}`, 1]);
    }
    expect(resistance(edges, 'n0', 'n1')).toBeCloseTo(7 / 12, 9);
    expect(resistance(edges, 'n0', 'n3')).toBeCloseTo(3 / 4, 9);
    expect(resistance(edges, 'n0', 'n7')).toBeCloseTo(5 / 6, 9);
  });

  it('unbalanced bridge by Kirchhoff: 208.62069, 77.586207 ... ohm', () => {
    const edges: Edge[] = [
      ['n0', 'n1', 100],
      ['n1', 'n3', 200],
      ['n0', 'n2', 300],
      ['n2', 'n3', 400],
      ['n1', 'n2', 50],
    ];
    const expected = [
      ['n0', 'n3', 208.62069],
      ['n0', 'n1', 77.586207],
      ['n0', 'n2', 98.275862],
      ['n1', 'n2', 41.37931],
      ['n1', 'n3', 137.931034],
      ['n2', 'n3', 151.724138],
    ] as const;
    for (const [a, b, ohm] of expected) expect(resistance(edges, a, b)).toBeCloseTo(ohm, 5);
  });

  it('Kennelly 1899: the delta of 10, 20, 30 ohm is the star of 5, 3.3333, 10 ohm', () => {
    const delta: Edge[] = [['a', 'b', 10], ['b', 'c', 20], ['c', 'a', 30]];
    const star: Edge[] = [['a', 'm', 5], ['b', 'm', 10 / 3], ['c', 'm', 10]];
    for (const [from, to] of [['a', 'b'], ['b', 'c'], ['c', 'a']]) {
      expect(resistance(delta, from, to)).toBeCloseTo(resistance(star, from, to), 8);
    }
  });
});

const COIL: PickupCoil = {
  id: 'u',
  from: 'u0',
  to: 'u1',
  resistance_ohm_20C: 10,
  inductance_H: 1,
  capacitance_F: 0,
  winding: 'cw',
  pole: 'N',
  place: 'upper',
};

describe('one winding', () => {
  it('IEC 60028: 100 ohm of copper at 20 C is 103.93 ohm at 30 C', () => {
    expect(copperOhm(100, 30)).toBeCloseTo(103.93, 10);
  });

  it('arithmetic of a star with a tap: pairs of 10, 4.3, 6.3 ohm for u@0.4 with 0.3 ohm', () => {
    const bridged = quietPickup([COIL], {
      leads: [
        { clip: 1, colour: 'BU', node: 'u0' },
        { clip: 2, colour: 'YE', node: 'u1' },
        { clip: 3, colour: 'BARE', node: 'chassis' },
      ],
      faults: [{ kind: 'bridge', a: 'u@0.4', b: 'chassis', ohm: 0.3 }],
    });
    const lead_ohm = 0.1;
    for (const [a, b, ohm] of [[1, 2, 10], [1, 3, 4.3], [2, 3, 6.3]]) {
      const circuit = new Circuit();
      addPickup(circuit, bridged);
      circuit.resistor(clipNode(b), '0', 1e-3);
      circuit.current('0', clipNode(a), [{ input: ONE, gain: 1 }]);
      circuit.probe(clipNode(a), clipNode(b));
      expect(new Transient(circuit).steadyProbe(0) - lead_ohm).toBeCloseTo(ohm, 6);
    }
  });

  /** The book's circuit: a source of 2.0 V, 4.0 ohm and 4.0 H in series. */
  function bookCircuit(): { transient: Transient; input: number } {
    const circuit = new Circuit();
    const input = circuit.input('emf');
    circuit.source('a', '0', 4, [{ input, gain: 1 }]);
    circuit.inductance(circuit.inductor('a', '0'), 0, 4);
    circuit.probe('a', '0');
    return { transient: new Transient(circuit), input };
  }

  it('OpenStax University Physics 2, 14.4: 2.0 V, 4.0 ohm, 4.0 H reach 0.43 A and 0.27 V at 2.0 s', () => {
    const { transient, input } = bookCircuit();
    transient.setInput(input, 2);
    transient.leap(2);
    expect(transient.probe(0)).toBeCloseTo(0.27, 2);
    expect((2 - transient.probe(0)) / 4).toBeCloseTo(0.43, 2);
    transient.leap(60);
    expect((2 - transient.probe(0)) / 4).toBeCloseTo(0.5, 6);
  });

  it('OpenStax University Physics 2, 14.4: the current halves in 0.69 s, 1.0 % of the energy at 2.3 s', () => {
    const { transient, input } = bookCircuit();
    transient.setInput(input, 2);
    transient.settle();
    transient.setInput(input, 0);
    transient.leap(0.69);
    expect(-transient.probe(0) / 4 / 0.5).toBeCloseTo(0.5, 2);
    transient.leap(2.3 - 0.69);
    expect((-transient.probe(0) / 4 / 0.5) ** 2).toBeCloseTo(0.01, 3);
  });

  it('OpenStax University Physics 2, 14.5: 20 mH and 8.0 uF swing at 2.5e3 rad/s, 30 mA, empty at 0.63 ms', () => {
    const circuit = new Circuit();
    circuit.capacitor('a', '0', 8e-6);
    circuit.inductance(circuit.inductor('a', 'b'), 0, 2e-2);
    circuit.resistor('b', '0', 1e-4);
    circuit.probe('a', '0');
    circuit.probe('b', '0');
    const transient = new Transient(circuit);
    transient.state[0] = 1.2e-5 / 8e-6;
    const step_s = 1e-6;
    const rows = [new Float64Array(3000), new Float64Array(3000)];
    transient.run(step_s, 3000, [0, 1], rows);
    const empty = rows[0].findIndex((volts) => volts < 0);
    expect(empty * step_s).toBeCloseTo(6.3e-4, 5);
    expect(Math.PI / 2 / (empty * step_s) / 2.5e3).toBeCloseTo(1, 2);
    expect(Math.max(...rows[1].map((volts) => volts / 1e-4))).toBeCloseTo(3e-2, 4);
  });

  it('OpenStax University Physics 2, 13.1: 200 turns of (0.25 m)^2 at 0.040 T/s give 0.50 V, 0.10 A in 5.0 ohm', () => {
    // The bench's flux rises as a raised cosine: over its whole second the mean is the book's rate.
    const linkage_Wb = 200 * 0.25 ** 2 * 0.04;
    const circuit = new Circuit();
    const coil = { ...COIL, resistance_ohm_20C: 5, inductance_H: 1e-3 };
    const { emfInputs } = addPickup(circuit, quietPickup([coil]));
    circuit.resistor(clipNode(1), '0', 1e-3);
    circuit.resistor(clipNode(2), '0', 1e-3);
    circuit.probe(clipNode(2), '0');
    const sources = new TouchSources(quietPickup([coil]), emfInputs, new RandomStream(1, 'book'));
    sources.play({ coil: 'u', flux_Wb: linkage_Wb, rise_s: 1, hold_s: 1, fall_s: 1 }, 0);
    const transient = new Transient(circuit, { moving: sources });
    const row = new Float64Array(10_000);
    transient.run(1e-4, 10_000, [0], [row]);
    let charge_C = 0;
    for (const volts of row) charge_C += (volts / 1e-3) * 1e-4;
    expect(charge_C).toBeCloseTo(0.1, 2);
    expect(charge_C * 5).toBeCloseTo(0.5, 1);
  });

  it('OpenStax University Physics 2, 13.1: 1.1 T/s through 50 turns of 4.0 cm heat 40 ohm by 2.0 mW', () => {
    const circuit = new Circuit();
    const emf_V = 50 * Math.PI * 0.04 ** 2 * 1.126;
    circuit.source('a', '0', 40, [{ input: ONE, gain: emf_V }]);
    circuit.resistor('a', '0', 1e-6);
    circuit.probe('a', '0');
    const current_A = new Transient(circuit).steadyProbe(0) / 1e-6;
    expect(current_A ** 2 * 40 * 1e3).toBeCloseTo(2, 1);
  });
});

describe('two windings', () => {
  it('OpenStax University Physics 2, 14.1: 2.53e-5 H and 200 A/s give 5.06e-3 V', () => {
    // N 500 and 10, R 3.10 cm, l 75.0 cm: M = mu0 N1 N2 pi R^2 / l.
    const mutual_H = (4e-7 * Math.PI * 500 * 10 * Math.PI * 0.031 ** 2) / 0.75;
    expect(mutual_H * 1e5).toBeCloseTo(2.53, 2);
    const circuit = new Circuit();
    const ramp = circuit.input('ramp');
    circuit.current('0', 'a', [{ input: ramp, gain: 1 }]);
    circuit.capacitor('a', '0', 1e-12);
    circuit.resistor('a', '0', 1e6);
    circuit.inductance(circuit.inductor('a', '0'), 0, 2e-3);
    circuit.inductance(circuit.inductor('b', '0'), 1, 2e-3);
    circuit.inductance(0, 1, mutual_H);
    circuit.resistor('b', '0', 1e6);
    circuit.probe('b', '0');
    const moving: MovingSources = {
      inputs: [ramp],
      fill: (time_s, out) => {
        out[0] = 200 * time_s;
      },
      nextActive: (time_s) => time_s,
    };
    const row = new Float64Array(1000);
    new Transient(circuit, { moving }).run(1e-6, 1000, [0], [row]);
    // The book's emf opposes the change; a voltmeter at the dot reads + with the passive sign.
    expect(row[999] * 1e3).toBeCloseTo(5.06, 2);
  });

  it('couplings that no magnetic circuit can have are reduced, not obeyed', () => {
    const coils = ['a', 'b', 'c'].map((id) => ({ ...COIL, id, from: `${id}0`, to: `${id}1` }));
    const impossible = quietPickup(coils, {
      couplings: [
        { a: 'a', b: 'b', k: 0.9 },
        { a: 'b', b: 'c', k: 0.9 },
        { a: 'a', b: 'c', k: 0.9 },
      ],
    });
    const matrix = couplingMatrix(impossible);
    expect(Math.abs(matrix[1])).toBeLessThan(0.5);
    expect(matrix[1]).toBeLessThan(0);
  });
});

type Point = readonly [number, number, number];

/** A circle parallel to the strings' plane, clockwise or not as seen from +z, the face's side. */
function loop(centre: Point, radius_m: number, winding: Winding, points = 720): Point[] {
  const turn = winding === 'ccw' ? 1 : -1;
  return Array.from({ length: points }, (_, i) => {
    const angle = (turn * 2 * Math.PI * i) / points;
    return [
      centre[0] + radius_m * Math.cos(angle),
      centre[1] + radius_m * Math.sin(angle),
      centre[2],
    ] as const;
  });
}

/** Neumann's double integral for two closed paths. */
function neumann_H(one: readonly Point[], other: readonly Point[]): number {
  let sum = 0;
  for (let i = 0; i < one.length; i++) {
    const p = one[i];
    const p2 = one[(i + 1) % one.length];
    for (let j = 0; j < other.length; j++) {
      const q = other[j];
      const q2 = other[(j + 1) % other.length];
      const dot = (p2[0] - p[0]) * (q2[0] - q[0]) + (p2[1] - p[1]) * (q2[1] - q[1]);
      const distance = Math.hypot(
        (p[0] + p2[0] - q[0] - q2[0]) / 2,
        (p[1] + p2[1] - q[1] - q2[1]) / 2,
        p[2] - q[2],
      );
      sum += dot / distance;
    }
  }
  return 1e-7 * sum;
}

/** Line integral along a path of the vector potential of a magnetic dipole along z. */
function potentialAlong(path: readonly Point[], dipole: Point, moment_Am2: number): number {
  let sum = 0;
  for (let i = 0; i < path.length; i++) {
    const p = path[i];
    const p2 = path[(i + 1) % path.length];
    const x = (p[0] + p2[0]) / 2 - dipole[0];
    const y = (p[1] + p2[1]) / 2 - dipole[1];
    const z = p[2] - dipole[2];
    const scale = (1e-7 * moment_Am2) / Math.hypot(x, y, z) ** 3;
    // A = mu0/(4 pi) m x r / r^3 with m along z: (-m y, m x, 0).
    sum += scale * (-y * (p2[0] - p[0]) + x * (p2[1] - p[1]));
  }
  return sum;
}

describe('signs in space', () => {
  const WINDINGS = ['cw', 'ccw'] as const;
  const POLES = ['N', 'S'] as const;

  it("Grover, Maxwell's formula: coaxial loops of 0.1 m, 0.1 m apart, have 4.9408e-8 H, equal sense +", () => {
    const mutual_H = neumann_H(loop([0, 0, 0], 0.1, 'cw'), loop([0, 0, 0.1], 0.1, 'cw'));
    expect(mutual_H / 4.9408e-8).toBeCloseTo(1, 3);
  });

  it("Neumann's integral has the bench's sign of M side by side and stacked, all windings", () => {
    for (const a of WINDINGS) {
      for (const b of WINDINGS) {
        const other = { ...COIL, id: 'l', from: 'l0', to: 'l1', winding: b };
        const coils = [{ ...COIL, winding: a }, other];
        const beside = neumann_H(loop([0, 0, 0], 0.01, a), loop([0.025, 0, 0], 0.01, b));
        const stacked = neumann_H(loop([0, 0, 0], 0.01, a), loop([0, 0, 0.01], 0.01, b));
        for (const [space_H, k] of [[beside, 0.1], [stacked, -0.5]]) {
          const matrix = couplingMatrix(quietPickup(coils, { couplings: [{ a: 'u', b: 'l', k }] }));
          expect(Math.sign(matrix[1])).toBe(Math.sign(space_H));
        }
      }
    }
  });

  it('V(to) - V(from) = -d/dt of A along the wire has the touch sign of winding and pole', () => {
    for (const winding of WINDINGS) {
      for (const pole of POLES) {
        const moment_Am2 = pole === 'N' ? 1 : -1;
        const path = loop([0, 0, 0], 0.01, winding);
        // Steel arriving strengthens the magnet's own flux: the dipole grows.
        const before = potentialAlong(path, [0, 0, -0.01], moment_Am2);
        const after = potentialAlong(path, [0, 0, -0.01], moment_Am2 * 1.1);
        expect(Math.sign(-(after - before))).toBe(touchSign({ ...COIL, winding, pole }));
      }
    }
  });

  it('the touch sign is the product of winding and pole', () => {
    const expected: [Winding, Pole, number][] = [
      ['cw', 'N', 1],
      ['ccw', 'S', 1],
      ['ccw', 'N', -1],
      ['cw', 'S', -1],
    ];
    for (const [winding, pole, sign] of expected) {
      expect(touchSign({ ...COIL, winding, pole })).toBe(sign);
    }
  });
});
