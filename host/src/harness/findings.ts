/** What is to be said of a harness beside its settings: what is wrong, and what would mend it. */
import { percent } from '../text/percent.ts';
import { listInWords } from '../wiremap/lead-words.ts';
import { likelyCoils } from '../wiremap/likely-plus.ts';
import { lookAlikes, type LookAlike } from '../wiremap/look-alikes.ts';
import type { FittedPickup } from './fitted-pickup.ts';
import type { LoadedHarness } from './load-harness.ts';
import { looseFrames } from './loose-frames.ts';
import { missingPlus, missingPlusInWords } from './missing-plus.ts';
import { NodeNames } from './node-names.ts';
import { phaseCure } from './phase-cure.ts';
import type { SettingResult } from './setting-result.ts';
import { settingInWords, settingsInWords } from './settings-in-words.ts';
import type { Solver } from './solver.ts';

export type HarnessFindingKind = 'out_of_phase' | 'shorted' | 'silent' | 'frame' | 'map' | 'unknown' | 'lone_node';

export interface HarnessFinding {
  readonly kind: HarnessFindingKind;
  readonly severity: 'note' | 'warning';
  readonly text: string;
}

/** What is to be said of a harness and its settings.
 * @param solver - made for the harness with the same pickups, however they were wired then
 * @param flipped - by pickup, whether its magnet was turned after it was wired
 */
export function findingsOf(
  { harness, pickups }: LoadedHarness,
  settings: readonly SettingResult[],
  solver: Solver,
  flipped: readonly boolean[],
): HarnessFinding[] {
  const frames = looseFrames(solver, pickups, solver.wirings(pickups));
  const list: HarnessFinding[] = [];
  const say = (kind: HarnessFindingKind, text: string): void => {
    list.push({ kind, severity: kind === 'silent' || kind === 'unknown' ? 'note' : 'warning', text });
  };
  const which = (some: readonly SettingResult[]): string => settingsInWords(harness, some.map(({ setting }) => setting));
  const opposed = settings.filter(({ in_phase }) => in_phase === false);
  if (opposed.length > 0) {
    const cure = phaseCure({ harness, pickups }, solver, flipped);
    say('out_of_phase', `Coils work against each other, so that the sound is thin and weak: ${which(opposed)}. ${cure}`);
  }
  const shorted = settings.filter(({ state }) => state === 'shorted');
  if (shorted.length > 0) say('shorted', `The output is shorted to ground: ${which(shorted)}.`);
  const silent = settings.filter(({ state }) => state === 'silent');
  if (silent.length > 0) say('silent', `No coil reaches the output: ${which(silent)}.`);
  const isInner = (at: { readonly slot: string; readonly coil: string }): boolean =>
    pickups.some(({ slot: { slot }, coils }) => slot === at.slot && coils.some(({ name, inner }) => name === at.coil && inner === true));
  const deaf = settings.filter(({ sounding }) => sounding.length > 0 && sounding.every(isInner));
  if (deaf.length > 0)
    say('silent', `Of a stacked pickup only the inner coil, which no steel reaches, is at the output, with hum and next to nothing of the string: ${which(deaf)}.`);
  for (const { slot, clip, setting } of frames) {
    const where = settings.length > 1 ? ` (seen first at ${settingInWords(settings[setting]!.setting)})` : '';
    say('frame', `The frame of ${slot}, clip ${clip}, is not on ground${where}: metal that can be touched must have a way to ground.`);
  }
  for (const { slot: { slot }, map } of pickups) {
    if (map.verdict !== 'good')
      say('map', `The wire map of ${slot} says "${map.verdict}": ${map.verdict === 'fault' ? 'mend this pickup' : 'test it again'} before it is soldered.`);
  }
  for (const { slot: { slot }, map } of pickups) {
    const likely = likelyCoils(map);
    if (likely.length === 0) continue;
    const each = listInWords(likely.map(({ name, confidence }) => `${name} (${percent(confidence!)} %)`));
    say('map', `Plus and minus of ${each} of ${slot} are likely, not sure: touch ${likely.length === 1 ? 'it' : 'them'} again before anything is soldered.`);
  }
  for (const { slot: { slot }, coils } of pickups) {
    const open = coils.flatMap((coil) => {
      const missing = missingPlus(coil);
      return missing === null ? [] : [{ name: coil.name, missing }];
    });
    if (open.length === 0) continue;
    const which = open.map(({ name }) => name).join(', ');
    say('unknown', `Plus and minus of ${which} of ${slot} are not known: whether it is in phase with others is not either. ` +
      `What can be done: ${missingPlusInWords(open)}.`);
  }
  const lone = new NodeNames(harness).lone();
  for (const node of lone) say('lone_node', `The node "${node}" is named just once: is it a slip of the pen?`);
  return list;
}

/** What is fitted, by slot, that looks alike. */
export function fittedLookAlikes(pickups: readonly FittedPickup[]): LookAlike[] {
  return lookAlikes(pickups.map(({ slot: { slot }, map, colours }) => ({ name: slot, map, colours })));
}
