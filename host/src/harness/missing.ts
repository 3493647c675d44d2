/** Why a plan cannot give more than it does. */
import { listInWords } from '../wiremap/lead-words.ts';
import type { Setting } from './harness.ts';
import { missingPlusInWords } from './missing-plus.ts';
import { leftInWords, magnetWork, type PickupOption } from './options.ts';
import { CANCELLED, COMBINATIONS_MOST, IN_PHASE, isCancelled, SOUNDS, type Combination, type PlanSearch, type Proposal } from './search.ts';
import type { SettingResult } from './setting-result.ts';

/** Combinations of one setting that are tried beyond what is allowed, only to say what would help. */
const BEYOND_MOST = 10_000;

/** All that was tried in vain; three coils or more could still be wired partly in series and partly in parallel. */
const NOTHING_gives =
  'Nothing that was tried gives it: coils of each pickup in series, in parallel or alone, either way round, and each magnet turned over.';

/** What one setting lacks. */
export interface Missing {
  readonly setting: Setting;
  /** One sentence or several: what is lacking, why, and what would give it. */
  readonly text: string;
}

/** What the best proposal lacks, setting by setting.
 * @param search - that found it
 * @param best - as a combination of that search
 * @param wider - the same harness with everything allowed; made only when it is asked
 */
export function missingOf(search: PlanSearch, best: Combination, proposal: Proposal, wider: () => PlanSearch): Missing[] {
  let wide: PlanSearch | null = null;
  const remedies = new Remedies(search, best, proposal, () => (wide ??= wider()));
  return proposal.settings.flatMap((result, setting) => {
    const lack = lackOf(result, search, best.flipped);
    if (lack === null) return [];
    const sentences = [lack.text];
    if (lack.wanted !== null) sentences.push(remedies.of(setting, lack.wanted));
    return [{ setting: result.setting, text: sentences.join(' ') }];
  });
}

/** What is lacking and why; `wanted` are the bits that would mend it, null where no wiring can. */
function lackOf(
  result: SettingResult, { solver }: PlanSearch, flipped: readonly boolean[],
): { readonly text: string; readonly wanted: number | null } | null {
  const { state, in_phase, hum, sounding } = result;
  if (state === 'shorted') return { text: 'The output is shorted to ground.', wanted: SOUNDS };
  if (state === 'silent') return { text: 'No coil reaches the output.', wanted: SOUNDS };
  if (in_phase === false) return { text: 'Coils work against each other.', wanted: IN_PHASE };
  const coils = sounding.map(({ slot, coil }) => solver.coils.find((one) => one.slot === slot && one.name === coil)!);
  const names = (some: typeof coils): string => listInWords(some.map(({ slot, name, place }) => `${slot} ${place ?? name}`));
  if (in_phase === null) {
    const open = coils.flatMap((coil) => (coil.missingPlus === null ? [] : [{ name: names([coil]), missing: coil.missingPlus }]));
    const which = listInWords(open.map(({ name }) => name));
    return { text: `Plus and minus of ${which} are not known: ${missingPlusInWords(open)}.`, wanted: null };
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
  // The pole that a coil shows after its magnet was turned.
  const poles = coils.map(({ pickup, pole }) => Math.sign(pole.h) * (flipped[pickup] === true ? -1 : 1));
  const signs = new Set(poles);
  const shown = coils[0]!.pole.group === 0 ? (poles[0]! > 0 ? ' N' : ' S') : ' the same pole';
  if (signs.size === 1 && hum > 0.999) return { text: `${left}${names(coils)} ${coils.length === 2 ? 'both' : 'all'} show${shown}.`, wanted: CANCELLED };
  return { text: `${left}${names(coils)} do not balance.`, wanted: CANCELLED };
}

/** What would give what is lacking, here or with more allowed: what is to be done beside the work of the best proposal. */
class Remedies {
  private readonly search: PlanSearch;
  private readonly best: Combination;
  private readonly proposal: Proposal;
  private readonly wider: () => PlanSearch;

  constructor(search: PlanSearch, best: Combination, proposal: Proposal, wider: () => PlanSearch) {
    this.search = search;
    this.best = best;
    this.proposal = proposal;
    this.wider = wider;
  }

  of(setting: number, wanted: number): string {
    const { search, best, wider } = this;
    const stands = { options: best.options.map(() => 0), flipped: best.flipped.map(() => false) };
    if (search.does(setting, wanted, stands)) return 'It is so as it stands; the work above gives it up for other settings.';
    const here = search.cheapest(setting, wanted, COMBINATIONS_MOST, best);
    if (here !== null && here !== undefined) return `It could be had, but other settings would lose by it: ${this.change(search, best, here).text}.`;
    const wide = wider();
    const from = wide.taken(best, search);
    const beyond = wide.cheapest(setting, wanted, BEYOND_MOST, from);
    const left = leftInWords(wide.leftIn(setting));
    if (beyond === undefined) return `No allowed change gives it; more was too much to try.${left}`;
    if (beyond === null) return `${NOTHING_gives}${left}`;
    const { text, isBeside } = this.change(wide, from, beyond);
    const isMagnet = beyond.flipped.some((one, at) => one !== from.flipped[at]);
    return `No allowed change gives it; ${isBeside ? 'beside the work above this' : 'this'} would: ${text}.${isMagnet ? left : ''}`;
  }

  /** From the best proposal to another combination, in words. Nothing of the work above is done yet: what differs from it is told from how
   * the pickup stands. */
  private change(search: PlanSearch, from: Combination, to: Combination): { readonly text: string; readonly isBeside: boolean } {
    let isBeside = this.proposal.work.length > 0;
    const steps = search.pickups.flatMap(({ slot: { slot } }, at) => {
      const [before, after] = [from, to].map(({ options }) => search.options[at]![options[at]!]!) as [PickupOption, PickupOption];
      const leads = after === before ? [] : after.work.map(({ text }) => text);
      const magnet = from.flipped[at] === to.flipped[at] ? [] : [magnetWork(slot).text];
      if (after !== before && before.work.length > 0) {
        isBeside = false;
        leads[0] = `${slot}: instead of the work above on its leads, ${leads[0]?.slice(slot.length + 2) ?? 'leave them as they are'}`;
      }
      if (magnet.length > 0 && from.flipped[at] === true) {
        isBeside = false;
        magnet[0] = `${slot}: instead of the work above on its magnet, leave it as it is`;
      }
      return [...leads, ...magnet];
    });
    return { text: steps.join('; '), isBeside };
  }
}
