/**
 * rp2040js 1.4.1: an IN buffer counts as collected the moment it is armed, host or no host. Silicon keeps
 * it until the host asks (and NAKs until it is there), so firmware would never meet "endpoint busy".
 */
import type { RP2040 } from 'rp2040js';

const FIRST_IN_CONTROL = 0x88;
const LAST_IN_CONTROL = 0xf8;
const OUT_BIT = 4;
const AVAILABLE = 1 << 10;

/** Endpoints whose IN buffer is full and waits for the host. */
export type HeldBuffers = {
  /** Lets the host collect an endpoint's buffer. @returns false when none waits (or it was withdrawn) */
  release(endpoint: number): boolean;
  has(endpoint: number): boolean;
  /** Called when a buffer begins to wait. */
  onHeld: (endpoint: number) => void;
  /** Called when the host has collected a buffer. */
  onCollected: (endpoint: number) => void;
};

export function patchUsbInWaits(chip: RP2040): HeldBuffers {
  const { usbCtrl } = chip;
  const collect = usbCtrl.DPRAMUpdated.bind(usbCtrl);
  const word = (offset: number): number => chip.usbDPRAMView.getUint32(offset, true);
  const offsetOf = (endpoint: number): number => 0x80 + 8 * endpoint;
  const held: HeldBuffers = {
    has: (endpoint) => (word(offsetOf(endpoint)) & AVAILABLE) !== 0,
    release(endpoint) {
      if (!held.has(endpoint)) return false;
      held.onCollected(endpoint);
      collect(offsetOf(endpoint), word(offsetOf(endpoint)));
      return true;
    },
    onHeld: () => {},
    onCollected: () => {},
  };
  usbCtrl.DPRAMUpdated = (offset, value) => {
    const isIn = offset >= FIRST_IN_CONTROL && offset <= LAST_IN_CONTROL && (offset & OUT_BIT) === 0;
    if (isIn && value & AVAILABLE) held.onHeld((offset - 0x80) >> 3);
    else collect(offset, value);
  };
  return held;
}
