/** A voltage that is already on the leads: what a burst and a conversion say of it before anything is driven. */
import { BurstLook, OVERRANGE, SAMPLE_V } from '../../layout';

/** Mean over whole mains periods above which a pair is live, volts. */
const LIVE_DC_V: f32 = 0.02;
/** Peak about the mean that hum does not explain (8 mV at 2.3 H, two large coils in series: below 50 mV), volts. */
const LIVE_AC_V: f32 = 0.1;
/** A short look before a drive that sees more than this asks for the full one: hum of two coils stays below, volts. */
const LOOK_V: f32 = 0.05;

/**
 * Takes mean and peak of one channel of a burst.
 * @param samples - address of i32 samples, 2^-20 V @param count - samples, 1 or more @param look - what was seen
 */
export function lookAtBurst(samples: u32, count: u32, look: BurstLook): void {
  assert(count > 0);
  let sum: i64 = 0;
  let low: i32 = i32.MAX_VALUE;
  let high: i32 = i32.MIN_VALUE;
  let over = false;
  for (let i: u32 = 0; i < count; i++) {
    const sample = load<i32>(samples + i * 4);
    if (sample == OVERRANGE) {
      over = true;
      continue;
    }
    sum += sample;
    if (sample < low) low = sample;
    if (sample > high) high = sample;
  }
  const mean = <i32>(sum / <i64>count);
  look.mean_V = <f32>mean * SAMPLE_V;
  const peak = high - mean > mean - low ? high - mean : mean - low;
  look.peak_V = over ? 2.5 : <f32>peak * SAMPLE_V;
}

/** Whether a short look just before a drive is reason for a full one. */
export function looksLive(look: BurstLook): bool { return abs<f32>(look.mean_V) + look.peak_V > LOOK_V; }

/**
 * The live voltage of a pair after the full look, volts, or 0 when nothing is there.
 * @param dc_V - mean over whole mains periods by the converter @param peak_V - of a burst of the same time
 */
export function liveVoltage(dc_V: f32, peak_V: f32): f32 {
  if (abs<f32>(dc_V) > LIVE_DC_V) return dc_V;
  return peak_V > LIVE_AC_V ? peak_V : 0;
}
