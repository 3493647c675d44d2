/** A reading that a person may be asked for, what came of it, and the record that all of them make. */
import type { BenchMagnet, BenchObserved, BenchRecord, BenchResistance } from '../files/bench-record.ts';
import type { Lead, TypedOhms, TypedSwing } from './values.ts';

/** What is to be read next: ohms between two leads, a swing as steel touches a place, the pole of a place. */
export type Ask =
  | {
    readonly kind: 'ohms'; readonly a: number; readonly b: number;
    /** It was read before, and fits the others so badly that it is read once more. */
    readonly isAgain?: boolean;
  }
  | {
    readonly kind: 'swing'; readonly at: string; readonly plus: number; readonly minus: number;
    /** How large it is matters as well. */
    readonly wantsSize: boolean;
    /** It was seen before, and is looked at once more to be sure. */
    readonly isAgain: boolean;
  }
  | { readonly kind: 'compass'; readonly at: string };

/** One reading that was asked for; null was skipped. */
export type Answered =
  | { readonly ask: Extract<Ask, { kind: 'ohms' }>; readonly value: TypedOhms | null }
  | { readonly ask: Extract<Ask, { kind: 'swing' }>; readonly value: TypedSwing | null }
  | { readonly ask: Extract<Ask, { kind: 'compass' }>; readonly value: 'N' | 'S' | null };

/** What lies before the person. */
export interface Lying {
  readonly leads: readonly Lead[];
  /** Where steel can touch, in the order in which they lie. */
  readonly places: readonly string[];
}

/** The plain-meter record of what was answered, in the order of the answers. @see file formats: `resistances`, `observed`, `magnets` */
export function recordOf({ leads, places }: Lying, answers: readonly Answered[], taken?: string): BenchRecord {
  const resistances: BenchResistance[] = [];
  const observed: BenchObserved[] = [];
  const magnets: BenchMagnet[] = [];
  for (const { ask, value } of answers) {
    if (value === null) continue;
    if (ask.kind === 'ohms') resistances.push({ a: ask.a, b: ask.b, ...(value as TypedOhms) });
    else if (ask.kind === 'compass') magnets.push({ at: ask.at, pole: value as 'N' | 'S' });
    else observed.push({ at: ask.at, plus: ask.plus, minus: ask.minus, ...(value as TypedSwing) });
  }
  return {
    format: 'bench/1',
    ...(taken === undefined ? {} : { taken }),
    places,
    clips: leads.map(({ clip, colour }) => ({ clip, ...(colour === undefined ? {} : { colour }) })),
    resistances,
    ...(observed.length > 0 ? { observed } : {}),
    ...(magnets.length > 0 ? { magnets } : {}),
  };
}

/** Whether two asks want the same reading. */
export function isSameAsk(one: Ask, other: Ask): boolean {
  if (one.kind === 'ohms') return other.kind === 'ohms' && one.a === other.a && one.b === other.b;
  if (one.kind === 'compass') return other.kind === 'compass' && one.at === other.at;
  return other.kind === 'swing' && one.at === other.at && one.plus === other.plus && one.minus === other.minus;
}
