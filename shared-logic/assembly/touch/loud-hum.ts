/**
 * Bursts that are hum alone: a lead without contact is an aerial, and at low rates its noise may drown in the hum of the rest. Then
 * the mains' phasor stands at several times its usual size for some periods, the same in each, and nothing else is in them. No touch
 * does that (a slope turns by half a turn from one half of a period to the other), and a hand changes the hum by a factor of 2 or so.
 */
import { SHARE_MOST, SLOW_Hz, keepGap } from './bursts';
import { WORK, gridChannel, gridCount, gridRate_Hz, gridStep } from './grid';
import { cosine14, findPhasors, humStep, periodAt, periodStart, periods } from './mains';
import { median } from './sizes';
import { QUARTER_TURN } from '../waves';

/** Times the usual phasor: bursts have 4 to 12. */
const TIMES: f32 = 3.2;
/** Whole periods in a row that are alike, within this share; of what is in them no more than that share is no hum. */
const ALIKE_LEAST: u32 = 2;
const ALIKE: f32 = 0.25;
const LEFT: f32 = 0.1;
/** Periods whose sizes find room behind the phasors. */
const PERIODS_MOST: u32 = 300;

@inline function re(k: u32): f32 { return load<f32>(periodAt(k)); }
@inline function im(k: u32): f32 { return load<f32>(periodAt(k), 4); }
function size(k: u32): f32 { return sqrt<f32>(re(k) * re(k) + im(k) * im(k)); }
function isAlike(k: u32, other: u32): bool {
  const x = re(k) - re(other);
  const y = im(k) - im(other);
  return x * x + y * y < ALIKE * ALIKE * (re(other) * re(other) + im(other) * im(other));
}

/** Whether a period holds loud hum and hardly anything else. */
function isLoud(base: u32, k: u32, loud: f32): bool {
  if (size(k) <= loud) return false;
  const from = periodStart(k);
  const to = periodStart(k + 1);
  let sum: f32 = 0;
  let all: f32 = 0;
  let left: f32 = 0;
  for (let i = from; i < to; i++) sum += <f32>load<i32>(base + i * 4);
  const mean = sum / <f32>(to - from);
  for (let i = from; i < to; i++) {
    const x = <f32>load<i32>(base + i * 4) - mean;
    const hum = (re(k) * <f32>cosine14(humStep * i) + im(k) * <f32>cosine14(humStep * i - QUARTER_TURN)) * <f32>6.103515625e-5;
    all += x * x;
    left += (x - hum) * (x - hum);
  }
  return left < LEFT * all;
}

/** Finds such bursts of a channel whose offset is out and of which the mains are known; what was found before stays. */
export function findLoudHum(channel: u32): void {
  // At high rates the noise of a burst tells it.
  if (humStep == 0 || gridRate_Hz * <f32>gridStep >= SLOW_Hz) return;
  const base = gridChannel(channel);
  let most: i32 = 1;
  for (let i: u32 = 0; i < gridCount; i++) most = max(most, abs(load<i32>(base + i * 4)));
  findPhasors(base, gridCount, most);
  const count = min(periods, PERIODS_MOST);
  if (count < 2 * ALIKE_LEAST) return;
  const sizes = WORK + count * 20;
  for (let k: u32 = 0; k < count; k++) store<i32>(sizes + k * 4, <i32>size(k));
  const loud = TIMES * <f32>max(1, median(sizes, count));
  for (let first: u32 = 0; first < count; first++) {
    if (!isLoud(base, first, loud)) continue;
    let end = first + 1;
    while (end < count && isAlike(end, first) && isLoud(base, end, loud)) end++;
    // Loud hum from the start on, or to the end, may be all that a hand, which makes it three times smaller, has left alone.
    const whole = first > 0 && end < count;
    if (whole && end - first >= ALIKE_LEAST && <f32>(end - first) < SHARE_MOST * <f32>count) {
      // The periods beside them may hold a part of it.
      keepGap(channel, periodStart(first - 1), periodStart(end + 1));
    }
    first = end;
  }
}
