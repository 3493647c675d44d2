/** What of a ring is worth fitting: its window, and the sums of several bursts as at most POINTS_most means in volts. */
import { RingWork, SAMPLE_V } from '../layout';
import { codeGain } from './codes';
import { RING_LEAD, RING_SAMPLES } from './sizes';

/** Points of a fit at most; means of a few samples are as exact as samples, since a mean of exponentials is one. */
export const POINTS_most: u32 = 128;
/** The first sample after the cut still shows the path's own microsecond. */
const SKIP: u32 = 1;
/** The window ends where the last sample stands out of the tail by this share of the peak; this long it is at least. */
const END_share: f32 = 0.03;
const WINDOW_least: u32 = 48;
/** What is left when the ring is over. */
const TAIL: u32 = 64;
/** A ring below this is none: a step of two codes of the converter. */
const PEAK_least_V: f32 = 0.005;

/** Volts of one unit of the sums. */
export function sumScale(work: RingWork): f32 { return SAMPLE_V * codeGain() / <f32>work.bursts; }

/** Mean of the bursts at one sample, volts. @param scale - as `sumScale` gives it */
@inline export function sampleAt(sums: u32, k: u32, scale: f32): f32 { return <f32>load<i32>(sums + k * 4) * scale; }

function meanOf(sums: u32, from: u32, to: u32, scale: f32): f32 {
  let sum: i64 = 0;
  for (let k = from; k < to; k++) sum += load<i32>(sums + k * 4);
  return <f32>sum * scale / <f32>(to - from);
}

/**
 * Chooses the window and fills `points` with f32 volts over the tail.
 * @param points - address of POINTS_most words @returns false when nothing rings there
 */
export function takePoints(work: RingWork, sums: u32, points: u32): bool {
  const scale = sumScale(work);
  const tail = meanOf(sums, RING_SAMPLES - TAIL, RING_SAMPLES, scale);
  work.tail_V = tail;
  work.rest_V = meanOf(sums, 0, RING_LEAD, scale);
  const first = max<u32>(RING_LEAD + SKIP, work.clearFrom);
  if (first + WINDOW_least > RING_SAMPLES) return false;
  let peak: f32 = 0;
  for (let k = first; k < RING_SAMPLES; k++) peak = max<f32>(peak, abs<f32>(sampleAt(sums, k, scale) - tail));
  work.peak_V = peak;
  if (peak < PEAK_least_V) return false;
  let end = RING_SAMPLES;
  while (end > first + WINDOW_least && abs<f32>(sampleAt(sums, end - 1, scale) - tail) < END_share * peak) end--;
  const width = (end - first + POINTS_most - 1) / POINTS_most;
  work.first = <u16>first;
  work.width = <u16>width;
  work.count = <u16>((end - first) / width);
  for (let i: u32 = 0; i < <u32>work.count; i++) {
    store<f32>(points + i * 4, meanOf(sums, first + i * width, first + (i + 1) * width, scale) - tail);
  }
  return true;
}
