/**
 * rp2040js 1.4.1 lets firmware take a buffer back at any moment, finishes an abort at once, and shows an OUT buffer as free as soon as
 * it is armed. On silicon an armed buffer belongs to the controller, which may be using it: its control word may be changed only
 * after EP_ABORT was set and EP_ABORT_DONE has answered (RP2040 data sheet 4.1.4, the texts of both registers).
 */
import type { RP2040 } from 'rp2040js';
import type { HeldBuffers } from './usb-in-waits.ts';

const EP_ABORT = 0x60;
const FIRST_CONTROL = 0x80;
const LAST_CONTROL = 0xfc;
const AVAILABLE = 1 << 10;
const OUT_BIT = 4;
/** An endpoint that is in the middle of a packet is idle after it; any time up to a packet's 55 us will do. */
const ABORT_ns = 20e3;

type Insides = { epAbort: number; epAbortDone: number; finishRead(endpoint: number, buffer: Uint8Array): void };

/** @param complain - told when a buffer that the controller may be using is changed */
export function patchUsbAbort(chip: RP2040, held: HeldBuffers, complain: (text: string) => void): void {
  const { usbCtrl, clock, usbDPRAMView: view } = chip;
  const insides = usbCtrl as unknown as Insides;
  const owned = new Set<number>();
  const bitOf = (offset: number): number => 1 << ((offset - FIRST_CONTROL) >> 2);
  const write = usbCtrl.writeUint32.bind(usbCtrl);
  const idle = clock.createAlarm(() => { insides.epAbortDone |= insides.epAbort; });
  usbCtrl.writeUint32 = (offset, value) => {
    if (offset === EP_ABORT) {
      insides.epAbort = value;
      idle.schedule(ABORT_ns);
    } else {
      write(offset, value);
    }
  };
  const update = usbCtrl.DPRAMUpdated.bind(usbCtrl);
  usbCtrl.DPRAMUpdated = (offset, value) => {
    const isControl = offset >= FIRST_CONTROL && offset <= LAST_CONTROL && (offset & 3) === 0;
    if (isControl && owned.delete(offset) && (insides.epAbort & insides.epAbortDone & bitOf(offset)) === 0) {
      const endpoint = (offset - FIRST_CONTROL) >> 3;
      complain(`the ${offset & OUT_BIT ? 'OUT' : 'IN'} buffer of endpoint ${endpoint} was taken from the controller without an abort`);
    }
    if (isControl && value & AVAILABLE) owned.add(offset);
    update(offset, value);
    if (!isControl || !owned.has(offset)) return;
    if (offset & OUT_BIT) view.setUint32(offset, value, true);
    else if ((view.getUint32(offset, true) & AVAILABLE) === 0) owned.delete(offset);
  };
  held.onCollected = (endpoint) => void owned.delete(FIRST_CONTROL + 8 * endpoint);
  const finish = insides.finishRead.bind(usbCtrl);
  insides.finishRead = (endpoint, buffer) => {
    const offset = FIRST_CONTROL + 8 * endpoint + OUT_BIT;
    // Taken back while the packet was on its way: the host hears a NAK and the packet is gone.
    if (!owned.delete(offset)) return;
    view.setUint32(offset, view.getUint32(offset, true) & ~AVAILABLE, true);
    finish(endpoint, buffer);
  };
}
