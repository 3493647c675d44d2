/** Samples of a touch into the module's memory, in its unit, without intermediate lists. */
import { CAPTURE, CaptureHeadLayout, CAPTURE_HEAD, OVERRANGE, SCRATCH, SCRATCH_WORDS } from '../logic/layout.generated.ts';
import type { Logic } from '../logic/module.ts';

/** Samples per volt of the module's unit, 2^-20 V. */
const PER_VOLT = 2 ** 20;

/** One channel: clips and samples in volts, null where the converter was over range. */
export interface CaptureChannel {
  readonly plus: number;
  readonly minus: number;
  readonly volts_V: readonly (number | null)[];
}

/** Fills CAPTURE and its head with the channels of one touch.
 * @param rate_Hz - samples a second @param start_s - of sample 0, relative to the trigger
 */
export function loadCapture(logic: Logic, channels: readonly CaptureChannel[], rate_Hz: number, start_s: number): void {
  const length = channels[0]?.volts_V.length ?? 0;
  push(logic, channels, 0, length, rate_Hz, start_s);
  if (logic.calls.captureFocus() === 0) return;
  const first = logic.view.getUint32(CAPTURE_HEAD + CaptureHeadLayout.focusFirst.at, true);
  const count = logic.view.getUint32(CAPTURE_HEAD + CaptureHeadLayout.focusCount.at, true);
  push(logic, channels, first, first + count, rate_Hz, start_s + first / rate_Hz);
}

function push(
  logic: Logic, channels: readonly CaptureChannel[], from: number, to: number, rate_Hz: number, start_s: number,
): void {
  const { calls, view, bytes } = logic;
  const words = new Int32Array(bytes.buffer);
  const decimation = calls.captureBegin(channels.length, to - from, rate_Hz, start_s);
  const stride = view.getUint32(CAPTURE_HEAD + CaptureHeadLayout.stride.at, true);
  channels.forEach(({ plus, minus, volts_V }, index) => {
    bytes[CAPTURE_HEAD + CaptureHeadLayout.plus0.at + 2 * index] = plus;
    bytes[CAPTURE_HEAD + CaptureHeadLayout.minus0.at + 2 * index] = minus;
    if (decimation === 1) {
      convert(volts_V, from, to, words, CAPTURE / 4 + index * stride);
      return;
    }
    // Whole groups of the decimation are staged, so that no average is cut in two.
    const staged = SCRATCH_WORDS - (SCRATCH_WORDS % decimation);
    for (let at = from; at < to; at += staged) {
      const end = Math.min(at + staged, to);
      convert(volts_V, at, end, words, SCRATCH / 4);
      calls.capturePush(index, end - at);
    }
  });
}

function convert(volts_V: readonly (number | null)[], from: number, to: number, words: Int32Array, target: number): void {
  for (let at = from, out = target; at < to; at++, out++) {
    const volts = volts_V[at] as number | null;
    words[out] = volts === null ? OVERRANGE : Math.round(volts * PER_VOLT);
  }
}
