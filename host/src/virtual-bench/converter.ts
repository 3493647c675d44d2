/** The 24-bit converter: its inputs, its filters and what they let through. */

/** Inputs of the 24-bit converter, numbered as the logic numbers them. */
export const ConverterInput = {
  port: 0,
  wand: 1,
  boardTemperature: 2,
  railPositive: 3,
  railNegative: 4,
} as const;

/** What the converter answers; statuses as the logic numbers them. */
export interface Conversion {
  readonly code: number;
  readonly status: 0 | 3;
}

export const STATUS_OVERRANGE = 3;
export const FULL_SCALE_V = 2.5;
export const CODE_MOST = 2 ** 23 - 1;
/** Volts of one code. */
export const CONVERTER_CODE_V = FULL_SCALE_V / 2 ** 23;

/** A filter of the converter: boxcars one after another, behind a pure delay. */
export interface Filter {
  readonly duration_s: number;
  readonly boxcars_s: readonly number[];
  readonly noise_V: number;
  /** Spacing of the weights: 2^ticksLog2 ticks of 2^-30 s. */
  readonly ticksLog2: number;
}

/** 20 SPS low-latency with zeros at 50 and 60 Hz, and 400 SPS. Time to the first result: data sheet SBAS660C, 9.3.6.1.2. */
export const FILTERS: readonly Filter[] = [
  { duration_s: 0.056504, boxcars_s: [0.02, 1 / 60, 0.0198], noise_V: 1.5e-6, ticksLog2: 20 },
  { duration_s: 0.002656, boxcars_s: [0.0025], noise_V: 5e-6, ticksLog2: 16 },
];

/** Seconds from the start of a conversion to its result.
 * @param rate - 0 precise, 1 quick
 */
export function conversion_s(rate: number): number {
  return FILTERS[rate].duration_s;
}

/** What a filter leaves of a sine. */
export function filterGain({ boxcars_s }: Filter, frequency_Hz: number): number {
  return boxcars_s.reduce((gain, length_s) => gain * sinc(frequency_Hz * length_s), 1);
}

function sinc(cycles: number): number {
  const angle = Math.PI * cycles;
  return angle === 0 ? 1 : Math.sin(angle) / angle;
}

const weightCache = new Map<Filter, Float64Array>();

/** The filter's impulse response at its spacing, from the start of the conversion to its end. */
export function weightsOf(filter: Filter): Float64Array {
  const known = weightCache.get(filter);
  if (known !== undefined) return known;
  const fine = 16;
  const spacing_s = 2 ** filter.ticksLog2 / 2 ** 30 / fine;
  const length = Math.floor(filter.duration_s / spacing_s);
  let response = new Float64Array(length);
  const whole_s = filter.boxcars_s.reduce((sum, part) => sum + part, 0);
  response[Math.max(0, Math.floor((filter.duration_s - whole_s) / spacing_s))] = 1;
  for (const boxcar_s of filter.boxcars_s) {
    const width = Math.max(1, Math.round(boxcar_s / spacing_s));
    const next = new Float64Array(length);
    let sum = 0;
    for (let k = 0; k < length; k++) {
      sum += response[k] - (k >= width ? response[k - width] : 0);
      next[k] = sum / width;
    }
    response = next;
  }
  const weights = new Float64Array(Math.floor(length / fine));
  for (let k = 0; k < weights.length * fine; k++) weights[Math.floor(k / fine)] += response[k];
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  weightCache.set(filter, weights.map((weight) => weight / total));
  return weightCache.get(filter)!;
}
