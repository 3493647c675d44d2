/** A probability in percent, rounded down: nothing is sure. */
export function percent(probability: number): string {
  return (Math.floor(probability * 1e4 + 1e-6) / 100).toFixed(2);
}
