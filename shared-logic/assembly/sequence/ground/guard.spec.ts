import { burstMean_V, burstPeak_V, liveVoltage, lookAtBurst, looksLive } from './guard';
import { BURST_A, OVERRANGE, SAMPLE_V } from '../../layout';

/** Fills a burst with a direct voltage and a sine, volts. */
function fill(dc_V: f64, ac_V: f64, hertz: f64, count: u32): void {
  for (let i: u32 = 0; i < count; i++) {
    const volts = dc_V + ac_V * Math.sin(6.283185307 * hertz * <f64>i / 120000 + 0.3);
    store<i32>(BURST_A + i * 4, <i32>(volts / SAMPLE_V));
  }
}

describe('the guard', () => {
  it('takes mean and peak of a burst', () => {
    fill(0.03, 0.02, 1000, 2400);
    lookAtBurst(BURST_A, 2400);
    expect<bool>(abs<f32>(burstMean_V - <f32>0.03) < <f32>1e-4).toBe(true);
    expect<bool>(abs<f32>(burstPeak_V - <f32>0.02) < <f32>1e-4).toBe(true);
  });
  it('calls 25 mV live and 15 mV not', () => {
    fill(0, 0, 50, 2400);
    lookAtBurst(BURST_A, 2400);
    expect<f32>(liveVoltage(<f32>0.025)).toBe(<f32>0.025);
    expect<f32>(liveVoltage(<f32>-0.025)).toBe(<f32>-0.025);
    expect<f32>(liveVoltage(<f32>0.015)).toBe(0);
  });
  it('calls a tone of 0.15 V from an amplifier live, though its mean is nothing', () => {
    fill(0, 0.15, 440, 2400);
    lookAtBurst(BURST_A, 2400);
    expect<bool>(liveVoltage(0) > <f32>0.14).toBe(true);
  });
  it('leaves the worst hum of two large coils in series alone: 8 mV sqrt(10/2.3) twice', () => {
    fill(0, 0.0334, 50, 2400);
    lookAtBurst(BURST_A, 2400);
    expect<f32>(liveVoltage(0)).toBe(0);
    lookAtBurst(BURST_A, 120);
    expect<bool>(looksLive()).toBe(false);
  });
  it('looks again when a short look sees 60 mV, and calls over range live', () => {
    fill(0.06, 0, 50, 120);
    lookAtBurst(BURST_A, 120);
    expect<bool>(looksLive()).toBe(true);
    store<i32>(BURST_A + 40, OVERRANGE);
    lookAtBurst(BURST_A, 120);
    expect<bool>(liveVoltage(0) > 1).toBe(true);
  });
});
