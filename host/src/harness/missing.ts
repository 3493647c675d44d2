/** Why a plan cannot give more than it does. */
import { listInWords } from '../wiremap/lead-words.ts';
import type { Setting } from './harness.ts';
import type { Work } from './options.ts';
import { CANCELLED, COMBINATIONS_MOST, IN_PHASE, isCancelled, SOUNDS, type PlanSearch, type Proposal } from './search.ts';
import type { SettingResult } from './setting-result.ts';

/** Combinations of one setting that are tried beyond what is allowed, only to say what would help. */
const BEYOND_MOST = 10_000;

/** What one setting lacks. */
export interface Missing {
  readonly setting: Setting;
  /** One sentence or several: what is lacking, why, and what would give it. */
  readonly text: string;
}

/** What the best proposal lacks, setting by setting.
 * @param search - that found it
 * @param wider - the same harness with everything allowed; made only when it is asked
 */
export function missingOf(search: PlanSearch, best: Proposal, wider: () => PlanSearch): Missing[] {
  let wide: PlanSearch | null = null;
  return best.settings.flatMap((result, setting) => {
    const lack = lackOf(result, search);
    if (lack === null) return [];
    const sentences = [lack.text];
    if (lack.wanted !== null) sentences.push(...remedy(setting, lack.wanted, search, () => (wide ??= wider())));
    return [{ setting: result.setting, text: sentences.join(' ') }];
  });
}

/** What is lacking and why; `wanted` are the bits that would mend it, null where no wiring can. */
function lackOf(result: SettingResult, { solver }: PlanSearch): { readonly text: string; readonly wanted: number | null } | null {
  const { state, in_phase, hum, sounding } = result;
  if (state === 'shorted') return { text: 'The output is shorted to ground.', wanted: SOUNDS };
  if (state === 'silent') return { text: 'No coil reaches the output.', wanted: SOUNDS };
  if (in_phase === false) return { text: 'Coils work against each other.', wanted: IN_PHASE };
  const coils = sounding.map(({ slot, coil }) => solver.coils.find((one) => one.slot === slot && one.name === coil)!);
  const names = (some: typeof coils): string => listInWords(some.map(({ slot, name, place }) => `${slot} ${place ?? name}`));
  if (in_phase === null) {
    const open = coils.filter(({ isPlusKnown }) => !isPlusKnown);
    return { text: `Plus and minus of ${names(open)} are not known: test it again and touch it with steel.`, wanted: null };
  }
  if (isCancelled(result)) return null;
  if (hum === null) {
    const open = coils.filter(({ pole }) => pole.group !== 0);
    return { text: `Whether hum cancels is not known: hold a compass or the magnet probe to ${names(open)}.`, wanted: null };
  }
  const left = `${Math.round(100 * hum)} % of the hum is left: `;
  if (coils.length === 1) {
    const { isHidden } = coils[0]!;
    const why = isHidden ? 'what is inside does not cancel it' : 'one coil alone has nothing to cancel it with';
    return { text: `${left}${why}.`, wanted: isHidden ? CANCELLED : null };
  }
  const signs = new Set(coils.map(({ pole }) => Math.sign(pole.h)));
  const shown = coils[0]!.pole.group === 0 ? (coils[0]!.pole.h > 0 ? ' N' : ' S') : ' the same pole';
  if (signs.size === 1 && hum > 0.999) return { text: `${left}${names(coils)} ${coils.length === 2 ? 'both' : 'all'} show${shown}.`, wanted: CANCELLED };
  return { text: `${left}${names(coils)} do not balance.`, wanted: CANCELLED };
}

/** Whether anything would give it, here or with more allowed. */
function remedy(setting: number, wanted: number, search: PlanSearch, wider: () => PlanSearch): string[] {
  const here = search.cheapest(setting, wanted, COMBINATIONS_MOST);
  if (here !== null && here !== undefined) return [`It could be had, but other settings would lose by it: ${workInWords(here)}.`];
  const wide = wider();
  const beyond = wide.cheapest(setting, wanted, BEYOND_MOST);
  if (beyond === undefined) return ['No allowed change gives it; more was too much to try.'];
  if (beyond === null) return ['No change of leads, ways or magnets gives it.'];
  return [`No allowed change gives it; this would: ${workInWords(beyond)}.`];
}

function workInWords(work: readonly Work[]): string {
  return work.map(({ text }) => text).join('; ');
}
