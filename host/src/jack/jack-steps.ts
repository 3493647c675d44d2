/** What is read at a guitar's jack, one after the other: every setting, and in it as many places as one test takes. */
import type { BenchRecord } from '../files/bench-record.ts';
import { settingNames, settingsOf, type Harness, type Setting } from '../harness/harness.ts';
import { MAX_PLACES } from '../logic/layout.generated.ts';

/** Clips at the jack. */
export const JACK_CLIPS = { hot: 1, ground: 2 } as const;

/** One test: a setting of the switches, and the places that are touched in it. */
export interface JackStep {
  /** Index of the setting, the last switch changing fastest. */
  readonly setting: number;
  /** Index of the position of each switch. */
  readonly positions: readonly number[];
  readonly names: Setting;
  readonly places: readonly string[];
  /** Which part of the places this is, from 1; null where one test takes them all. */
  readonly part: { readonly at: number; readonly of: number } | null;
}

/** All tests of a harness. @param places - all that can be touched, `SLOT PLACE` */
export function jackSteps(harness: Harness, places: readonly string[]): JackStep[] {
  const of = Math.max(1, Math.ceil(places.length / MAX_PLACES));
  return settingsOf(harness).flatMap((positions, setting) =>
    Array.from({ length: of }, (_, part): JackStep => ({
      setting, positions, names: settingNames(harness, positions),
      places: places.slice(part * MAX_PLACES, (part + 1) * MAX_PLACES),
      part: of === 1 ? null : { at: part + 1, of },
    })));
}

/** Which test a record is of: its setting, and the part of the places that it touched; -1 for none, as with a lead lifted. */
export function stepOf(record: BenchRecord, steps: readonly JackStep[]): number {
  const { setting = {}, places, touches = [], observed = [], lifted = [], between } = record;
  if (lifted.length > 0 || between !== undefined) return -1;
  const isOfSetting = ({ names }: JackStep): boolean => Object.entries(names).every(([id, position]) => setting[id] === position);
  const first = steps.findIndex(isOfSetting);
  const touched = [...(places ?? []), ...[...touches, ...observed].flatMap(({ at }) => (at === undefined ? [] : [at]))];
  const exact = steps.findIndex((step) => isOfSetting(step) && step.places.some((place) => touched.includes(place)));
  return exact < 0 ? first : exact;
}
