/** The wire map: what is known of a pickup's leads, as `--json` prints it (format `wiremap/1`). */

export type VerdictWord = 'good' | 'fault' | 'unsure';
export type SeverityWord = 'note' | 'warning' | 'fault';
export type FindingKind =
  | 'bridge'
  | 'leak'
  | 'open'
  | 'shorted_turns'
  | 'intermittent'
  | 'live'
  | 'joined'
  | 'mismatch'
  | 'contradiction'
  | 'overrange'
  | 'weak_touch'
  | 'out_of_phase';

/** One stretch of winding between two clips with no clip between them. */
export interface WireMapCoil {
  readonly name: string;
  /** Clip that goes negative, relative to the other, when steel arrives; null when not known. */
  readonly minus: number | null;
  /** Clip that goes positive when steel arrives; null when not known. */
  readonly plus: number | null;
  /** The two clips, in rising order; null for an open coil whose ends cannot be told, and with `hidden_end`. */
  readonly ends: readonly [number, number] | null;
  /** Null for an open coil, and with `hidden_end`. */
  readonly ohm: number | null;
  /** Absent when the temperature is not known. */
  readonly ohm_20C?: number;
  /** Standard uncertainty of `ohm`, the tester's scale included. */
  readonly u_ohm?: number;
  readonly place: string | null;
  readonly pole: 'N' | 'S' | null;
  /** Sense from minus to plus, seen from the face; absent until the pole is known. */
  readonly winding?: 'cw' | 'ccw';
  readonly inductance_H?: number;
  /** Across the winding alone, fixture taken off; with the coil's ring. */
  readonly capacitance_F?: number;
  readonly u_capacitance_F?: number;
  /** Eddy loss as a resistance across the inductance; absent where it is too little to tell. */
  readonly loss_ohm?: number;
  readonly u_loss_ohm?: number;
  /** The same as a time, inductance over that resistance: alike for coils of any number of turns. */
  readonly loss_s?: number;
  readonly u_loss_s?: number;
  /** Of the coil with nothing on it, computed. */
  readonly resonance_Hz?: number;
  /** Below 1/2 it does not swing. */
  readonly q?: number;
  /** Probability that plus and minus are right; absent when they are not known. */
  readonly confidence?: number;
  /** The inner one of two stacked coils, which no steel reaches. */
  readonly inner?: true;
  /** Wire from a clip to a point inside that no lead reaches, where readings are missing or two coils touch: no stretch to wire. */
  readonly hidden_end?: true;
  /** Two or more coils whose junction is not brought out: only the whole can be wired. */
  readonly hidden_junction?: true;
  /** The coils inside such a stretch, by place. */
  readonly parts?: readonly WireMapPart[];
  /** Why something is null, in words. */
  readonly text?: string;
}

/** Below this confidence of plus and minus nobody should solder without another touch. */
export const SURE = 0.99;

/** One of the coils inside a stretch with a hidden junction. */
export interface WireMapPart {
  readonly place: string;
  /** Null when no magnet was read there. */
  readonly pole: 'N' | 'S' | null;
  /** 1 when a touch there lifts plus (the second of `ends` where plus is not known), -1 when it lowers it. */
  readonly sense: 1 | -1 | null;
}

/** Whether two coils' poles differ, and what says so. */
export interface WireMapPair {
  readonly a: string;
  readonly b: string;
  readonly poles_differ: boolean | null;
  readonly witnesses: readonly ('coupling' | 'magnet' | 'one_winding')[];
  /** Positive when current into one plus raises the other plus (the second of `ends` where plus is not known); absent when not measured. */
  readonly mutual_H?: number;
  /** Its standard uncertainty. */
  readonly u_H?: number;
}

export interface WireMapFinding {
  readonly kind: FindingKind;
  readonly severity: SeverityWord;
  readonly clips: readonly number[];
  /** Name of the coil that a bridge is on. */
  readonly coil?: string;
  /** Where on it, counted from its minus, or from the first of its ends. */
  readonly fraction?: number;
  /** One sentence: what was seen, what to do. */
  readonly text: string;
}

export interface WireMap {
  readonly format: 'wiremap/1';
  readonly verdict: VerdictWord;
  readonly coils: readonly WireMapCoil[];
  readonly pairs: readonly WireMapPair[];
  /** Clips on the frame, baseplate, cover or drain. */
  readonly chassis: readonly number[];
  /** Groups of clips that are one node. */
  readonly joined: readonly (readonly number[])[];
  /** Clips that were read against all others and are connected to none; absent when there are none. */
  readonly isolated?: readonly number[];
  readonly findings: readonly WireMapFinding[];
  readonly unknown: readonly string[];
}

/** What stands in a refused record's place among wire maps (format `error/1`). */
export interface RefusedRecord {
  readonly format: 'error/1';
  readonly source: string;
  readonly message: string;
}
