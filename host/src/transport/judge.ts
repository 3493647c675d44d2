/** Whether a tester and this program fit together, decided before anything is driven. */
import { LAYOUT_VERSION } from '../logic/layout.generated.ts';
import type { Identity } from './reports.ts';

/**
 * What a tester's identity report has against working with it.
 * @param serial - as the bus tells it
 * @param moduleHash - SHA-256 of this program's module, hex
 * @returns one sentence, or null when they fit
 */
export function identityObstacle(serial: string, identity: Identity, moduleHash: string): string | null {
  const firmware = `tester ${serial} has firmware ${identity.firmware}`;
  if (identity.layout > LAYOUT_VERSION) {
    return `${firmware} with report layout ${identity.layout}, which is newer than this program's ${LAYOUT_VERSION}; update tapstone (nothing was driven)`;
  }
  if (identity.layout < LAYOUT_VERSION) {
    return `${firmware} with report layout ${identity.layout}, which is older than this program's ${LAYOUT_VERSION}; write this program's firmware to it with tapstone flash (nothing was driven)`;
  }
  if (identity.moduleHash !== moduleHash) {
    return `${firmware} with another measuring logic (${short(identity.moduleHash)}) than this program's (${short(moduleHash)}), so the two could disagree; write this program's firmware to it with tapstone flash (nothing was driven)`;
  }
  return null;
}

function short(hash: string): string {
  return `sha256 ${hash.slice(0, 8)}`;
}
