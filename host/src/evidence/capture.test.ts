import { expect, it } from 'vitest';
import { OVERRANGE } from '../logic/layout.generated.ts';
import { voltsChannel, voltsOf } from './capture.ts';

it('volts that no touch of a pickup makes count as over range, as those that the converter could not take', () => {
  const volts_V = [0, 0.25, -8, 8, 8.1, -200, null];
  const words = new Int32Array(volts_V.length);
  voltsChannel(2, 1, volts_V).write(0, volts_V.length, words, 0);
  expect([...words].map((word) => (word === OVERRANGE ? null : voltsOf(word)))).toEqual([0, 0.25, -8, 8, null, null, null]);
});
