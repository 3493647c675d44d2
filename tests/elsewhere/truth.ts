/** What a simulator of records made elsewhere tells beside each record: what was there, and what could be known of it. */

/** One coil as the clips show it. */
export interface TrueCoil {
  /** One clip of each of the two groups of joined clips. */
  readonly ends: readonly [number, number];
  readonly plus: number | null;
  readonly minus: number | null;
  /** Its insides oppose: there is no right answer. */
  readonly mixed: boolean;
  /** False when no claim about it can be judged. */
  readonly judged?: boolean;
  readonly place: string | null;
  readonly place_known: boolean;
  /** The record shows its sign. */
  readonly known: boolean;
  /** Somebody noted its swing wrongly: who believes the record is wrong. */
  readonly misled?: boolean;
  /** Sigmas of an ideal detector; null where there is none. */
  readonly d: number | null;
}

/** Something wrong, and the kinds of finding that tell it. */
export interface Expected {
  readonly class: string;
  readonly kinds: readonly string[];
  /** The record shows it; true when left out. */
  readonly identifiable?: boolean;
}

/** The truth of one record, as far as the judge reads it. */
export interface Truth {
  readonly id: string;
  readonly kind: string;
  readonly fault_class: string | null;
  readonly behaviour: readonly string[];
  readonly clips: readonly number[];
  readonly coils: readonly TrueCoil[];
  /** For each place what every clip does as steel arrives there, relative and signed. */
  readonly potential: Readonly<Record<string, Readonly<Record<string, number>>>>;
  /** For each clip one that stands for all that conduct to it. */
  readonly component: Readonly<Record<string, number>>;
  /** For each clip one that stands for all that are joined to it. */
  readonly group_of: Readonly<Record<string, number>>;
  readonly verdict_ok: readonly string[];
  readonly expect: readonly Expected[];
  /** Sound and clearly touched: only `good` is right. */
  readonly clean: boolean;
  readonly judge_claims?: boolean;
}
