/** How far down a text that is longer than its window is shown. */

/** The first line shown after moving on. @param at - the one shown now @param by - lines, up below 0 @param most - the last that may be first */
export const scrolled = (at: number, by: number, most: number): number => Math.max(0, Math.min(most, Math.min(at, most) + by));
