import { RANGES } from '../../layout';
import { pairHigh, pairLow, pairOf } from '../../clip-pairs';
import { drivePort, sensePort } from './matrix';
import {
  leak_ohm, polaritiesDisagree, rangeCurrent_nA, rangeFor, rangeLimit_ohm, readingUncertainty_ohm, settle_us,
} from './resistance';

describe('current ranges', () => {
  it('leave at most 2.1 V at the source with 4.44 kilohm of protectors and reference in series', () => {
    for (let range: u32 = 0; range < RANGES; range++) {
      const volts = (rangeLimit_ohm(range) + 4440) * <f32>rangeCurrent_nA(range) * <f32>1e-9;
      expect<bool>(volts <= <f32>2.1).toBe(true);
    }
  });
  it('take the largest current that reads', () => {
    expect<u32>(rangeFor(0)).toBe(0);
    expect<u32>(rangeFor(3500)).toBe(0);
    expect<u32>(rangeFor(4132)).toBe(1);
    expect<u32>(rangeFor(15900)).toBe(2);
    expect<u32>(rangeFor(180000)).toBe(3);
    expect<u32>(rangeFor(250000)).toBe(RANGES);
  });
  it('wait 6 ms, and 25 ms at 10 uA', () => {
    expect<u32>(settle_us(0)).toBe(6000);
    expect<u32>(settle_us(3)).toBe(25000);
  });
});

describe('uncertainty of a reading', () => {
  // physics.md 7: 0.18 ohm of 8 kilohm pair to pair; of 100 kilohm 10.8, nearly all of it noise on the reference's 20 mV at 10 uA.
  it('is 0.1 to 0.25 ohm at 8 kilohm', () => {
    const u = readingUncertainty_ohm(8000, <f32>1e-4, <f32>0.2, 0);
    expect<bool>(u > <f32>0.1 && u < <f32>0.25).toBe(true);
  });
  it('grows at 10 uA, where the reference leaves 20 mV only', () => {
    const u = readingUncertainty_ohm(100000, <f32>1e-5, <f32>0.02, 0);
    expect<bool>(u > 2 && u < 15).toBe(true);
  });
});

describe('two polarities', () => {
  it('agree within offset and noise', () => {
    expect<bool>(polaritiesDisagree(<f32>0.41, <f32>-0.41002)).toBe(false);
    expect<bool>(polaritiesDisagree(<f32>0.0001, <f32>-0.0001)).toBe(false);
  });
  it('disagree when contact was lost for a twentieth of one of them', () => {
    expect<bool>(polaritiesDisagree(<f32>0.41, <f32>-0.49)).toBe(true);
    expect<bool>(polaritiesDisagree(<f32>0.39, <f32>-0.41)).toBe(true);
    expect<bool>(polaritiesDisagree(<f32>-0.1, <f32>0.1)).toBe(true);
  });
});

describe('the leak path', () => {
  it('gives back 100 megohm and 200 kilohm from a divider with 1 megohm', () => {
    const whole: f32 = 1.8 * 1e6 / 1003440;
    expect<bool>(abs<f32>(leak_ohm(whole, 1.8 * 1e6 / 101003440) / 1e8 - 1) < <f32>1e-4).toBe(true);
    expect<bool>(abs<f32>(leak_ohm(whole, 1.8 * 1e6 / 1203440) / 2e5 - 1) < <f32>1e-4).toBe(true);
  });
  it('is never negative', () => { expect<f32>(leak_ohm(1, <f32>1.001)).toBe(0); });
});

describe('the matrix', () => {
  it('counts the pairs 12 13 14 15 16 23 ... 56 from 0 to 14', () => {
    let pair: u32 = 0;
    for (let a: u32 = 1; a <= 6; a++) {
      for (let b = a + 1; b <= 6; b++) {
        expect<u32>(pairOf(a, b)).toBe(pair);
        expect<u32>(pairOf(b, a)).toBe(pair);
        expect<u32>(pairLow(pair)).toBe(a);
        expect<u32>(pairHigh(pair)).toBe(b);
        pair++;
      }
    }
  });
  it('has one nibble EN A2 A1 A0 for each switch', () => {
    expect<u32>(drivePort(1, 6)).toBe(0xd8);
    expect<u32>(sensePort(2, 3)).toBe(0xa900);
  });
});
