import { hasLeft, hasLifted, hear, hearingBegin, isHeld, liftBegin } from './arrival';
import { LISTEN, LISTEN_BLOCK, SAMPLE_V } from '../layout';

/** Volts at a time: hum, and steel that arrives at 0.5 s in 5 ms and leaves when it is told. */
function volts(t: f64, hum_V: f64, hertz: f64, flux_Wb: f64, hold_s: f64): f64 {
  let v = hum_V * Math.sin(6.283185307 * hertz * t + 1);
  const in_s = t - 0.5;
  if (in_s >= 0 && in_s < 0.005) v += flux_Wb * Math.PI / 0.01 * Math.sin(Math.PI * in_s / 0.005);
  const out_s = in_s - hold_s;
  if (out_s >= 0 && out_s < 0.008) v -= flux_Wb * Math.PI / 0.016 * Math.sin(Math.PI * out_s / 0.008);
  return v;
}

let arrivedAt: u32 = 0;
let leftAt: u32 = 0;
let liftedAt: u32 = 0;

/** @param liftFrom - block from which the lift is waited for, if any */
function listen(hum_V: f64, hertz: f64, flux_Wb: f64, hold_s: f64, blocks: u32, liftFrom: u32 = 0): void {
  hearingBegin();
  arrivedAt = 0;
  leftAt = 0;
  liftedAt = 0;
  for (let block: u32 = 0; block < blocks; block++) {
    for (let i: u32 = 0; i < LISTEN_BLOCK; i++) {
      const t = (<f64>block * 100 + <f64>i) / 10000;
      store<i32>(LISTEN + i * 4, <i32>(volts(t, hum_V, hertz, flux_Wb, hold_s) / SAMPLE_V));
    }
    if (hear(1)) arrivedAt = block;
    if (leftAt == 0 && hasLeft(6)) leftAt = block;
    if (block == liftFrom) liftBegin();
    if (liftFrom > 0 && block > liftFrom && liftedAt == 0 && hasLifted(6)) liftedAt = block;
  }
}

describe('listening for steel', () => {
  it('hears 0.2 mWb in its block under 8 mV of hum of 50 and 60 Hz, either way', () => {
    listen(0.008, 50, 2e-4, 0.3, 120);
    expect<u32>(arrivedAt).toBe(50);
    listen(0.008, 60, -2e-4, 0.3, 120);
    expect<u32>(arrivedAt).toBe(50);
  });
  it('hears nothing in hum alone', () => {
    listen(0.008, 60, 0, 0.3, 120);
    expect<u32>(arrivedAt).toBe(0);
  });
  it('sees it leave, 60 ms of quiet later', () => {
    listen(0.004, 50, 1e-3, 0.3, 120);
    expect<bool>(leftAt >= 86 && leftAt <= 89).toBe(true);
  });
  it('does not take the hold for a lift', () => {
    listen(0.004, 50, 1e-3, 5, 150);
    expect<u32>(arrivedAt).toBe(50);
    expect<u32>(leftAt).toBe(0);
    expect<bool>(isHeld()).toBe(true);
  });
  it('hears a lift that is waited for, 60 ms of quiet later, either way', () => {
    listen(0.004, 50, 1e-3, 1.5, 260, 130);
    expect<bool>(liftedAt >= 206 && liftedAt <= 209).toBe(true);
    listen(0.008, 60, -3e-4, 1.5, 260, 130);
    expect<bool>(liftedAt >= 206 && liftedAt <= 209).toBe(true);
  });
  it('hears no lift where nothing leaves', () => {
    listen(0.008, 50, 1e-3, 9, 400, 130);
    expect<u32>(liftedAt).toBe(0);
  });
});
