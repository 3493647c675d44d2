/** Which coils' poles are equal, as far as it is known. */
import type { FittedPickup } from './fitted-pickup.ts';
import { Merge } from './merge.ts';

/** What a coil's pole is worth against the others. */
export interface PoleSign {
  /** Coils of one group are tied to one another; group 0 is tied to north and south themselves. Null: nothing is known. */
  readonly group: number | null;
  /** +1 or -1 against the group (group 0: +1 for N); the mean of what is inside for a stretch with a hidden junction. */
  readonly h: number;
}

/** The group of what is known as north or south. */
const ABSOLUTE = 0;

/** The signs of all coils, pickup by pickup. */
export function poleSigns(pickups: readonly Pick<FittedPickup, 'coils' | 'pairs'>[]): PoleSign[][] {
  let groups = ABSOLUTE + 1;
  return pickups.map(({ coils, pairs }) => {
    // Point 0 is north; coil i is point i + 1, with its sign against what it hangs on.
    const merge = new Merge(coils.length + 1);
    const sign = new Array<number>(coils.length + 1).fill(1);
    const tie = (a: number, b: number, differ: boolean): void => {
      if (merge.same(a, b)) return;
      const flip = sign[a]! * sign[b]! * (differ ? -1 : 1);
      const moved = merge.find(b);
      for (let at = 0; at < sign.length; at++) if (merge.find(at) === moved) sign[at]! *= flip;
      merge.join(b, a);
    };
    coils.forEach(({ pole, hidden_junction }, at) => {
      if (pole !== null && pole !== undefined && hidden_junction !== true) tie(0, at + 1, pole === 'S');
    });
    for (const { a, b, poles_differ } of pairs) {
      const [i, j] = [a, b].map((name) => coils.findIndex((coil) => coil.name === name)) as [number, number];
      if (poles_differ === null || i < 0 || j < 0 || coils[i]!.hidden_junction === true || coils[j]!.hidden_junction === true) continue;
      tie(i + 1, j + 1, poles_differ);
    }
    // The sign against north, for what is tied to it.
    const northSign = sign[0]!;
    const numbers = new Map<number, number>([[merge.find(0), ABSOLUTE]]);
    return coils.map((coil, at): PoleSign => {
      if (coil.hidden_junction === true) return hidden(coil.parts ?? []);
      const root = merge.find(at + 1);
      if (!numbers.has(root)) numbers.set(root, groups++);
      const group = numbers.get(root) as number;
      return { group, h: sign[at + 1]! * (group === ABSOLUTE ? northSign : 1) };
    });
  });
}

function hidden(parts: readonly { readonly pole: 'N' | 'S' | null }[]): PoleSign {
  if (parts.length === 0 || parts.some(({ pole }) => pole === null || pole === undefined)) return { group: null, h: 0 };
  const h = parts.reduce((sum, { pole }) => sum + (pole === 'N' ? 1 : -1), 0) / parts.length;
  return { group: ABSOLUTE, h };
}

/** Whether some coils are tied together, so that hum can be summed over them.
 * @param which - indices of those that are asked about
 */
export function areTied(coils: readonly { readonly pole: PoleSign }[], which: readonly number[]): boolean {
  let common = -1;
  for (const at of which) {
    const { group, h } = coils[at]!.pole;
    if (group === null) return false;
    // What cancels in itself needs no tie to the others.
    if (h === 0) continue;
    if (common >= 0 && group !== common) return false;
    common = group;
  }
  return true;
}
