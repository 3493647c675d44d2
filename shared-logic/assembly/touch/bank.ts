/**
 * A bank of matched filters (flux steps of raised-cosine shape, six rise times) over one cleaned channel: their noise, what
 * stands out of it, and the flux that an output stands for.
 */
import { WORK, gridChannel, gridCount, gridRate_Hz, GRID_V } from './grid';
import { cosine } from '../waves';

export const WIDTHS: u32 = 6;
/** Rise times of the bank, ms, in tenths: a ratio of 1.58 costs at most 3 % of the filter's output. */
const RISES: usize = memory.data<u16>([20, 32, 50, 80, 125, 200]);

/** One filter: 7 words at WORK + j * 28, its taps behind them. */
@unmanaged export class Filter {
  length: u32;
  taps: u32;
  /** The bank is evaluated at every `stride`-th sample. */
  stride: u32;
  /** Output in 64ths of a standard deviation = (dot >> shift) * gain >> 12. */
  shift: i32;
  gain: i32;
  /** Largest shifted dot whose product with the gain fits. */
  most: i32;
  /** Standard deviations of output per weber of flux. */
  perWeber: f32;
}
const FILTER_bytes: u32 = 28;
@inline export function filter(j: u32): Filter { return changetype<Filter>(<usize>(WORK + j * FILTER_bytes)); }

let histogramAt: u32 = 0;
/** Where the work space behind the bank begins. */
export let areaAt: u32 = 0;

/** Builds the filters for the grid's rate. */
export function bankBegin(): void {
  let at = WORK + WIDTHS * FILTER_bytes;
  for (let j: u32 = 0; j < WIDTHS; j++) {
    const f = filter(j);
    const rise_s = <f32>load<u16>(RISES + <usize>(j * 2)) * <f32>1e-4;
    const length = max<u32>(2, <u32>nearest(rise_s * gridRate_Hz));
    f.length = length;
    f.taps = at;
    f.stride = length >= 16 ? 4 : length >= 10 ? 2 : 1;
    const phase = 0x80000000 / length;
    let peak: i32 = 1;
    for (let m: u32 = 0; m < length; m++) peak = max(peak, cosine(phase * m) - cosine(phase * (m + 1)));
    for (let m: u32 = 0; m < length; m++) {
      // From both ends alike.
      const near = min(m, length - 1 - m);
      const step = cosine(phase * near) - cosine(phase * (near + 1));
      store<i32>(at, (step * 127 + (peak >> 1)) / peak);
      at += 4;
    }
  }
  histogramAt = at;
  areaAt = at + HISTOGRAM * 4;
}

/** Sum of squares of a filter's taps. */
function energy(f: Filter): f32 {
  let sum: i32 = 0;
  for (let m: u32 = 0; m < f.length; m++) {
    const tap = load<i32>(f.taps + m * 4);
    sum += tap * tap;
  }
  return <f32>sum;
}
function tapSum(f: Filter): f32 {
  let sum: i32 = 0;
  for (let m: u32 = 0; m < f.length; m++) sum += load<i32>(f.taps + m * 4);
  return <f32>sum;
}

/** Sets a filter's scale. @param deviation - of the grid's noise as this filter sees it, grid units */
function setScale(f: Filter, deviation: f32): void {
  const norm = sqrt<f32>(energy(f)) * deviation;
  let shift: i32 = 0;
  for (let room: f32 = 131072; norm * 64 > room && shift < 20; room *= 2) shift++;
  f.shift = max(0, shift - sampleShift);
  f.gain = <i32>nearest(<f32>(64 * 4096) * <f32>(1 << f.shift + sampleShift) / norm);
  f.most = (1 << 30) / max(1, f.gain);
  // A flux of 1 Wb is tapSum steps of 1 / (rate * tapSum) Wb each.
  f.perWeber = gridRate_Hz * sqrt<f32>(energy(f)) / (tapSum(f) * deviation * GRID_V);
}

/** Samples up to this keep the sums in 32 bits; larger ones do not occur near the noise and are shifted down first. */
const LIMIT: i32 = 500000;
let sampleShift: i32 = 0;
function fitSamples(base: u32, n: u32): void {
  let most: i32 = 0;
  for (let at = base, end = base + n * 4; at < end; at += 4) most = max(most, abs(load<i32>(at)));
  sampleShift = 0;
  while ((most >> sampleShift) > LIMIT) sampleShift++;
}

/** Output of a filter that starts at `at` (an address of the grid), 64ths of a standard deviation, within +-16383. */
export function output(f: Filter, at: u32): i32 {
  const shift = sampleShift;
  let sum: i32 = 0;
  let tap = f.taps;
  let first = at;
  let last = at + (f.length - 1) * 4;
  // The taps are the same from both ends.
  for (; first < last; first += 4, last -= 4, tap += 4) sum += ((load<i32>(first) >> shift) + (load<i32>(last) >> shift)) * load<i32>(tap);
  if (first == last) sum += (load<i32>(first) >> shift) * load<i32>(tap);
  const most = f.most;
  const short = max(-most, min(most, sum >> f.shift));
  return max(-16383, min(16383, (short * f.gain) >> 12));
}

const HISTOGRAM: u32 = 64;
/** What of one sign stands out most on a channel, as sizes of outputs, 64ths of a standard deviation. */
@unmanaged export class Extreme {
  /** Largest output, and its filter. */
  most: i32;
  mostWidth: u32;
  /** Output of the filter whose shape fits best, that filter, and the sample at which it begins. */
  output: i32;
  width: u32;
  at: u32;
  /** What that filter was chosen by. */
  shape: f32;
}
/** From here on the shape chooses the filter: 12 deviations. */
const FAR: i32 = 768;

