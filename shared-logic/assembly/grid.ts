/**
 * The working grid of a touch: CAPTURE averaged down to about 2.5 kHz, in units of 2^-22 V, in SCRATCH,
 * with samples over range filled in. CAPTURE itself stays as it is: the host still has to fetch it.
 */
import { CAPTURE_HEAD, CaptureHead, OVERRANGE, SCRATCH, SCRATCH_WORDS } from './layout';
import { captureChannel } from './capture';

/** Volts of one unit of the grid. */
export const GRID_V: f32 = 2.384185791015625e-7;
/** Aim of the grid's rate: a 2 ms pulse still has five samples. */
const GRID_RATE_Hz: f32 = 2500;
/** Words of SCRATCH that hold the grid; the rest is work space. */
const GRID_WORDS: u32 = 10240;
export const WORK: u32 = SCRATCH + GRID_WORDS * 4;
export const WORK_WORDS: u32 = SCRATCH_WORDS - GRID_WORDS;

/** Samples per channel, channels and rate of the grid; time of its first sample. */
export let gridCount: u32 = 0;
export let gridChannels: u32 = 0;
export let gridRate_Hz: f32 = 0;
export let gridStart_s: f32 = 0;
/** Captured samples averaged into one of the grid, at their own rate. */
let gridStep: u32 = 1;
/** Samples over range in the channel that was built last. */
export let gridOverrange: u32 = 0;

/** Address of a channel's first grid sample. */
@inline export function gridChannel(channel: u32): u32 { return SCRATCH + channel * gridCount * 4; }

/** Fixes count and rate of the grid from CAPTURE_HEAD. */
export function gridBegin(): void {
  const h = changetype<CaptureHead>(<usize>CAPTURE_HEAD);
  const rate_Hz = h.rate_Hz / <f32>h.decimation;
  let step: u32 = 1;
  if (rate_Hz > GRID_RATE_Hz) step = <u32>(rate_Hz / GRID_RATE_Hz + <f32>0.3);
  while ((h.sampleCount / step) * h.channelCount > GRID_WORDS) step++;
  gridStep = step;
  gridCount = h.sampleCount / step;
  gridChannels = h.channelCount;
  gridRate_Hz = rate_Hz / <f32>step;
  gridStart_s = h.start_s;
}

/** What stands for the samples over range from `from` on: at least the largest value seen, with the neighbours' sign. */
function filling(base: u32, from: u32, n: u32, limit: i32): i32 {
  const before = from > 0 ? load<i32>(base + (from - 1) * 4) : OVERRANGE;
  let next = from;
  while (next < n && load<i32>(base + next * 4) == OVERRANGE) next++;
  const after = next < n ? load<i32>(base + next * 4) : OVERRANGE;
  let neighbour: i32 = 0;
  if (before == OVERRANGE) neighbour = after == OVERRANGE ? 0 : after;
  else if (after == OVERRANGE || abs(before) >= abs(after)) neighbour = before;
  else neighbour = after;
  if (neighbour == 0) return 0;
  return neighbour > 0 ? limit : -limit;
}

/** Builds one channel of the grid. */
export function gridBuild(channel: u32): void {
  const base = captureChannel(channel);
  const step = gridStep;
  const n = gridCount * step;
  let limit: i32 = 0;
  let over: u32 = 0;
  for (let i: u32 = 0; i < n; i++) {
    const x = load<i32>(base + i * 4);
    if (x == OVERRANGE) over++;
    else limit = max(limit, abs(x));
  }
  gridOverrange = over;
  let target = gridChannel(channel);
  let i: u32 = 0;
  let fill: i32 = 0;
  let filled = false;
  while (i < n) {
    let sum: i32 = 0;
    for (const end = i + step; i < end; i++) {
      let x = load<i32>(base + i * 4);
      if (x == OVERRANGE) {
        if (!filled) fill = filling(base, i, n, limit);
        filled = true;
        x = fill;
      } else {
        filled = false;
      }
      sum += x;
    }
    store<i32>(target, <i32>((sum * 4) / <i32>step));
    target += 4;
  }
}
