/** Means of a channel over 20 ms, a period of the mains or so, and a parabola of time beside them: what drifts, and what does not. */
import { WORK, gridChannel, gridChannels, gridCount, gridRate_Hz } from './grid';

const MEAN_s: f32 = 0.02;
const MEANS_MOST: u32 = 200;

/** Samples in each mean, and how many there are. */
export let meanLength: u32 = 0;
export let meanCount: u32 = 0;
/** Powers of the two shapes of the parabola that are no constant. */
export let linePower: f32 = 0;
export let bendPower: f32 = 0;

/** A row of as many words as there are means at most: those of a channel, or another. @param row - 0 to 9 */
@inline export function rowAt(row: u32, k: u32): u32 { return WORK + (row * MEANS_MOST + k) * 4; }
/** Legendre's polynomials over the means, which are orthogonal: rows behind those of the channels. */
@inline export function lineAt(k: u32): u32 { return rowAt(gridChannels, k); }
@inline export function bendAt(k: u32): u32 { return rowAt(gridChannels + 1, k); }

/** Fixes the means and the parabola over them; overwrites WORK. */
export function meansBegin(): void {
  meanLength = max<u32>(1, <u32>(MEAN_s * gridRate_Hz));
  while (gridCount / meanLength > MEANS_MOST) meanLength++;
  meanCount = gridCount / meanLength;
  linePower = 0;
  bendPower = 0;
  for (let k: u32 = 0; k < meanCount; k++) {
    const u: f32 = (<f32>2 * <f32>k + <f32>1) / <f32>meanCount - 1;
    const v: f32 = u * u - (1 - <f32>1 / (<f32>meanCount * <f32>meanCount)) / 3;
    store<f32>(lineAt(k), u);
    store<f32>(bendAt(k), v);
    linePower += u * u;
    bendPower += v * v;
  }
}

/** Fills the row of a channel with its means, grid units. */
export function fillMeans(channel: u32): void {
  let at = gridChannel(channel);
  for (let k: u32 = 0; k < meanCount; k++) {
    let sum: i64 = 0;
    for (const end = at + meanLength * 4; at < end; at += 4) sum += load<i32>(at);
    store<f32>(rowAt(channel, k), <f32>sum / <f32>meanLength);
  }
}

/** Powers of a channel's means about their mean: all of it, and what the parabola that fits best leaves. */
@unmanaged export class Bent {
  all: f32;
  left: f32;
}
/** Takes the parabola that fits best out of a channel's means. */
export function takeParabola(channel: u32, into: Bent): void {
  let mean: f32 = 0;
  let line: f32 = 0;
  let bend: f32 = 0;
  for (let k: u32 = 0; k < meanCount; k++) {
    const x = load<f32>(rowAt(channel, k));
    mean += x;
    line += x * load<f32>(lineAt(k));
    bend += x * load<f32>(bendAt(k));
  }
  mean /= <f32>meanCount;
  line /= linePower;
  bend /= bendPower;
  let left: f32 = 0;
  for (let k: u32 = 0; k < meanCount; k++) {
    const at = rowAt(channel, k);
    const x = load<f32>(at) - mean - line * load<f32>(lineAt(k)) - bend * load<f32>(bendAt(k));
    store<f32>(at, x);
    left += x * x;
  }
  into.left = left;
  into.all = left + line * line * linePower + bend * bend * bendPower;
}
