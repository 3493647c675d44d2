/** The highest point of a response. */

/** Between these the point is looked for, hertz. */
const LOWEST_Hz = 500;
const HIGHEST_Hz = 20_000;
/** What it is compared with. */
export const REFERENCE_Hz = 100;
/** A point that is less than this above the reference is none. */
const LEAST_dB = 0.1;

/** Points of the grid: neighbours differ by 1.2 %, less than the width of any peak of a pickup (Q below 80). */
const STEPS = 320;
/** The frequencies at which a response is first looked at, hertz; the last is the reference. */
export const GRID_Hz: readonly number[] = [
  ...Array.from({ length: STEPS + 1 }, (_, at) => LOWEST_Hz * (HIGHEST_Hz / LOWEST_Hz) ** (at / STEPS)),
  REFERENCE_Hz,
];

/** Where the golden section stops: relative width of the interval. */
const NARROW = 1e-7;
const GOLDEN = (Math.sqrt(5) - 1) / 2;

export interface Resonance {
  readonly resonance_Hz: number;
  /** Above the value at 100 Hz. */
  readonly resonance_dB: number;
}

/** The highest point between 500 Hz and 20 kHz, or null when it lies at an end or does not rise above the value at 100 Hz.
 * @param onGrid - magnitudes at `GRID_Hz`
 * @param at - magnitude at any frequency, hertz
 */
export function highestPoint(onGrid: ArrayLike<number>, at: (hertz: number) => number): Resonance | null {
  let best = { hertz: LOWEST_Hz, size: onGrid[0] as number };
  if (onGrid[STEPS]! > best.size) best = { hertz: HIGHEST_Hz, size: onGrid[STEPS]! };
  const [atStart, atEnd] = [onGrid[0]!, onGrid[STEPS]!];
  for (let step = 0; step <= STEPS; step++) {
    const [before, own, after] = [onGrid[step - 1] ?? -1, onGrid[step]!, step === STEPS ? -1 : onGrid[step + 1]!];
    if (own < before || own < after) continue;
    const found = golden(GRID_Hz[Math.max(0, step - 1)]!, GRID_Hz[Math.min(STEPS, step + 1)]!, at);
    if (found.size > best.size) best = found;
  }
  const isEnd = best.size <= Math.max(atStart, atEnd) * (1 + 1e-9);
  const resonance_dB = 20 * Math.log10(best.size / onGrid[STEPS + 1]!);
  return isEnd || !(resonance_dB >= LEAST_dB) ? null : { resonance_Hz: best.hertz, resonance_dB };
}

/** Golden section search for a maximum.
 * @see Press and others, Numerical Recipes, 3rd edition, 10.2
 */
function golden(from_Hz: number, to_Hz: number, at: (hertz: number) => number): { hertz: number; size: number } {
  let [low, high] = [from_Hz, to_Hz];
  let left = high - GOLDEN * (high - low);
  let right = low + GOLDEN * (high - low);
  let [atLeft, atRight] = [at(left), at(right)];
  while (high - low > NARROW * high) {
    if (atLeft > atRight) {
      [high, right, atRight] = [right, left, atLeft];
      left = high - GOLDEN * (high - low);
      atLeft = at(left);
    } else {
      [low, left, atLeft] = [left, right, atRight];
      right = low + GOLDEN * (high - low);
      atRight = at(right);
    }
  }
  return atLeft > atRight ? { hertz: left, size: atLeft } : { hertz: right, size: atRight };
}
