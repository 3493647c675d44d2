/** What the harness screen shows, finished: words and numbers, no decisions left to the components. */

/** A slot and what is in it. */
export interface SlotLine {
  readonly text: string;
  /** The one that keys change. */
  readonly isActive: boolean;
}

/** A setting and what it does. */
export interface SettingRow {
  /** Positions of the switches, what sounds, phase, hum, ohms at the jack, peak. */
  readonly cells: readonly string[];
  readonly isChosen: boolean;
  readonly isCompared: boolean;
}

/** A response to be drawn. */
export interface Curve {
  readonly label: string;
  /** By `CURVE_Hz`; null where nothing sounds or an inductance is missing. */
  readonly decibels: readonly number[] | null;
}

export interface FittingView {
  readonly title: string;
  readonly slots: readonly SlotLine[];
  /** Names of the switches, in the order in which a row names their positions. */
  readonly switches: string;
  readonly rows: readonly SettingRow[];
  /** How many settings do what they should, now and in the file. */
  readonly count: string;
  readonly curves: readonly Curve[];
  /** What the last key did, or why it did nothing. */
  readonly message: string;
  /** Whether there is another harness, and any pickup, to choose. */
  readonly hasOthers: boolean;
  readonly hasPickups: boolean;
  /** Warnings, then the soldering list. */
  readonly list: readonly { readonly text: string; readonly indent: number }[];
}
