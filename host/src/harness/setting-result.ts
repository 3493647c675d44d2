/** One setting and what it does, in the words of `positions/1`. */
import type { Setting } from './harness.ts';
import { judge } from './judge.ts';
import type { Solution, Solver } from './solver.ts';

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

/** Less than this at the output is a short, ohms. */
const SHORTED_ohm = 1;

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
