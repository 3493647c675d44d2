/** What every setting of a harness does (`positions/1`). */
import { findingsOf, type HarnessFinding } from './findings.ts';
import { settingNames } from './harness.ts';
import type { LoadedHarness } from './load-harness.ts';
import { settingResult, type SettingResult } from './setting-result.ts';
import { Solver } from './solver.ts';

export interface Positions {
  readonly format: 'positions/1';
  readonly title?: string;
  readonly settings: readonly SettingResult[];
  readonly findings: readonly HarnessFinding[];
}

/** Solves every setting of a harness as it stands. */
export function positionsOf({ harness, pickups }: LoadedHarness): Positions {
  const solver = new Solver(harness, pickups);
  const wirings = solver.wirings(pickups);
  const none = pickups.map(() => false);
  const settings = solver.circuit.settings.map((positions, at) =>
    settingResult(settingNames(harness, positions), solver, solver.solution(at, wirings), none));
  return {
    format: 'positions/1',
    ...(harness.title === undefined ? {} : { title: harness.title }),
    settings,
    findings: findingsOf({ harness, pickups }, settings, solver, none),
  };
}

