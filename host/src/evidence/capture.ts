/** Samples of a touch into the module's memory, in its unit, without intermediate lists. */
import {
  CAPTURE,
  CaptureHeadLayout,
  CAPTURE_HEAD,
  OVERRANGE,
  SCRATCH,
  SCRATCH_WORDS,
} from '../logic/layout.generated.ts';
import type { Logic } from '../logic/module.ts';

/** Samples per volt of the module's unit, 2^-20 V. */
const PER_VOLT = 2 ** 20;

/** One channel: its clips, and its samples written as the module's unit. */
export interface CaptureChannel {
  readonly plus: number;
  readonly minus: number;
  readonly length: number;
  /** Writes samples `from` to `to` (excluded) into `words` from `target` on. */
  write(from: number, to: number, words: Int32Array, target: number): void;
}

/**
 * No touch of a pickup makes more, and the module's sums have room for no more over their longest window: what is beyond, millivolts that were
 * taken for volts, counts as over range.
 */
const MOST_V = 8;

/** A channel of a record: volts, null where the converter was over range. */
export function voltsChannel(
  plus: number,
  minus: number,
  volts_V: readonly (number | null)[],
): CaptureChannel {
  return {
    plus,
    minus,
    length: volts_V.length,
    write(from, to, words, target) {
      for (let at = from, out = target; at < to; at++, out++) {
        const volts = volts_V[at] as number | null;
        // Math.round does the same at four times the time.
        words[out] = volts === null || volts > MOST_V || volts < -MOST_V ? OVERRANGE : Math.floor(volts * PER_VOLT + 0.5);
      }
    },
  };
}

/** A channel as a tester sent it: counts of 2^-20 V, OVERRANGE where there is none. */
export function countsChannel(plus: number, minus: number, counts: Int32Array): CaptureChannel {
  return {
    plus,
    minus,
    length: counts.length,
    write(from, to, words, target) {
      words.set(counts.subarray(from, to), target);
    },
  };
}

/** Volts of a count for a file: short, and exact when read back. */
export function voltsOf(count: number): number | null {
  return count === OVERRANGE ? null : Math.round((count / PER_VOLT) * 1e7) / 1e7;
}

/** Fills CAPTURE and its head with the channels of one touch.
 * @param rate_Hz - samples a second @param start_s - of sample 0, relative to the trigger
 */
export function loadCapture(
  logic: Logic,
  channels: readonly CaptureChannel[],
  rate_Hz: number,
  start_s: number,
): void {
  const { view, calls } = logic;
  push(logic, channels, 0, channels[0]?.length ?? 0, rate_Hz, start_s);
  if (calls.captureFocus() === 0) return;
  const first = view.getUint32(CAPTURE_HEAD + CaptureHeadLayout.focusFirst.at, true);
  const count = view.getUint32(CAPTURE_HEAD + CaptureHeadLayout.focusCount.at, true);
  push(logic, channels, first, first + count, rate_Hz, start_s + first / rate_Hz);
}

function push(
  logic: Logic,
  channels: readonly CaptureChannel[],
  from: number,
  to: number,
  rate_Hz: number,
  start_s: number,
): void {
  const { calls, view, bytes } = logic;
  const words = new Int32Array(bytes.buffer);
  const decimation = calls.captureBegin(channels.length, to - from, rate_Hz, start_s);
  const stride = view.getUint32(CAPTURE_HEAD + CaptureHeadLayout.stride.at, true);
  channels.forEach((channel, index) => {
    bytes[CAPTURE_HEAD + CaptureHeadLayout.plus0.at + 2 * index] = channel.plus;
    bytes[CAPTURE_HEAD + CaptureHeadLayout.minus0.at + 2 * index] = channel.minus;
    if (decimation === 1) {
      channel.write(from, to, words, CAPTURE / 4 + index * stride);
      return;
    }
    // Whole groups of the decimation are staged, so that no average is cut in two.
    const staged = SCRATCH_WORDS - (SCRATCH_WORDS % decimation);
    for (let at = from; at < to; at += staged) {
      const end = Math.min(at + staged, to);
      channel.write(at, end, words, SCRATCH / 4);
      calls.capturePush(index, end - at);
    }
  });
}
