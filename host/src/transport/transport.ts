/** What the host knows of a tester: 64-byte reports both ways, nothing else. Real tester and twins are alike. */

/** Why a transport stopped, in one plain sentence. */
export type TransportClosed = { readonly sentence: string };

/** One open tester. Reports are always 64 bytes. */
export interface Transport {
  /** Serial number as the device tells it; twins begin with `TWIN-`. */
  readonly serial: string;
  /**
   * How long a tester that owes an answer may be silent, milliseconds; then it counts as lost. Left out for a twin,
   * which computes as long as this machine needs.
   */
  readonly answersWithin_ms?: number;
  /** Sends one report. @throws TransportError when the tester is gone */
  write(report: Uint8Array): Promise<void>;
  /** Called for each report that arrives, in order. Set it before `open`. */
  onReport: (report: Uint8Array) => void;
  /** Called once when the tester is unplugged or fails. */
  onClosed: (closed: TransportClosed) => void;
  /** Starts delivering reports. */
  open(): Promise<void>;
  /** Stops and frees everything; may be called twice. */
  close(): Promise<void>;
}

/** What can be done to a virtual bench beside reports: the person's hands. Only twins have it. */
export interface VirtualHands {
  /** A short or long press of the one button. */
  press(long?: boolean): void;
  /** Lets the person play the next touch that the lights ask for (when the person is not automatic). */
  touch(): void;
  /** Holds the magnet probe at the place asked for. */
  holdMagnet(): void;
}

/** A failure of the wire, worded for the user. */
export class TransportError extends Error {
  override name = 'TransportError';
}
