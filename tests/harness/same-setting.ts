/** One setting as the program tells it, against the shares and ohms of another solver. */
import { expect } from 'vitest';
import type { SettingResult } from '../../host/src/harness/setting-result.ts';

/** Relative: half a per cent, and what ngspice's printed digits leave. */
export const WITHIN = 0.005;
/** Joints of the other solver that are not without resistance. */
const JOINTS_ohm = 0.1;

/** What another solver says of a setting. */
export interface OtherSetting {
  /** By `SLOT COIL`: real part at 82.41 Hz. */
  readonly shares: ReadonlyMap<string, number>;
  /** DC resistance without the load; above 1e11 there is no path. */
  readonly ohm: number;
}

/** Expects the same coils to be heard, with the same signs and shares, and the same ohms. */
export function expectSame(result: SettingResult, { shares, ohm }: OtherSetting): void {
  const heard = [...shares].filter(([, share]) => Math.abs(share) > 0.02).map(([label]) => label);
  expect(result.sounding.map(({ slot, coil }) => `${slot} ${coil}`)).toEqual(heard);
  for (const { slot, coil, share, sense } of result.sounding) {
    const theirs = shares.get(`${slot} ${coil}`)!;
    expect(Math.abs(share / (sense === null ? Math.abs(theirs) : theirs) - 1)).toBeLessThan(WITHIN);
  }
  if (result.ohm === null) expect(ohm).toBeGreaterThan(1e11);
  else expect(Math.abs(result.ohm - ohm)).toBeLessThanOrEqual(WITHIN * ohm + JOINTS_ohm);
}
