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

describe('channels that all have a clip in common that wire connects to nothing', () => {
  /** Two coils, at clips 2 and 5 and at 3 and 4: hum of its own on each, and steel at one after the other. */
  function record(channels: readonly (readonly [number, number])[]) {
    const tied = new Map([['2 5', 4100], ['3 4', 4300]]);
    const emf = (t_s: number): number => (t_s < 0 || t_s > 0.01 ? 0 : 0.05 * Math.sin((Math.PI * t_s) / 0.01));
    const own = (clip: number, place: number, t_s: number): number =>
      clip === 5 && place === 0 ? emf(t_s) : clip === 3 && place === 1 ? -emf(t_s) : 0;
    const foot = (clip: number, t_s: number): number =>
      (clip === 1 ? 0 : 0.02 * Math.sin(2 * Math.PI * 50 * t_s + (clip === 2 || clip === 5 ? 0 : 1)));
    const potential = (clip: number, place: number, t_s: number): number => own(clip, place, t_s) + foot(clip, t_s);
    return asBenchRecord({
      format: 'bench/1',
      clips: [1, 2, 3, 4, 5].map((clip) => ({ clip })),
      places: ['left', 'right'],
      resistances: [1, 2, 3, 4, 5].flatMap((a) => [1, 2, 3, 4, 5].filter((b) => b > a)
        .map((b) => {
          const ohm = tied.get(`${a} ${b}`);
          return ohm === undefined ? { a, b, ohm: null, above_ohm: 2e8 } : { a, b, ohm, u_ohm: 0.5 };
        })),
      touches: ['left', 'right'].map((at, place) => ({
        at, rate_Hz: 5000, start_s: -0.1,
        channels: channels.map(([plus, minus], row) => ({
          plus, minus,
          volts_V: Array.from({ length: 3000 }, (_, k) => {
            const t_s = -0.1 + k / 5000;
            return potential(plus, place, t_s) - potential(minus, place, t_s) + 1e-5 * Math.sin(k * (7 * row + 3));
          }),
        })),
      })),
    });
  }
  const solved = (channels: readonly (readonly [number, number])[]): (number | null)[][] => {
    const logic = createLogic();
    return solveEvidence(logic, loadRecord(logic, record(channels))).coils.map(({ plus, minus }) => [plus, minus]);
  };

  it('tell what lies between the others, whichever way each was read', () => {
    const along = solved([[2, 5], [3, 4]]);
    expect(along).toEqual([[5, 2], [4, 3]]);
    expect(solved([[2, 1], [3, 1], [4, 1], [5, 1]])).toEqual(along);
    expect(solved([[1, 2], [3, 1], [1, 4], [5, 1]])).toEqual(along);
  });

  it('tell nothing where they have none', () => {
    expect(solved([[2, 1], [3, 1], [4, 3], [5, 4]])[0]).toEqual([null, null]);
  });
});
