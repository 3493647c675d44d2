/** Sets of clips, windings or places as the bits of one word. */

/** Whether number `n`, from 0, is in the set. */
@inline export function bit(mask: u32, n: u32): bool { return ((mask >> n) & 1) != 0; }
