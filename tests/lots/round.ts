/** Four significant digits: a pickup file stays readable. */
export function round(value: number): number {
  return Number(value.toPrecision(4));
}
