/** Keeps a pickup that failed, so that it can be seen again and becomes a test. */
import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import type { LotPickup } from '../lots/generator.ts';
import type { Judgement } from '../lots/judge.ts';

/** Writes `SEED-NUMBER.pickup.json` and what was wrong with its map under tests/found/.
 * @returns the name without its endings
 */
export function keepFailure(one: LotPickup, seed: number, judged: Judgement): string {
  const name = `${seed.toString(16).padStart(6, '0')}-${one.number}`;
  const path = (ending: string): string =>
    fileURLToPath(new URL(`../found/${name}${ending}`, import.meta.url));
  writeFileSync(path('.pickup.json'), `${JSON.stringify(one.pickup, null, 2)}\n`);
  const expectation = {
    why: judged.disagreements.map((item) => `${item.class}: ${item.detail}`).join('; '),
    seed: seed + one.number,
    without: [...new Set(judged.disagreements.map((item) => item.class))],
  };
  writeFileSync(path('.expect.json'), `${JSON.stringify(expectation, null, 2)}\n`);
  return name;
}
