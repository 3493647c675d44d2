/** Frames that are not on ground: metal that can be touched. */
import type { Wiring } from './circuit.ts';
import type { FittedPickup } from './fitted-pickup.ts';
import type { Solver } from './solver.ts';

/** A lead of a frame, and the first setting in which it is not on ground. */
export interface LooseFrame {
  readonly slot: string;
  readonly clip: number;
  readonly setting: number;
}

/** Leads of a frame that are not on the output's ground, with the first setting in which they are not. */
export function looseFrames(solver: Solver, pickups: readonly FittedPickup[], wirings: readonly Wiring[]): LooseFrame[] {
  const found: LooseFrame[] = [];
  solver.circuit.settings.forEach((_, setting) => {
    const layout = solver.layout(setting, wirings, 'ac');
    pickups.forEach(({ slot: { slot }, leads }, at) => {
      leads.chassis.forEach((clip, lead) => {
        if (layout.isGround(wirings[at]!.frame[lead]!) || found.some((one) => one.slot === slot && one.clip === clip)) return;
        found.push({ slot, clip, setting });
      });
    });
  });
  return found;
}
