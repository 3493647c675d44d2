/**
 * Bringing a capture into the module: straight, or averaged down when it is longer than CAPTURE holds,
 * with the choice of a window to push again at a finer rate.
 */
import { captureHead, captureSample } from '../blocks';
import { CAPTURE_HEAD, CAPTURE_PUSH, CAPTURE_WORDS, CaptureHead, CapturePush, MAX_CHANNELS, OVERRANGE, SCRATCH, SCRATCH_WORDS } from '../layout';

/** Captures up to this long are analysed as they are; longer ones around what happens in them. */
const WHOLE_s: f32 = 4;
/** Window around the first strong event of a long capture. */
const BEFORE_s: f32 = 1.5;
const WINDOW_s: f32 = 3;

@inline function progress(channel: u32): CapturePush {
  return changetype<CapturePush>(<usize>(CAPTURE_PUSH + channel * offsetof<CapturePush>()));
}
/** Address of a channel's first sample in CAPTURE. */
export function captureChannel(channel: u32): u32 { return <u32>captureSample(channel, captureHead().stride, 0); }

/**
 * Prepares CAPTURE for a capture and clears the channels' clips.
 * @param channelCount - 1 to MAX_CHANNELS; traps outside
 * @param sampleCount - source samples per channel, 1 or more
 * @param rate_Hz - of the source
 * @param start_s - of source sample 0 relative to the trigger
 * @returns D: source samples averaged into one. 1: write them to CAPTURE + channel * stride * 4;
 *   otherwise stage them at SCRATCH and call capturePush
 */
export function captureBegin(channelCount: u32, sampleCount: u32, rate_Hz: f32, start_s: f32): u32 {
  assert(channelCount >= 1);
  assert(channelCount <= MAX_CHANNELS);
  assert(sampleCount >= 1);
  const stride = CAPTURE_WORDS / channelCount;
  const decimation = (sampleCount + stride - 1) / stride;
  memory.fill(CAPTURE_HEAD, 0, offsetof<CaptureHead>());
  memory.fill(CAPTURE_PUSH, 0, MAX_CHANNELS * offsetof<CapturePush>());
  const h = captureHead();
  h.rate_Hz = rate_Hz;
  h.start_s = start_s;
  h.channelCount = channelCount;
  h.sampleCount = sampleCount / decimation;
  h.stride = stride;
  h.decimation = decimation;
  h.sourceCount = sampleCount;
  return decimation;
}

/**
 * Takes the next source samples of one channel from SCRATCH and averages them into CAPTURE.
 * A sample of which any part is over range is over range; a last incomplete one is dropped.
 * @param count - source samples staged, 0 to SCRATCH_WORDS; traps beyond
 */
export function capturePush(channel: u32, count: u32): void {
  const h = captureHead();
  assert(channel < h.channelCount);
  assert(count <= SCRATCH_WORDS);
  const p = progress(channel);
  const decimation = h.decimation;
  const target = captureChannel(channel);
  for (let i: u32 = 0; i < count; i++) {
    const sample = load<i32>(SCRATCH + i * 4);
    if (sample == OVERRANGE) p.overrange = p.overrange + 1;
    else p.sum = p.sum + <i64>sample;
    const filled = p.filled + 1;
    p.filled = filled;
    if (filled < decimation) continue;
    if (p.written < h.sampleCount) {
      const half = <i64>(decimation >> 1);
      const sum = p.sum;
      const mean = (sum >= 0 ? sum + half : sum - half) / <i64>decimation;
      store<i32>(target + p.written * 4, p.overrange != 0 ? OVERRANGE : <i32>mean);
      p.written = p.written + 1;
    }
    p.sum = 0;
    p.filled = 0;
    p.overrange = 0;
  }
}

/** Mean size of a channel's samples about its mean, and the mean, of the samples that are not over range. */
let mean: i32 = 0;
function meanDeviation(base: u32, n: u32): i32 {
  let sum: i64 = 0;
  let valid: i64 = 0;
  for (let i: u32 = 0; i < n; i++) {
    const x = load<i32>(base + i * 4);
    if (x == OVERRANGE) continue;
    sum += x;
    valid++;
  }
  if (valid == 0) return 0;
  mean = <i32>(sum / valid);
  sum = 0;
  for (let i: u32 = 0; i < n; i++) {
    const x = load<i32>(base + i * 4);
    if (x != OVERRANGE) sum += abs(x - mean);
  }
  return <i32>(sum / valid) + 1;
}

/**
 * Chooses, in a capture too long to be held at full rate, the window around the first strong event.
 * @returns 1 when that window (focusFirst, focusCount of CAPTURE_HEAD, in source samples) is to be pushed again
 *   after a new captureBegin with start_s + focusFirst / rate_Hz; 0 when the capture is fine as it is
 */
export function captureFocus(): u32 {
  const h = captureHead();
  const n = h.sampleCount;
  if (h.decimation <= 1 || <f32>h.sourceCount <= WHOLE_s * h.rate_Hz) return 0;
  // Largest excursion in units of each channel's own deviation (Q4), then the first that reaches half of it.
  let best: i32 = 0;
  for (let c: u32 = 0; c < h.channelCount; c++) {
    const base = captureChannel(c);
    const deviation = meanDeviation(base, n);
    for (let i: u32 = 0; i < n; i++) best = max(best, excursion(base, i, deviation));
  }
  let first = n;
  for (let c: u32 = 0; c < h.channelCount; c++) {
    const base = captureChannel(c);
    const deviation = meanDeviation(base, n);
    for (let i: u32 = 0; i < first; i++) {
      if (excursion(base, i, deviation) * 2 >= best) {
        first = i;
        break;
      }
    }
  }
  if (first == n) first = 0;
  const window = <u32>(WINDOW_s * h.rate_Hz);
  const before = <u32>(BEFORE_s * h.rate_Hz);
  let from = first * h.decimation;
  from = from > before ? from - before : 0;
  if (from + window > h.sourceCount) from = h.sourceCount - window;
  h.focusFirst = from;
  h.focusCount = window;
  return 1;
}

/** Size of one sample about the mean in 16ths of the deviation; a sample over range counts as very large. */
@inline function excursion(base: u32, i: u32, deviation: i32): i32 {
  const x = load<i32>(base + i * 4);
  if (x == OVERRANGE) return 1 << 20;
  return <i32>min<i64>(1 << 20, (<i64>abs(x - mean) * 16) / <i64>deviation);
}
