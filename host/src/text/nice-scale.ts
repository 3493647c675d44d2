/** Scales whose upper edge a person can read off. */

const steps = [1, 2, 5, 10];

/**
 * Upper edge of a scale that holds a value: 1, 2 or 5 times a power of ten.
 * @param largest_V - magnitude to hold, volts @param floor_V - smallest scale, so that noise stays small
 */
export function niceScale(largest_V: number, floor_V = 0.005): number {
  const wanted = Math.max(largest_V, floor_V);
  const decade = 10 ** Math.floor(Math.log10(wanted));
  for (const step of steps) {
    const scale = Number((step * decade).toPrecision(2));
    if (scale >= wanted * (1 - 1e-9)) return scale;
  }
  return decade * 10;
}
