/**
 * rp2040js 1.4.1: the setter of the ADC's active channel masks with 12 (the field's shift) instead of 7,
 * so that round robin reads input 0 where it should read 1, 2 or 3.
 */
import type { RP2040 } from 'rp2040js';

const AINSEL_SHIFT = 12;
const AINSEL_MASK = 7;

export function patchAdcRoundRobin(chip: RP2040): void {
  Object.defineProperty(chip.adc, 'activeChannel', {
    get(this: { cs: number }): number {
      return (this.cs >> AINSEL_SHIFT) & AINSEL_MASK;
    },
    set(this: { cs: number }, channel: number) {
      this.cs = (this.cs & ~(AINSEL_MASK << AINSEL_SHIFT)) | ((channel & AINSEL_MASK) << AINSEL_SHIFT);
    },
  });
}
