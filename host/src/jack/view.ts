/** What the screen at the jack shows, finished: words, no decisions left to the components. */
import type { KeyHint, PanelLine, TraceChannel } from '../bench/view.ts';
import type { AskView } from '../shop/ask.ts';

/** One setting in the list. */
export interface JackRow {
  /** Positions of the switches; ohms at the jack; planned, or of the pickups alone; what sounds. */
  readonly cells: readonly [string, string, string, string];
  readonly isChosen: boolean;
  readonly differs: boolean;
}

export interface JackView {
  /** `tester TS-0007`, or `virtual bench TWIN-0001`. */
  readonly source: string;
  /** Of the harness. */
  readonly title: string;
  /** `2 of 6 settings read`. */
  readonly count: string;
  /** Over the cells: names of the switches first. */
  readonly titles: readonly [string, string, string, string];
  readonly rows: readonly JackRow[];
  /** Every setting was read. */
  readonly isDone: boolean;
  /** What the person is to do now. */
  readonly prompt: string;
  readonly message: string | null;
  readonly ask: AskView | null;
  /** What is listened to; empty while nothing is. */
  readonly trace: readonly TraceChannel[];
  /** Of the chosen setting, not wrapped. */
  readonly detail: readonly PanelLine[];
  /** Keys that do something now. */
  readonly keys: readonly KeyHint[];
}
