/** What is still to be minded of a pickup whose verdict is good: told by one function, so that papers, lists and screens say the same. */
import { likelyCoils } from './likely-plus.ts';
import type { WireMap } from './wiremap.ts';

/** `warning`: read its findings; `likely`: a plus is only likely, touch again. '' without a doubt, and where the verdict says more itself. */
export type Doubt = '' | 'warning' | 'likely';

/** The graver one where both hold: another touch takes no warning away. */
export function doubtOf(map: Pick<WireMap, 'verdict' | 'findings' | 'coils' | 'pairs'>): Doubt {
  if (map.verdict !== 'good') return '';
  if (map.findings.some(({ severity }) => severity === 'warning')) return 'warning';
  return likelyCoils(map).length > 0 ? 'likely' : '';
}
