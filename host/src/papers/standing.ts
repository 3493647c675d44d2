/** How a pickup stands, in the one line that every paper about it bears first. */
import { doubtOf, type Doubt } from '../wiremap/doubt.ts';
import type { TestedPickup } from './tested-pickup.ts';

const DOUBT: Readonly<Record<Doubt, string | null>> = { '': null, warning: 'WARNING: read its findings', likely: 'UNSURE: touch again' };

/** Null where nothing speaks against fitting the pickup: paper needs no praise. */
export function standing({ test, state }: TestedPickup): string | null {
  if (test === null) return 'NOT TESTED';
  const { verdict } = test.map;
  if (verdict === 'fault') return 'FAULT: do not fit as it is';
  if (verdict === 'unsure') return 'UNSURE: not settled';
  // Somebody saw what no test sees.
  if (state === 'fault') return 'FAULT, as the shop noted';
  if (state === 'unsure') return 'UNSURE, as the shop noted';
  return DOUBT[doubtOf(test.map)];
}
