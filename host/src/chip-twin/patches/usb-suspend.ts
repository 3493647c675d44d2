/**
 * rp2040js 1.4.1 knows no suspend and no resume in device mode, and SIE_STATUS.SUSPENDED does not clear by
 * writing a one. This lets the simulated host cause both, and clears the bit as on silicon.
 */
import type { RP2040 } from 'rp2040js';

const SIE_STATUS = 0x50;
const SUSPENDED = 1 << 4;
const RESUME = 1 << 11;

type Insides = { sieStatus: number; rawWriteValue: number; sieStatusUpdated(): void };

export type BusPower = { suspend(): void; resume(): void };

export function patchUsbSuspend(chip: RP2040): BusPower {
  const { usbCtrl } = chip;
  const insides = usbCtrl as unknown as Insides;
  const write = usbCtrl.writeUint32.bind(usbCtrl);
  usbCtrl.writeUint32 = (offset, value) => {
    if (offset === SIE_STATUS && insides.rawWriteValue & SUSPENDED) insides.sieStatus &= ~SUSPENDED;
    write(offset, value);
  };
  const raise = (bit: number): void => {
    insides.sieStatus |= bit;
    insides.sieStatusUpdated();
  };
  return { suspend: () => raise(SUSPENDED), resume: () => raise(RESUME) };
}
