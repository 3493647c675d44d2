/** What every setting of a harness does (`positions/1`). */
import type { Wiring } from './circuit.ts';
import type { FittedPickup } from './fitted-pickup.ts';
import { settingNames, type Setting } from './harness.ts';
import { judge } from './judge.ts';
import type { LoadedHarness } from './load-harness.ts';
import { NodeNames } from './node-names.ts';
import { settingInWords, settingsInWords } from './settings-in-words.ts';
import { Solver, type Solution } from './solver.ts';

/** A coil that is heard in a setting. */
export interface Sounding {
  readonly slot: string;
  readonly coil: string;
  /** Volts at the output for one volt that lifts the coil's plus, at 82.41 Hz; a magnitude where plus is not known. */
  readonly share: number;
  readonly sense: 1 | -1 | null;
}

/** One setting and what it does. */
export interface SettingResult {
  readonly setting: Setting;
  readonly sounding: readonly Sounding[];
  readonly state: 'sounds' | 'shorted' | 'silent';
  readonly in_phase: boolean | null;
  readonly string: number | null;
  /** 0 cancels wholly, 1 not at all. */
  readonly hum: number | null;
  /** At the jack, the load removed; null without a path. */
  readonly ohm: number | null;
  readonly resonance_Hz: number | null;
  readonly resonance_dB: number | null;
}

export type HarnessFindingKind = 'out_of_phase' | 'shorted' | 'silent' | 'frame' | 'map' | 'unknown' | 'lone_node';

export interface HarnessFinding {
  readonly kind: HarnessFindingKind;
  readonly severity: 'note' | 'warning';
  readonly text: string;
}

export interface Positions {
  readonly format: 'positions/1';
  readonly title?: string;
  readonly settings: readonly SettingResult[];
  readonly findings: readonly HarnessFinding[];
}

/** Less than this at the output is a short, ohms. */
const SHORTED_ohm = 1;

/** Solves every setting of a harness as it stands. */
export function positionsOf({ harness, pickups }: LoadedHarness): Positions {
  const solver = new Solver(harness, pickups);
  const wirings = wiringsOf(solver, pickups);
  const none = pickups.map(() => false);
  const settings = solver.circuit.settings.map((positions, at) =>
    settingResult(settingNames(harness, positions), solver, solver.solution(at, wirings), none));
  return {
    format: 'positions/1',
    ...(harness.title === undefined ? {} : { title: harness.title }),
    settings,
    findings: findingsOf({ harness, pickups }, settings, solver),
  };
}

/** One setting in the words of the format.
 * @param flipped - by pickup, whether its magnet was turned after it was wired
 */
export function settingResult(
  setting: Setting,
  solver: Solver,
  { shares, ohm, resonance }: Solution,
  flipped: readonly boolean[],
): SettingResult {
  const { sounding, in_phase, string, hum } = judge(solver.coils, shares, flipped);
  const state = sounding.length > 0 ? 'sounds' : ohm !== null && ohm < SHORTED_ohm ? 'shorted' : 'silent';
  return {
    setting,
    sounding: sounding.map((at) => {
      const { slot, name, isPlusKnown, pickup } = solver.coils[at]!;
      const share = flipped[pickup] === true ? -shares[at]! : shares[at]!;
      return { slot, coil: name, share: isPlusKnown ? share : Math.abs(share), sense: isPlusKnown ? (share > 0 ? 1 : -1) : null };
    }),
    state,
    in_phase,
    string,
    hum,
    ohm,
    resonance_Hz: resonance?.resonance_Hz ?? null,
    resonance_dB: resonance?.resonance_dB ?? null,
  };
}

/** A lead of a frame, and the first setting in which it is not on ground. */
interface LooseFrame {
  readonly slot: string;
  readonly clip: number;
  readonly setting: number;
}

/** Leads of a frame that are not on the output's ground, with the first setting in which they are not. */
function loose(solver: Solver, pickups: readonly FittedPickup[], wirings: readonly Wiring[]): LooseFrame[] {
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

function wiringsOf(solver: Solver, pickups: readonly FittedPickup[]): Wiring[] {
  return pickups.map(({ placement }, at) => solver.wiring(at, placement));
}

/** What is to be said of a harness and its settings.
 * @param solver - made for the harness with the same pickups, however they were wired then
 */
export function findingsOf({ harness, pickups }: LoadedHarness, settings: readonly SettingResult[], solver: Solver): HarnessFinding[] {
  const frames = loose(solver, pickups, wiringsOf(solver, pickups));
  const list: HarnessFinding[] = [];
  const say = (kind: HarnessFindingKind, text: string): void => {
    list.push({ kind, severity: kind === 'silent' || kind === 'unknown' ? 'note' : 'warning', text });
  };
  const which = (some: readonly SettingResult[]): string => settingsInWords(harness, some.map(({ setting }) => setting));
  const opposed = settings.filter(({ in_phase }) => in_phase === false);
  if (opposed.length > 0)
    say('out_of_phase', `Coils work against each other, so that the sound is thin and weak: ${which(opposed)}. Exchange the two ends of one of them.`);
  const shorted = settings.filter(({ state }) => state === 'shorted');
  if (shorted.length > 0) say('shorted', `The output is shorted to ground: ${which(shorted)}.`);
  const silent = settings.filter(({ state }) => state === 'silent');
  if (silent.length > 0) say('silent', `No coil reaches the output: ${which(silent)}.`);
  for (const { slot, clip, setting } of frames) {
    const where = settings.length > 1 ? ` (seen first at ${settingInWords(settings[setting]!.setting)})` : '';
    say('frame', `The frame of ${slot}, clip ${clip}, is not on ground${where}: metal that can be touched must have a way to ground.`);
  }
  for (const { slot: { slot }, map } of pickups) {
    if (map.verdict !== 'good')
      say('map', `The wire map of ${slot} says "${map.verdict}": ${map.verdict === 'fault' ? 'mend this pickup' : 'test it again'} before it is soldered.`);
  }
  for (const { slot: { slot }, coils } of pickups) {
    const open = coils.filter(({ plus }) => plus === null).map(({ name }) => name);
    if (open.length > 0)
      say('unknown', `Plus and minus of ${open.join(', ')} of ${slot} are not known: whether it is in phase with others is not either.`);
  }
  const lone = new NodeNames(harness).lone();
  for (const node of lone) say('lone_node', `The node "${node}" is named just once: is it a slip of the pen?`);
  return list;
}
