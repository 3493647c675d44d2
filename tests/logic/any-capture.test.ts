/** Whatever a capture holds, what is stored of it are figures: one that is none would outvote every good touch. */
import { describe, expect, it } from 'vitest';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { logBetween } from '../lots/touch-scenes.ts';
import { TouchReader } from '../../host/src/evidence/touch-reader.ts';
import { soundOf, type ChannelSound, type FluxStep } from '../lots/waveform.ts';

const SEED = 77;
const CAPTURES = 400;

/** Steps of either sign at any time, some before the first sample or after the last, alike on all channels or not. */
function anySounds(chance: RandomStream, start_s: number, length_s: number): ChannelSound[] {
  const pick = <Choice>(choices: readonly Choice[]): Choice => choices[Math.floor(chance.unit() * choices.length)]!;
  const steps: FluxStep[] = Array.from({ length: Math.floor(chance.unit() * 5) }, () => ({
    shape: pick(['cosine', 'gaussian', 'triangle', 'tail', 'skewed'] as const),
    at_s: start_s + chance.between(-0.1, 1.1) * length_s,
    for_s: logBetween(chance, 0.001, 0.3),
    flux_Wb: logBetween(chance, 1e-6, 2e-2) * pick([1, -1]),
  }));
  return Array.from({ length: pick([1, 2]) }, () => ({
    steps: steps.filter(() => chance.unit() < 0.8),
    gain: pick([1, -1, 0.1, -0.1]),
    noise_V: logBetween(chance, 1e-6, 1e-3),
    range_V: pick([0.01, 0.3, 1.4]),
  }));
}

describe('any capture', () => {
  it(`is read into figures, seed ${SEED}`, () => {
    const chance = new RandomStream(SEED, 'any capture');
    const reader = new TouchReader();
    for (let n = 0; n < CAPTURES; n += 1) {
      const rate_Hz = logBetween(chance, 1000, 100_000);
      const length_s = chance.between(0.2, 2.5);
      const start_s = chance.between(-0.3, 0);
      const count = Math.min(60_000, Math.round(rate_Hz * length_s));
      const sounds = anySounds(chance, start_s, count / rate_Hz);
      const touch = reader.read(sounds.map((sound) => soundOf(sound, chance, count, rate_Hz, start_s)), rate_Hz, start_s);
      const figures = [touch.arrival_s, touch.departure_s, ...touch.channels.flatMap((channel) => Object.values(channel))];
      expect(figures.every(Number.isFinite), `capture ${n}: ${JSON.stringify(touch)}`).toBe(true);
    }
  });
});
