/**
 * What the analysis of a touch costs on the chip: cycles of the very image that is flashed, waiting for the flash included,
 * counted by the emulator, so the same on every machine. At 125 MHz a touch from trigger to verdict aims at 0.3 s.
 */
import { describe, expect, it } from 'vitest';
import { readImage } from '../../host/src/chip-twin/image.ts';
import { Machine } from '../../host/src/chip-twin/machine.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import { productImage } from './images.ts';
import { analyse, clearScenes, faintScenes } from './touches.ts';

const CYCLES_per_ms = 125_000;

describe('a touch on the chip', () => {
  const machine = new Machine({ image: readImage(productImage()), pickup: demoLot[0]!, seed: 1, serial: 'TWIN-C001', automatic: true });
  machine.run(1e8);

  it('is analysed to the same bytes as on the host, in at most 300 ms of 125 MHz where it stands out of the noise', () => {
    for (const scene of clearScenes(6)) {
      const { cycles, equal } = analyse(machine, scene);
      expect(equal).toBe(true);
      expect(cycles).toBeLessThan(300 * CYCLES_per_ms);
    }
  }, 120_000);

  it('takes at most 450 ms when both channels lie in the noise, where every shape is tried', () => {
    for (const scene of faintScenes(4)) {
      const { cycles, equal } = analyse(machine, scene);
      expect(equal).toBe(true);
      expect(cycles).toBeLessThan(450 * CYCLES_per_ms);
    }
  }, 120_000);
});
