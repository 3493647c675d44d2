import { describe, expect, it } from 'vitest';
import { asBenchRecord } from '../files/bench-file.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { createLogic } from '../logic/module.ts';
import { loadRecord } from './load-record.ts';
import { solveEvidence } from './read-result.ts';

/** What two of five clips along one tapped winding show while steel comes: a half sine of 50 mV for each section between them. */
function volts(plus: number, minus: number): number[] {
  return Array.from({ length: 3000 }, (_, k) => {
    const t_s = -0.1 + k / 5000;
    const emf = t_s < 0 || t_s > 0.01 ? 0 : 0.05 * Math.sin((Math.PI * t_s) / 0.01);
    return (plus - minus) * emf + 1e-5 * Math.sin(k * (plus * 7 + minus));
  });
}

function map(pairs: readonly (readonly [number, number])[]): WireMap {
  const clips = [1, 2, 3, 4, 5];
  const record = asBenchRecord({
    format: 'bench/1',
    clips: clips.map((clip) => ({ clip })),
    resistances: clips.flatMap((a) => clips.filter((b) => b > a).map((b) => ({ a, b, ohm: 2000 * (b - a), u_ohm: 0.5 }))),
    touches: [{
      at: 'single', rate_Hz: 5000, start_s: -0.1,
      channels: pairs.map(([plus, minus]) => ({ plus, minus, volts_V: volts(plus, minus) })),
    }],
  });
  const logic = createLogic();
  return solveEvidence(logic, loadRecord(logic, record));
}

describe('a record with more channels than the module takes', () => {
  it('is read by those that are no sum of others', () => {
    const some = [[2, 1], [3, 2], [4, 3], [5, 4]] as const;
    const all = [[2, 1], [3, 1], [3, 2], [4, 3], [4, 1], [5, 4], [5, 1], [5, 2], [4, 2]] as const;
    const told = map(all);
    expect(told.coils).toHaveLength(4);
    expect(told.coils.map(({ plus, minus }) => [plus, minus])).toEqual(map(some).coils.map(({ plus, minus }) => [plus, minus]));
    expect(told.coils[0]!.plus).toBe(2);
  });
});
