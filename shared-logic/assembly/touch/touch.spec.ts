import { CAPTURE, CAPTURE_HEAD, CaptureHead, ChannelEvidence, EVIDENCE_TOUCHES, OVERRANGE, SCRATCH, TouchEvidence, TouchFlag } from '../layout';
import { captureBegin, captureFocus, capturePush } from './capture';
import { analyseTouch } from './touch';
import { addLogs, cosine, decay, exponential, logarithm, sine } from '../waves';

/** Half-sine pulses (from, length, height in 2^-20 V) over a little deterministic noise, 10 kHz from -0.1 s. */
function fill(count: u32): void {
  captureBegin(1, count, 10000, <f32>-0.1);
  let state: u32 = 12345;
  for (let i: u32 = 0; i < count; i++) {
    state = state * 1664525 + 1013904223;
    store<i32>(CAPTURE + i * 4, (<i32>(state >> 22) - 512) >> 1);
  }
}
function pulse(from: u32, length: u32, height: i32): void {
  for (let i: u32 = 0; i < length; i++) {
    const x = sine((<u32>0x80000000 / length) * i);
    const at = CAPTURE + (from + i) * 4;
    store<i32>(at, load<i32>(at) + <i32>((<i64>x * height) >> 15));
  }
}
function channel(): ChannelEvidence {
  return changetype<ChannelEvidence>(<usize>(EVIDENCE_TOUCHES + offsetof<TouchEvidence>()));
}
function flags(): u32 { return changetype<TouchEvidence>(<usize>EVIDENCE_TOUCHES).flags; }

describe('touch sign', () => {
  it('is plus when steel arrives and the plus lead goes positive first', () => {
    fill(8000);
    pulse(1000, 60, 120000);
    pulse(4500, 70, -103000);
    analyseTouch(EVIDENCE_TOUCHES);
    expect<bool>(channel().signLogOdds > 6).toBe(true);
    // 2/pi * height * length: 120000 / 2^20 V * 6 ms * 0.6366 = 4.37e-4 Wb.
    expect<bool>(abs(channel().flux_Wb - <f32>4.37e-4) < <f32>1e-5).toBe(true);
  });
  it('is minus when the pulses are turned over', () => {
    fill(8000);
    pulse(1000, 60, -120000);
    pulse(4500, 70, 103000);
    analyseTouch(EVIDENCE_TOUCHES);
    expect<bool>(channel().signLogOdds < -6).toBe(true);
  });
  it('stays open when nothing happens', () => {
    fill(8000);
    analyseTouch(EVIDENCE_TOUCHES);
    expect<bool>(channel().touchLogOdds < 3).toBe(true);
    expect<u32>(flags() & TouchFlag.none).toBe(TouchFlag.none);
  });
  it('hears steel that comes for half a second, either way, and no drift', () => {
    for (let sign = -1; sign <= 1; sign++) {
      fill(10000);
      // 0.5 s from 50 ms before the trigger, 2 mV at most, on a drift of 1 mV/s: 2/pi * 2 mV * 0.5 s = 6.37e-4 Wb.
      pulse(500, 5000, sign * 2097);
      for (let i: u32 = 0; i < 10000; i++) store<i32>(CAPTURE + i * 4, load<i32>(CAPTURE + i * 4) + <i32>i / 10);
      analyseTouch(EVIDENCE_TOUCHES);
      if (sign == 0) expect<u32>(flags() & TouchFlag.none).toBe(TouchFlag.none);
      else expect<bool>(channel().signLogOdds * <f32>sign > 4).toBe(true);
      if (sign != 0) expect<bool>(abs(abs(channel().flux_Wb) - <f32>6.37e-4) < 2 * channel().u_flux_Wb).toBe(true);
    }
  });
  it('survives a peak over range with its sign', () => {
    fill(8000);
    pulse(1000, 60, 400000);
    pulse(4500, 70, -343000);
    for (let i: u32 = 1010; i < 1050; i++) store<i32>(CAPTURE + i * 4, OVERRANGE);
    analyseTouch(EVIDENCE_TOUCHES);
    expect<bool>(channel().signLogOdds > 4).toBe(true);
    expect<u32>(flags() & TouchFlag.overrange).toBe(TouchFlag.overrange);
  });
  it('says nothing about a capture with no samples, or with none in range', () => {
    fill(5);
    analyseTouch(EVIDENCE_TOUCHES);
    expect<f32>(channel().signLogOdds).toBe(0);
    fill(3000);
    for (let i: u32 = 0; i < 3000; i++) store<i32>(CAPTURE + i * 4, OVERRANGE);
    analyseTouch(EVIDENCE_TOUCHES);
    expect<bool>(abs(channel().signLogOdds) < 1).toBe(true);
  });
});

describe('captures longer than the memory', () => {
  it('are averaged, and a part over range makes the whole sample over range', () => {
    expect<u32>(captureBegin(2, 40000, 100000, 0)).toBe(4);
    for (let i: u32 = 0; i < 8; i++) store<i32>(SCRATCH + i * 4, i == 5 ? OVERRANGE : <i32>i * 10);
    capturePush(1, 8);
    const at = CAPTURE + changetype<CaptureHead>(<usize>CAPTURE_HEAD).stride * 4;
    expect<i32>(load<i32>(at)).toBe(15);
    expect<i32>(load<i32>(at + 4)).toBe(OVERRANGE);
  });
  it('are cut around the first strong event', () => {
    const decimation = captureBegin(1, 100000, 10000, 0);
    for (let from: u32 = 0; from < 100000; from += 10000) {
      for (let i: u32 = 0; i < 10000; i++) store<i32>(SCRATCH + i * 4, from + i > 60000 && from + i < 60060 ? 50000 : <i32>(i & 7));
      capturePush(0, 10000);
    }
    expect<u32>(decimation).toBe(5);
    expect<u32>(captureFocus()).toBe(1);
    const head = changetype<CaptureHead>(<usize>CAPTURE_HEAD);
    expect<bool>(head.focusFirst > 44500 && head.focusFirst < 45500).toBe(true);
    expect<u32>(head.focusCount).toBe(30000);
  });
});

describe('tables', () => {
  it('agree with sine, exponential and logarithm', () => {
    for (let k: u32 = 0; k < 1000; k++) {
      const turn = <f64>k / 1000;
      expect<bool>(abs(<f64>sine(<u32>(turn * 4294967296.0)) - 32767 * Math.sin(2 * Math.PI * turn)) < 4).toBe(true);
    }
    expect<i32>(cosine(0)).toBe(32767);
    expect<u32>(decay(16)).toBe(385750);
    expect<bool>(abs(exponential(1) - <f32>Math.E) < <f32>1e-5).toBe(true);
    expect<bool>(abs(logarithm(10) - <f32>2.3025851) < <f32>1e-5).toBe(true);
    expect<bool>(abs(addLogs(1, 1) - <f32>1.6931472) < <f32>1e-5).toBe(true);
  });
});
