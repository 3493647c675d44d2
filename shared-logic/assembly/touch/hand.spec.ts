import {
  CAPTURE_HEAD, CaptureHead, ChannelEvidence, EVIDENCE, Evidence, EVIDENCE_TOUCHES, TOUCH_bytes, TouchEvidence, TouchFlag,
} from '../layout';
import { evidenceClear } from '../evidence';
import { captureBegin, captureChannel } from './capture';
import { arrivalDensity, holdDensity, pairDensity } from './hand';
import { analyseTouch } from './touch';
import { sine } from '../waves';

/** One channel between clips 2 and 1, a little deterministic noise, 10 kHz from -0.1 s; a second one between clips 4 and 3. */
function fill(count: u32, channels: u32 = 1): void {
  captureBegin(channels, count, 10000, <f32>-0.1);
  const head = changetype<CaptureHead>(<usize>CAPTURE_HEAD);
  head.plus0 = 2;
  head.minus0 = 1;
  head.plus1 = 4;
  head.minus1 = 3;
  let state: u32 = 4711;
  for (let c: u32 = 0; c < channels; c++) {
    for (let i: u32 = 0; i < count; i++) {
      state = state * 1664525 + 1013904223;
      store<i32>(captureChannel(c) + i * 4, (<i32>(state >> 22) - 512) >> 1);
    }
  }
}
/** A half sine of `length` samples from sample `from` on; height in 2^-20 V. */
function pulse(from: u32, length: u32, height: i32, channel: u32 = 0): void {
  for (let i: u32 = 0; i < length; i++) {
    const at = captureChannel(channel) + (from + i) * 4;
    store<i32>(at, load<i32>(at) + <i32>((<i64>sine((<u32>0x80000000 / length) * i) * height) >> 15));
  }
}
function channelOf(n: u32): ChannelEvidence {
  return changetype<ChannelEvidence>(<usize>(EVIDENCE_TOUCHES + n * TOUCH_bytes + offsetof<TouchEvidence>()));
}
/** The second channel. */
function otherOf(n: u32): ChannelEvidence {
  return changetype<ChannelEvidence>(changetype<usize>(channelOf(n)) + offsetof<ChannelEvidence>());
}
function flagsOf(n: u32): u32 { return changetype<TouchEvidence>(<usize>(EVIDENCE_TOUCHES + n * TOUCH_bytes)).flags; }
/** Analyses what lies in CAPTURE as touch n of the record. */
function analyse(n: u32): void {
  analyseTouch(EVIDENCE_TOUCHES + n * TOUCH_bytes);
  changetype<Evidence>(<usize>EVIDENCE).touchCount = <u8>(n + 1);
}

describe('the priors of a hand', () => {
  it('are log-uniform for holds: 1 / ln(30) / 0.2 s = 1.47 per second at 0.2 s, and half of that at 0.4 s', () => {
    expect<bool>(abs(holdDensity(<f32>0.2) - <f32>1.47) < <f32>0.03).toBe(true);
    expect<bool>(abs(holdDensity(<f32>0.4) * 2 - holdDensity(<f32>0.2)) < <f32>0.001).toBe(true);
  });
  it('add up to about one arrival: 9/s over 100 ms, 0.4/s up to 0.3 s', () => {
    let sum: f32 = 0;
    for (let ms = -100; ms < 1000; ms++) sum += arrivalDensity(<f32>ms / 1000, <f32>ms / 1000) / 1000;
    // 0.06 s * 9 + 9 * 4 ms in the tail before + 0.25 s * 0.4 + 0.7 s * 0.05 = 0.71.
    expect<bool>(abs(sum - <f32>0.71) < <f32>0.03).toBe(true);
  });
  it('have an equal departure ten times as likely as one of 1.5 times the flux', () => {
    expect<bool>(pairDensity(1, 1) > 10 * pairDensity(1, <f32>1.5)).toBe(true);
  });
});

/** A first capture in which steel comes to rest and stays. */
function leaveSteel(): void {
  evidenceClear();
  fill(6000);
  pulse(1000, 60, 126000);
  analyse(0);
}

