/** What the bench screen shows, finished: words and numbers, no decisions left to the components. */
import type { WaysKey } from '../wiring/lines.ts';
import type { WireMap } from '../wiremap/wiremap.ts';

/** A lead on its clip, as the person described it. */
export type ClipLabel = { readonly clip: number; readonly colour?: string };

/** The newest reading of a pair: ohms, or null with the limit that it is above. */
export type PairReading = { readonly ohm: number | null; readonly above_ohm?: number };

/** Lowest and highest value inside one stretch of time, volts; infinite where the input was over range. */
export type Span = { readonly low_V: number; readonly high_V: number };

/** One listening channel on the screen. */
export type TraceChannel = { readonly label: string; readonly spans: readonly Span[] };

export type BenchView = {
  /** `virtual bench TWIN-0001` or `tester TS-0007`. */
  readonly source: string;
  /** What lies on the bench, and which of the lot it is. */
  readonly title: string;
  readonly clips: readonly ClipLabel[];
  /** Keyed by `pairKey`. */
  readonly readings: ReadonlyMap<string, PairReading>;
  /** The pair being measured now. */
  readonly activePair: readonly [number, number] | null;
  /** What the tester is doing: `reading resistances`. */
  readonly step: string;
  /** 0 to 1 of the test, or null when idle. */
  readonly progress: number | null;
  /** What the person is asked to do now. */
  readonly prompt: string;
  /** One line about the wire between tester and host, or a failure; null when all is well. */
  readonly message: string | null;
  readonly trace: readonly TraceChannel[];
  /** How the pickup lies before the person and what its places are called; not to be wrapped. */
  readonly laying: readonly string[];
  readonly map: WireMap | null;
  /** The map is the last word on this pickup, not a picture on the way. */
  readonly final: boolean;
  /** Lines of the wiring plan, not wrapped. */
  readonly wiring: readonly PanelLine[];
  /** What the key for ways of wiring does; null where there are no more. */
  readonly ways: WaysKey;
  readonly bell: boolean;
  /** Keys that do something now, in the order to show. */
  readonly keys: readonly KeyHint[];
};

export type KeyHint = { readonly key: string; readonly does: string };

/** A line of the lower panel; `indent` is for what wraps. */
export type PanelLine = { readonly text: string; readonly indent: number };

/** Key of a pair in `readings`. */
export function pairKey(a: number, b: number): string {
  return a < b ? `${a}-${b}` : `${b}-${a}`;
}

/** Ohms in at most six characters: `0.42`, `4133`, `12.46k`, `8.1M`. */
export function shortOhms(ohm: number): string {
  if (ohm < 10) return ohm.toFixed(2);
  if (ohm < 100) return ohm.toFixed(1);
  if (ohm < 9999.5) return ohm.toFixed(0);
  if (ohm < 99_995) return `${(ohm / 1e3).toFixed(2)}k`;
  if (ohm < 999_500) return `${(ohm / 1e3).toFixed(0)}k`;
  if (ohm < 9.995e6) return `${(ohm / 1e6).toFixed(2)}M`;
  return `${(ohm / 1e6).toFixed(0)}M`;
}

/** A matrix cell: reading, `open`, or a dot for not yet read. */
export function cellText(reading: PairReading | undefined): string {
  if (!reading) return '·';
  return reading.ohm === null ? 'open' : shortOhms(reading.ohm);
}
