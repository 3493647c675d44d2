/** What a resistance typed in from a hand-held meter is worth. */

/** Share of the reading, most of it together with the rounding, and ohms besides (formats: `resistances`). */
const [SHARE, SHARE_MOST, OHM] = [0.003, 0.02, 0.3];

/** Standard uncertainty of ohms that a person typed: 0.3 % and half the unit of the last digit that is not zero (7600 stands
 * for 7550 to 7650), at most 2 % together, and 0.3 ohm.
 * @param ohm - as typed, 0 or more
 */
export function typedUncertainty_ohm(ohm: number): number {
  const [mantissa = '0', exponent = '0'] = ohm.toExponential().split('e');
  const digitsAfterPoint = mantissa.split('.')[1]?.length ?? 0;
  const unit_ohm = 10 ** (Number(exponent) - digitsAfterPoint);
  return Math.min(SHARE * ohm + unit_ohm / 2, SHARE_MOST * ohm) + OHM;
}
