/**
 * rp2040js 1.4.1 tells nobody of a STALL, and keeps EP_STALL_ARM over the next SETUP, which the chip clears
 * (RP2040 data sheet 4.1.2.5.2). The simulated host asks here, and each SETUP clears it.
 */
import type { RP2040 } from 'rp2040js';

const EP_STALL_ARM = 0x68;
const EP0_IN = 1 << 0;
const EP0_OUT = 1 << 1;
const BUFFER_STALL = 1 << 11;

export type Stalls = {
  /** Whether a control transfer's data or status stage meets a STALL. */
  control(isIn: boolean): boolean;
  /** Whether an interrupt endpoint is halted. */
  endpoint(endpoint: number, isIn: boolean): boolean;
};

export function patchUsbStall(chip: RP2040): Stalls {
  const { usbCtrl } = chip;
  const send = usbCtrl.sendSetupPacket.bind(usbCtrl);
  usbCtrl.sendSetupPacket = (packet) => {
    usbCtrl.writeUint32(EP_STALL_ARM, 0);
    send(packet);
  };
  const word = (endpoint: number, isIn: boolean): number => {
    return chip.usbDPRAMView.getUint32(0x80 + 8 * endpoint + (isIn ? 0 : 4), true);
  };
  return {
    control(isIn) {
      const armed = usbCtrl.readUint32(EP_STALL_ARM) & (isIn ? EP0_IN : EP0_OUT);
      return armed !== 0 && (word(0, isIn) & BUFFER_STALL) !== 0;
    },
    endpoint: (endpoint, isIn) => (word(endpoint, isIn) & BUFFER_STALL) !== 0,
  };
}