/** Extremes of one filter's outputs, as sizes, and where. */
@unmanaged class Outputs {
  up: i32;
  down: i32;
  upAt: u32;
  downAt: u32;
}
const OUTPUTS: Outputs = changetype<Outputs>(memory.data(offsetof<Outputs>()));
/** Median magnitude of a filter's outputs over the channel, in standard deviations of its present scale. @param into - extremes */
function medianOutput(f: Filter, base: u32, n: u32, into: Outputs): f32 {
  memory.fill(histogramAt, 0, HISTOGRAM * 4);
  let total: u32 = 0;
  let up: i32 = 0;
  let down: i32 = 0;
  into.upAt = 0;
  into.downAt = 0;
  for (let t: u32 = 0; t + f.length <= n; t += f.stride) {
    const z = output(f, base + t * 4);
    if (z > up) {
      up = z;
      into.upAt = t;
    }
    if (z < -down) {
      down = -z;
      into.downAt = t;
    }
    const at = histogramAt + min<u32>(<u32>(abs(z) >> 3), HISTOGRAM - 1) * 4;
    store<u32>(at, load<u32>(at) + 1);
    total++;
  }
  into.up = up;
  into.down = down;
  let below: u32 = 0;
  for (let k: u32 = 0; k < HISTOGRAM; k++) {
    const here = load<u32>(histogramAt + k * 4);
    if ((below + here) * 2 >= total) {
      const part = here == 0 ? <f32>0 : (<f32>total / 2 - <f32>below) / <f32>here;
      return (<f32>k + part) / 8;
    }
    below += here;
  }
  return <f32>HISTOGRAM / 8;
}

/**
 * Runs the bank over a channel: sets each filter's noise from white noise of `deviation`, raised where the outputs
 * themselves say so (hum that was left, coloured noise), and finds the largest outputs.
 * @returns the largest output in standard deviations of the noise alone, whatever the hum may pretend
 */
export function bankScan(channel: u32, deviation: f32, humLeft_Wb: f32, up: Extreme, down: Extreme): f32 {
  const base = gridChannel(channel);
  const n = gridCount;
  fitSamples(base, n);
  // A channel with no output of one sign keeps none of the one before it, whose places may lie beyond its end.
  memory.fill(changetype<usize>(up), 0, offsetof<Extreme>());
  memory.fill(changetype<usize>(down), 0, offsetof<Extreme>());
  let largest: f32 = 0;
  for (let j: u32 = 0; j < WIDTHS; j++) {
    const f = filter(j);
    if (f.length > n) continue;
    setScale(f, deviation);
    const independent = <f32>n / <f32>f.length;
    // What the hum may pretend is noise of the flux.
    const pretended = humLeft_Wb * f.perWeber;
    const times = sqrt<f32>(1 + pretended * pretended);
    let raised = deviation * times;
    if (pretended > 0) setScale(f, raised);
    for (let round = 0; round < 3; round++) {
      const ratio = medianOutput(f, base, n, OUTPUTS) / <f32>0.6745;
      if (ratio <= 1 + <f32>1.0 / sqrt<f32>(independent)) break;
      raised *= ratio;
      setScale(f, raised);
      // The histogram ends at 8 deviations: beyond, the ratio was a lower bound.
      if (ratio < 4) {
        OUTPUTS.up = <i32>(<f32>OUTPUTS.up / ratio);
        OUTPUTS.down = <i32>(<f32>OUTPUTS.down / ratio);
        break;
      }
    }
    largest = max(largest, <f32>max(OUTPUTS.up, OUTPUTS.down) * times / 64);
    keep(up, OUTPUTS.up, OUTPUTS.upAt, j, raised / deviation);
    keep(down, OUTPUTS.down, OUTPUTS.downAt, j, raised / deviation);
  }
  return largest;
}

/** Keeps filter j's largest output of a sign if it is the largest yet. @param times - by which its noise was raised */
function keep(best: Extreme, output: i32, at: u32, j: u32, times: f32): void {
  if (output > best.most) {
    best.most = output;
    best.mostWidth = j;
  }
  // Far above the noise the shape tells the filter, however much the noise of each was raised.
  const plain = output > FAR ? <f32>output * times : <f32>output;
  if (plain <= best.shape) return;
  best.shape = plain;
  best.output = output;
  best.at = at;
  best.width = j;
}

/** Largest output of the bank near one place, in standard deviations of white noise; 256 stands for all beyond. */
export function bankPeak(channel: u32, middle: u32, deviation: f32): f32 {
  const base = gridChannel(channel);
  const n = gridCount;
  fitSamples(base, n);
  let best: i32 = 0;
  for (let j: u32 = 0; j < WIDTHS; j++) {
    const f = filter(j);
    if (f.length > n) continue;
    setScale(f, deviation);
    const reach = f.length + f.length / 2;
    const last = min(n - f.length, middle + f.length / 2);
    for (let t = middle > reach ? middle - reach : 0; t <= last; t += f.stride) best = max(best, abs(output(f, base + t * 4)));
  }
  return <f32>best / 64;
}
/** Flux that an output of one filter stands for, and its standard uncertainty (for an output of 64), Wb. */
export function bankFlux_Wb(width: u32, z: i32): f32 { return <f32>z / 64 / filter(width).perWeber; }
export function bankLength(width: u32): u32 { return filter(width).length; }
