/** A value with its uncertainty as a buyer reads it. */

/**
 * `4130.6 ohm, give or take 2.4 ohm`: twice the standard uncertainty, which covers about 95 % (k = 2), at two digits, and the value to
 * the same place (JCGM 100:2008, 6.2.1, 6.3.3 and 7.2.6).
 * @param u - standard uncertainty in the same unit; undefined where nobody stated one
 */
export function giveOrTake(value: number, u: number | undefined, unit: string): string {
  if (u === undefined || !(u > 0)) return `about ${Number(value.toPrecision(3))} ${unit}, with no uncertainty stated`;
  const places = Math.min(9, Math.max(0, 1 - Math.floor(Math.log10(2 * u))));
  const spread = places > 0 ? (2 * u).toFixed(places) : String(Number((2 * u).toPrecision(2)));
  const step = 10 ** Math.max(0, Math.floor(Math.log10(2 * u)) - 1);
  const shown = places > 0 ? value.toFixed(places) : String(Math.round(value / step) * step);
  return `${shown} ${unit}, give or take ${spread} ${unit}`;
}

/** Said once where such values stand. */
export const GIVE_OR_TAKE = '"Give or take" is twice the standard uncertainty (k = 2): about 95 % of such readings lie within it.';
