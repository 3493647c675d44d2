/**
 * The mean code that a converter with four wide codes gives for a voltage with noise on it, so that sums of many samples can be
 * compared with it. Codes are counted from the middle one, 2048, and the voltage in codes that are not wide.
 *
 * Between the wide codes the code rises with the voltage; through one it stands still for the codes that it has too much. Noise blurs
 * the two bends: of a bend, the mean over a normal distribution of deviation s is z F(z/s) + s f(z/s), with its distribution F and
 * density f (the mean of the positive part of a normal variable).
 */

/** Distance of the wide codes 512, 1536, 2560 and 3584 from the middle. */
export const WIDE_PLACES = [-1536, -512, 512, 1536] as const;
/**
 * Of one sample, with the step of the codes themselves: 0.97 codes rms (the study "Characterizing the Raspberry Pi Pico ADC", its page on
 * input-referred noise) and 1/sqrt(12).
 */
const NOISE_CODES = Math.hypot(0.97, 1 / Math.sqrt(12));
export const CODES = 4096;

/** Largest error 1.5e-7. @see Abramowitz and Stegun, Handbook of Mathematical Functions, 7.1.26 */
function normalShare(z: number): number {
  const x = Math.abs(z) / Math.SQRT2;
  const t = 1 / (1 + 0.3275911 * x);
  const tail = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429)))) * Math.exp(-x * x);
  return z < 0 ? tail / 2 : 1 - tail / 2;
}

function bend(z: number): number {
  const share = z / NOISE_CODES;
  if (share > 6) return z;
  if (share < -6) return 0;
  return z * normalShare(share) + (NOISE_CODES * Math.exp((-share * share) / 2)) / Math.sqrt(2 * Math.PI);
}

/**
 * @param volts - in codes that are not wide, from the middle
 * @param near - what the wide code 512 from the middle has too much, on this side, in codes that are not wide @param far - that at 1536
 */
export function meanCode(volts: number, near: number, far: number): number {
  const size = Math.abs(volts);
  const atNear = WIDE_PLACES[2];
  const atFar = WIDE_PLACES[3] + near;
  const held = bend(size - atNear) - bend(size - atNear - near) + bend(size - atFar) - bend(size - atFar - far);
  return Math.sign(volts) * (size - held);
}

/** Extra widths in codes that are not wide as extra widths in mean codes: all codes together are CODES. */
export function inMeanCodes(extras: readonly number[]): number[] {
  const gain = codeGain(extras);
  return extras.map((extra) => extra * gain);
}

/** And back. */
export function inNarrowCodes(wideCodes: readonly number[]): number[] {
  const gain = 1 - wideCodes.reduce((sum, extra) => sum + extra, 0) / CODES;
  return wideCodes.map((extra) => extra / gain);
}

/** Width of a code that is not wide. @param extras - in such codes */
function codeGain(extras: readonly number[]): number {
  return 1 / (1 + extras.reduce((sum, extra) => sum + extra, 0) / CODES);
}
