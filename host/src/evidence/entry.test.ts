import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { OVERRANGE } from '../logic/layout.generated.ts';
import { voltsChannel, voltsOf } from './capture.ts';
import { shortFloat } from './entry.ts';

describe('numbers of a record', () => {
  it('come back to the same single-precision bits', () => {
    fc.assert(
      fc.property(fc.float({ noNaN: true, noDefaultInfinity: true }), (value) => {
        expect(Math.fround(JSON.parse(JSON.stringify(shortFloat(value))))).toBe(
          value === 0 ? 0 : value,
        );
      }),
    );
  });
  it('are as short as that allows', () => {
    expect(shortFloat(Math.fround(4132.6))).toBe(4132.6);
    expect(shortFloat(Math.fround(0.1))).toBe(0.1);
  });
  it('come back to the same count of 2^-20 V, over range included', () => {
    fc.assert(
      fc.property(fc.integer({ min: -(2 ** 23), max: 2 ** 23 }), (count) => {
        const words = new Int32Array(1);
        voltsChannel(1, 2, [JSON.parse(JSON.stringify(voltsOf(count)))]).write(0, 1, words, 0);
        expect(words[0]).toBe(count);
      }),
    );
    expect(voltsOf(OVERRANGE)).toBeNull();
  });
});
