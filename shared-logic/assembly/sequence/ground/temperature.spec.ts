import { board } from '../../blocks';
import { boardTemperature_C } from './temperature';

describe('the temperature of the board', () => {
  it('is 25 C at the board\'s own voltage for it, and rises by the sensor\'s slope', () => {
    board().temperature_V25 = 0.75;
    board().temperature_V_per_K = 0.01;
    expect<f32>(boardTemperature_C(0.75)).toBe(25);
    expect<bool>(abs<f32>(boardTemperature_C(0.65) - 15) < <f32>1e-3).toBe(true);
  });
});
