/** Ohms as a shop speaks of a winding: `8.34 kilohm`; below one, `564 ohm`. */
export function shortOhms(ohm: number): string {
  return ohm < 999.5 ? `${ohm.toPrecision(3)} ohm` : `${(ohm / 1e3).toFixed(2)} kilohm`;
}
