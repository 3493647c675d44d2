/** How much a reading is expected to tell, in bits. */

/** Entropy of a distribution, bits; shares that are 0 add nothing (Shannon 1948). @param shares - 0 or more, not necessarily of sum 1 */
export function entropy_bits(shares: readonly number[]): number {
  const total = shares.reduce((sum, share) => sum + share, 0);
  if (!(total > 0)) return 0;
  return shares.reduce((bits, share) => (share > 0 ? bits - (share / total) * Math.log2(share / total) : bits), 0);
}

/** What is expected to be learnt of which of some cases holds, when outcomes are seen: the mutual information, bits, 0 or more.
 * @param table - [case][outcome]: joint probabilities, not necessarily of sum 1
 */
export function information_bits(table: readonly (readonly number[])[]): number {
  const cases = table.map((row) => row.reduce((sum, share) => sum + share, 0));
  const outcomes = (table[0] ?? []).map((_, outcome) => table.reduce((sum, row) => sum + row[outcome]!, 0));
  // Rounding may leave a hair below 0.
  return Math.max(0, entropy_bits(cases) + entropy_bits(outcomes) - entropy_bits(table.flat()));
}

/** What one case expects of a reading of resistance: over range, or a number spread as a normal distribution. */
export interface Expected {
  readonly weight: number;
  /** Probability of over range. */
  readonly open: number;
  readonly mean_ohm: number;
  readonly sd_ohm: number;
}

/**
 * The same for readings that are numbers: a lower bound of the mutual information by the Bhattacharyya coefficients of each
 * two cases, exact where cases read either alike or clearly apart.
 * @see Kolchinsky and Tracey, "Estimating mixture entropy with pairwise distances", Entropy 19 (2017) 361 (the bound by Chernoff's divergence at 1/2)
 */
export function ohmsInformation_bits(cases: readonly Expected[]): number {
  const total = cases.reduce((sum, { weight }) => sum + weight, 0);
  if (!(total > 0)) return 0;
  return Math.max(0, cases.reduce((bits, one) => {
    const overlap = cases.reduce((sum, other) => sum + (other.weight / total) * affinity(one, other), 0);
    return one.weight > 0 ? bits - (one.weight / total) * Math.log2(overlap) : bits;
  }, 0));
}

/** Bhattacharyya coefficient: 1 for cases that read alike, 0 for cases that no reading can both have come from. */
function affinity(a: Expected, b: Expected): number {
  const variance = a.sd_ohm ** 2 + b.sd_ohm ** 2;
  const finite = Math.sqrt((2 * a.sd_ohm * b.sd_ohm) / variance) * Math.exp(-((a.mean_ohm - b.mean_ohm) ** 2) / (4 * variance));
  return Math.sqrt(a.open * b.open) + Math.sqrt((1 - a.open) * (1 - b.open)) * finite;
}
