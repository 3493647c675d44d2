/** An amplifier that settles: an offset that dies away from the beginning of a capture on, under whatever else moves. */
import { gridChannel, gridCount, gridRate_Hz } from './grid';
import { fillMeans, meanCount, meanLength, meansBegin, rowAt } from './means';
import { exponential } from '../waves';

/** It dies by a factor e within one of these times, seconds, each twice the last one; what takes longer is drift. */
const FASTEST_s: f32 = 0.03;
const TIMES: u32 = 5;
/** Then times nearer and nearer to the best are tried: factors of it, of which each is the root of the last one. */
const FINER: u32 = 3;
const FIRST_FACTOR: f32 = 1.41;
/** A decay leaves no more than this share of what moves without it, and stands out of that so many times. */
const LEFT_SHARE: f32 = 0.3;
const STANDS_TIMES: f32 = 6;
/** Passes of a fit: means weigh the less the farther they are off (Huber's way), so that a touch weighs next to nothing. */
const PASSES: u32 = 7;
/** Fewer means tell nothing of a decay beside a touch. */
const MEANS_LEAST: u32 = 8;

/** An offset that dies away, as the means of a channel show it, grid units: its amplitude at the first mean, and the mean size of what is left. */
@unmanaged class Decay {
  amplitude: f32;
  left: f32;
}
const DECAY: Decay = changetype<Decay>(memory.data(offsetof<Decay>()));

/** Fits an offset and a decay to the means of a channel. @param ratio - of the decay from one mean to the next one */
function fitDecay(channel: u32, ratio: f32, into: Decay): void {
  let offset: f32 = 0;
  let amplitude: f32 = 0;
  let size: f32 = f32.MAX_VALUE;
  for (let pass: u32 = 0; pass < PASSES; pass++) {
    let weights: f32 = 0;
    let decays: f32 = 0;
    let squares: f32 = 0;
    let sum: f32 = 0;
    let along: f32 = 0;
    let left: f32 = 0;
    let decay: f32 = 1;
    for (let k: u32 = 0; k < meanCount; k++) {
      const x = load<f32>(rowAt(channel, k));
      const off = abs(x - offset - amplitude * decay);
      const weight = off > size ? size / off : 1;
      left += min(off, 3 * size);
      weights += weight;
      decays += weight * decay;
      squares += weight * decay * decay;
      sum += weight * x;
      along += weight * x * decay;
      decay *= ratio;
    }
    size = max<f32>(left / <f32>meanCount, 1);
    const spread = weights * squares - decays * decays;
    if (spread <= 0) break;
    amplitude = (weights * along - decays * sum) / spread;
    offset = (sum - amplitude * decays) / weights;
  }
  into.amplitude = amplitude;
  into.left = size;
}
@inline function ratioOf(dies_s: f32, count: u32): f32 { return exponential(-(<f32>count / gridRate_Hz) / dies_s); }

/** The time in which it dies that leaves least, seconds. */
function bestTime_s(channel: u32): f32 {
  let best_s = FASTEST_s;
  let least: f32 = f32.MAX_VALUE;
  for (let n: u32 = 0, tried = FASTEST_s; n < TIMES; n++, tried *= 2) {
    fitDecay(channel, ratioOf(tried, meanLength), DECAY);
    if (DECAY.left >= least) continue;
    least = DECAY.left;
    best_s = tried;
  }
  for (let n: u32 = 0, factor = FIRST_FACTOR; n < FINER; n++, factor = sqrt<f32>(factor)) {
    const middle = best_s;
    for (let side = 0; side < 2; side++) {
      const tried = side == 0 ? middle / factor : middle * factor;
      fitDecay(channel, ratioOf(tried, meanLength), DECAY);
      if (DECAY.left >= least) continue;
      least = DECAY.left;
      best_s = tried;
    }
  }
  return best_s;
}

/** Takes such an offset out of a channel, if there is one; its mains may still be in it, gaps are 0. Overwrites WORK. */
export function takeSettling(channel: u32): void {
  meansBegin();
  if (meanCount < MEANS_LEAST) return;
  fillMeans(channel);
  // A decay that is over within the first mean is none.
  fitDecay(channel, 0, DECAY);
  const without = DECAY.left;
  const dies_s = bestTime_s(channel);
  fitDecay(channel, ratioOf(dies_s, meanLength), DECAY);
  if (DECAY.left > LEFT_SHARE * without || abs(DECAY.amplitude) < STANDS_TIMES * DECAY.left) return;
  // The mean of a decay is what it is in the middle, for all that matters here.
  const step = ratioOf(dies_s, 1);
  let value = DECAY.amplitude / ratioOf(dies_s, meanLength / 2);
  for (let at = gridChannel(channel), end = at + gridCount * 4; at < end; at += 4) {
    store<i32>(at, load<i32>(at) - <i32>nearest(value));
    value *= step;
  }
}