describe('steel that the last capture left', () => {
  it('is known by its flux when it is lifted: the sign is that of what comes after', () => {
    evidenceClear();
    // Arrives with 2/pi * 0.12 V * 6 ms = 0.46 mWb and stays.
    fill(6000);
    pulse(1000, 60, 126000);
    analyse(0);
    expect<bool>(channelOf(0).signLogOdds > 5).toBe(true);
    expect<u32>(flagsOf(0) & TouchFlag.noDeparture).toBe(TouchFlag.noDeparture);
    // The same flux goes at the trigger, twice as slowly; the next place's steel arrives 0.2 s later with half of it.
    fill(6000);
    pulse(1000, 120, -63000);
    pulse(3000, 60, -63000);
    analyse(1);
    expect<bool>(channelOf(1).signLogOdds < -4).toBe(true);
    expect<u32>(flagsOf(1) & TouchFlag.lateLift).toBe(TouchFlag.lateLift);
    expect<bool>(abs(channelOf(1).flux_Wb + <f32>2.3e-4) < <f32>2e-5).toBe(true);
  });
  it('is no lift what goes the way that it came', () => {
    leaveSteel();
    fill(6000);
    pulse(1000, 60, 126000);
    analyse(1);
    expect<bool>(channelOf(1).signLogOdds > 4).toBe(true);
    expect<u32>(flagsOf(1) & TouchFlag.lateLift).toBe(0);
  });
  it('plays no part after a capture that saw it leave: what then comes is an arrival', () => {
    evidenceClear();
    fill(6000);
    pulse(1000, 60, 126000);
    pulse(4000, 70, -108000);
    analyse(0);
    fill(6000);
    pulse(1000, 60, -126000);
    analyse(1);
    expect<bool>(channelOf(1).signLogOdds < -4).toBe(true);
  });
  it('is known too where the next arrival comes before its lift, within one event', () => {
    leaveSteel();
    // The next place's steel arrives with half of that flux, the last one goes 6 ms later, and the next one leaves.
    fill(6000);
    pulse(1000, 60, 63000);
    pulse(1120, 60, -126000);
    pulse(4000, 60, -63000);
    analyse(1);
    expect<bool>(channelOf(1).signLogOdds > 4).toBe(true);
  });
  it('may be lifted and followed within one event on a channel that did not hear it come: the departure has what the second part brought', () => {
    leaveSteel();
    fill(6000);
    const head = changetype<CaptureHead>(<usize>CAPTURE_HEAD);
    head.plus0 = 4;
    head.minus0 = 3;
    pulse(1000, 70, 126000);
    pulse(1110, 55, -126000);
    pulse(2500, 50, 138600);
    analyse(1);
    expect<bool>(channelOf(1).signLogOdds < -2).toBe(true);
  });
  it('has not bounced where one of two equal movements did: that one is the arrival', () => {
    leaveSteel();
    const odds = memory.data(8);
    for (let bounces = 0; bounces < 2; bounces++) {
      fill(6000);
      pulse(1000, 60, -126000);
      pulse(3000, 60, 126000);
      // Half of it goes and comes back.
      if (bounces != 0) {
        pulse(3080, 30, -126000);
        pulse(3120, 30, 126000);
      }
      analyse(1);
      store<f32>(odds + bounces * 4, channelOf(1).signLogOdds);
      changetype<Evidence>(<usize>EVIDENCE).touchCount = 1;
    }
    expect<bool>(load<f32>(odds + 4) > load<f32>(odds) + 2).toBe(true);
  });
  it('still lies there where what moves is on another channel: an arrival, not the lift of something else', () => {
    evidenceClear();
    // On clips 4 and 3, with a share of the other sign on clips 2 and 1, six times smaller than what then comes there.
    fill(6000, 2);
    pulse(1000, 60, 400000, 1);
    pulse(1000, 60, -20000);
    analyse(0);
    fill(6000, 2);
    pulse(1300, 60, -126000);
    pulse(1300, 60, -4000, 1);
    analyse(1);
    expect<bool>(channelOf(1).signLogOdds < -6).toBe(true);
  });
  it('would have been heard to come by the channel that hears it go', () => {
    const odds = memory.data(8);
    for (let other = 0; other < 2; other++) {
      // Nothing moves, on this channel or on another one.
      evidenceClear();
      fill(6000);
      const head = changetype<CaptureHead>(<usize>CAPTURE_HEAD);
      if (other != 0) head.plus0 = 4;
      analyse(0);
      expect<u32>(flagsOf(0) & TouchFlag.none).toBe(TouchFlag.none);
      fill(6000);
      pulse(1000, 60, 126000);
      analyse(1);
      store<f32>(odds + other * 4, channelOf(1).signLogOdds);
    }
    expect<bool>(load<f32>(odds) > 4).toBe(true);
    expect<bool>(load<f32>(odds + 4) < 4).toBe(true);
  });
  it('leaves the touch to another channel where one heard nothing but its lift', () => {
    leaveSteel();
    // It goes at once, larger than it came and than all that follows; 0.3 s later steel comes to the other channel's coil.
    fill(6000, 2);
    pulse(500, 60, -800000);
    pulse(4000, 60, 126000, 1);
    analyse(1);
    expect<bool>(otherOf(1).signLogOdds > 3).toBe(true);
    expect<u32>(flagsOf(1) & TouchFlag.lateLift).toBe(TouchFlag.lateLift);
  });
});
