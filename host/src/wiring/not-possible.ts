/** A way of wiring that is not offered. */
export interface NotPossible {
  readonly what: string;
  readonly why: string;
}

/** The sentence that text and drawing say it with. */
export function notPossibleInWords({ what, why }: NotPossible): string {
  return `Not possible: ${what}, since ${why}.`;
}
