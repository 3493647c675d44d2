/** What an operation of the board, and a part of the test, hand back to the one that conducts them. */

/** How an operation ended. */
export enum Outcome {
  /** It has not: the board is still at it. */
  none,
  done,
  /** A voltage is on the leads: nothing was driven. */
  live,
  converterFailed,
  captureFailed,
  /** No end: a step lies in BURST_A and BURST_B while its current dies away. */
  captured,
}

/** What a part makes of an event. */
export enum Turn {
  /** It waits for the board, the person or the host. */
  waits,
  /** The test cannot go on; why is logged. */
  stop,
  /** It has nothing left to do. */
  done,
  /** As `done`, and not all is well: a lead had no contact, a check did not pass. */
  amiss,
  /** Before it goes on the leads are to be looked at. */
  look,
}
