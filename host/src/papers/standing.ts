/** How a pickup stands, in the one line that every paper about it bears first. */
import { likelyCoils } from '../wiremap/likely-plus.ts';
import type { TestedPickup } from './tested-pickup.ts';

/** Null where nothing speaks against fitting the pickup: paper needs no praise. */
export function standing({ test, state }: TestedPickup): string | null {
  if (test === null) return 'NOT TESTED';
  const { verdict, findings } = test.map;
  if (verdict === 'fault') return 'FAULT: do not fit as it is';
  if (verdict === 'unsure') return 'UNSURE: not settled';
  // Somebody saw what no test sees.
  if (state === 'fault') return 'FAULT, as the shop noted';
  if (state === 'unsure') return 'UNSURE, as the shop noted';
  if (findings.some(({ severity }) => severity === 'warning')) return 'WARNING: read its findings';
  return likelyCoils(test.map).length > 0 ? 'UNSURE: touch again' : null;
}
