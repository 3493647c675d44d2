/** What the tester's lights show: the person's instruction, and the verdict without a PC. */
import { boardLight } from '../../board';
import { Light, Verdict } from '../../layout';
import { markState } from './reports';

/** `Light` now shown. */
export let light: u32 = Light.off;
/** Place that the light asks for, and how often it was asked for before. */
export let lightPlace: u32 = 255;
export let lightAsk: u32 = 0;

/** Shows a pattern that names no place. @param pattern - `Light` */
export function showLight(pattern: u32): void { showPlace(pattern, 255, 0); }

/** Asks for a place. @param pattern - `Light.touch` or `Light.magnet` @param place - index @param ask - from 0 */
export function showPlace(pattern: u32, place: u32, ask: u32): void {
  light = pattern;
  lightPlace = place;
  lightAsk = ask;
  boardLight(place == 255 ? pattern : pattern | (place << 8) | (ask << 16));
  markState();
}

/** The light of a verdict. @param verdict - `Verdict` @returns `Light` */
export function verdictLight(verdict: u32): u32 {
  if (verdict == Verdict.good) return Light.good;
  return verdict == Verdict.fault ? Light.fault : Light.unsure;
}
