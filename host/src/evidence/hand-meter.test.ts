import { describe, expect, it } from 'vitest';
import { typedUncertainty_ohm } from './hand-meter.ts';

describe('a resistance typed in from a hand-held meter', () => {
  it('is worth 0.3 % and half its last digit that is not zero, at most 2 %, and 0.3 ohm', () => {
    expect(typedUncertainty_ohm(7600)).toBeCloseTo(22.8 + 50 + 0.3, 6);
    expect(typedUncertainty_ohm(4132.6)).toBeCloseTo(12.3978 + 0.05 + 0.3, 6);
    expect(typedUncertainty_ohm(4000)).toBeCloseTo(80 + 0.3, 6);
    expect(typedUncertainty_ohm(0.2)).toBeCloseTo(0.004 + 0.3, 6);
    expect(typedUncertainty_ohm(0)).toBe(0.3);
  });
});
