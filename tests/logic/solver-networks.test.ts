/** The solver's network step against a pseudo-inverse that it does not share (ml-matrix), over random networks. */
import fc from 'fast-check';
import { Matrix, pseudoInverse } from 'ml-matrix';
import { describe, expect, it } from 'vitest';
import { loadRecord } from '../../host/src/evidence/load-record.ts';
import { solveEvidence } from '../../host/src/evidence/read-result.ts';
import type { BenchRecord } from '../../host/src/files/bench-record.ts';
import { createLogic } from '../../host/src/logic/module.ts';

type Edge = { readonly a: number; readonly b: number; readonly ohm: number };

const logic = createLogic();

/** Effective resistances (e_i - e_j)' Q+ (e_i - e_j). @see physics.md 2; Klein and Randic 1993 */
function record(count: number, edges: readonly Edge[]): BenchRecord {
  const laplacian = Matrix.zeros(count, count);
  for (const { a, b, ohm } of edges) {
    for (const [i, j, sign] of [[a, a, 1], [b, b, 1], [a, b, -1], [b, a, -1]] as const) {
      laplacian.set(i, j, laplacian.get(i, j) + sign / ohm);
    }
  }
  const inverse = pseudoInverse(laplacian.mul(4000)).mul(4000);
  const resistances = [];
  for (let i = 0; i < count; i++) {
    for (let j = i + 1; j < count; j++) {
      const ohm = inverse.get(i, i) + inverse.get(j, j) - 2 * inverse.get(i, j);
      resistances.push({ a: i + 1, b: j + 1, ohm, u_ohm: 0.05 });
    }
  }
  const clips = Array.from({ length: count }, (_, i) => ({ clip: i + 1 }));
  return { format: 'bench/1', clips, resistances } as BenchRecord;
}

function solved(count: number, edges: readonly Edge[]) {
  const map = solveEvidence(logic, loadRecord(logic, record(count, edges)));
  return map.coils.map(({ ends, ohm }) => ({ ends: [...ends!].sort().join('-'), ohm: ohm! }))
    .sort((x, y) => x.ends.localeCompare(y.ends));
}

const key = ({ a, b }: Edge): string => [a + 1, b + 1].sort().join('-');

describe('network of coils', () => {
  it('finds every tree of 2 to 6 clips again, coil by coil (each node a clip)', () => {
    const trees = fc.integer({ min: 2, max: 6 }).chain((count) => fc.tuple(
      fc.constant(count),
      fc.tuple(...Array.from({ length: count - 1 }, (_, i) => fc.integer({ min: 0, max: i }))),
      fc.array(fc.integer({ min: 1000, max: 15000 }), { minLength: count - 1, maxLength: count - 1 })));
    fc.assert(fc.property(trees, ([count, parents, ohms]) => {
      const edges = parents.map((parent, i) => ({ a: parent, b: i + 1, ohm: ohms[i]! }));
      const found = solved(count, edges);
      const real = edges.map((edge) => ({ ends: key(edge), ohm: edge.ohm })).sort((x, y) => x.ends.localeCompare(y.ends));
      expect(found.map((coil) => coil.ends)).toEqual(real.map((coil) => coil.ends));
      found.forEach((coil, i) => expect(Math.abs(coil.ohm - real[i]!.ohm)).toBeLessThan(0.01));
    }), { seed: 0x7a95, numRuns: 300 });
  });

  it('finds every ring of 4 to 6 coils again', () => {
    const rings = fc.array(fc.integer({ min: 2000, max: 9000 }), { minLength: 4, maxLength: 6 });
    fc.assert(fc.property(rings, (ohms) => {
      const edges = ohms.map((ohm, i) => ({ a: i, b: (i + 1) % ohms.length, ohm }));
      const found = solved(ohms.length, edges);
      const real = edges.map((edge) => ({ ends: key(edge), ohm: edge.ohm })).sort((x, y) => x.ends.localeCompare(y.ends));
      expect(found.map((coil) => coil.ends)).toEqual(real.map((coil) => coil.ends));
      found.forEach((coil, i) => expect(Math.abs(coil.ohm / real[i]!.ohm - 1)).toBeLessThan(2e-3));
    }), { seed: 0x7a95, numRuns: 200 });
  });

  it('says so when no network of resistors gives the readings, and is never sure of such a pickup', () => {
    const resistances = [[1, 2, 8000], [3, 4, 8000], [1, 3, 4100], [1, 4, 4100], [2, 3, 4100], [2, 4, 4100]]
      .map(([a, b, ohm]) => ({ a, b, ohm, u_ohm: 0.5 }));
    const clips = [1, 2, 3, 4].map((clip) => ({ clip }));
    const map = solveEvidence(logic, loadRecord(logic, { format: 'bench/1', clips, resistances } as BenchRecord));
    expect(map.findings.map(({ kind }) => kind)).toContain('contradiction');
    expect(map.unknown.join()).toMatch(/no network/);
    expect(map.verdict).not.toBe('good');
  });

  it('tells the two readings of an inductance themselves when they disagree', () => {
    const clips = [1, 2].map((clip) => ({ clip }));
    const inductances = [2.1, 2.6].map((henry_H) => ({ plus: 1, minus: 2, henry_H, u_H: 0.02 }));
    const resistances = [{ a: 1, b: 2, ohm: 4100, u_ohm: 0.2 }];
    const map = solveEvidence(logic, loadRecord(logic, { format: 'bench/1', clips, resistances, inductances } as BenchRecord));
    const text = map.findings.find(({ kind }) => kind === 'contradiction')?.text;
    expect(text).toMatch(/\b2\.10?\b/);
    expect(text).toMatch(/\b2\.60?\b/);
  });

  it('gives the same result bytes whatever was solved before', () => {
    const edges = [{ a: 0, b: 1, ohm: 4100 }, { a: 1, b: 2, ohm: 4200 }];
    const first = JSON.stringify(solved(3, edges));
    solved(6, [0, 1, 2, 3, 4].map((i) => ({ a: i, b: i + 1, ohm: 3000 + i })));
    expect(JSON.stringify(solved(3, edges))).toBe(first);
  });
});
