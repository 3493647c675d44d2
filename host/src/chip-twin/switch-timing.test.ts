import { beforeEach, describe, expect, it } from 'vitest';
import { SwitchTiming } from './switch-timing.ts';

/** Clip 1 on M1, and the same clip on M2. */
const ON_M1 = 0x8;
const ON_M2 = 0x80;

// TI TMUX1308 (SCDS426E): off within 85 ns, on after 26 ns at the earliest.
describe('the time that analogue switches take', () => {
  let told: string[];
  let timing: SwitchTiming;
  beforeEach(() => {
    told = [];
    timing = new SwitchTiming((text) => told.push(text));
  });

  it('makes a clip that moves from one switch to another in one latch lie on both', () => {
    timing.set(ON_M1, 0);
    timing.set(ON_M2, 1000);
    expect(told).toEqual(['switch M2 may close before M1 has opened']);
  });
  it('is kept when the switches are off for 2 us in between, and not when for 10 ns', () => {
    timing.set(ON_M1, 0);
    timing.set(0, 1000);
    timing.set(ON_M2, 3000);
    expect(told).toEqual([]);
    timing.set(0, 4000);
    timing.set(ON_M1, 4010);
    expect(told).toEqual(['switch M1 may close before M2 has opened']);
  });
  it('does not matter for a switch that changes its own address, nor for one that only opens or closes', () => {
    timing.set(0x88, 0);
    timing.set(0x89, 1000);
    timing.set(0x8089, 2000);
    timing.set(0x8080, 3000);
    expect(told).toEqual([]);
  });
});
