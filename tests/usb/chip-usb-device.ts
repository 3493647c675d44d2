/** The emulated chip as a device that the USB/IP server can hand to a kernel. */
import type { Answer } from '../../host/src/chip-twin/usb-transfer.ts';
import type { Machine } from '../../host/src/chip-twin/machine.ts';
import { Runner } from '../../host/src/chip-twin/runner.ts';
import { Report } from '../../host/src/logic/layout.generated.ts';
import { PRODUCT_ID, VENDOR_ID } from '../../host/src/transport/identity.ts';
import type { DeviceSummary, UsbDevice } from './usbip/device.ts';

const HID_INTERFACE = [3, 0, 0] as const;

export class ChipUsbDevice implements UsbDevice {
  readonly summary: DeviceSummary = {
    vendorId: VENDOR_ID, productId: PRODUCT_ID, release_bcd: 0x0010, interfaces: [HID_INTERFACE],
  };
  readonly machine: Machine;
  readonly #runner: Runner;

  constructor(machine: Machine) {
    this.machine = machine;
    this.#runner = new Runner(machine);
    this.#runner.switchOn();
  }

  plugIn(): Promise<void> {
    return this.machine.usb.plugIn();
  }

  pullOut(): void {
    this.machine.usb.pullOut();
  }

  /** Stops the chip for good. */
  close(): void {
    this.machine.usb.pullOut();
    this.#runner.switchOff();
  }

  /** A hand has done something to the machine: lets it go on. */
  wake(): void {
    this.#runner.wake();
  }

  control(setup: Uint8Array, data: Uint8Array, signal: AbortSignal): Promise<Answer> {
    return this.machine.usb.control(setup, data, signal);
  }

  interruptIn(endpoint: number, _length_bytes: number, signal: AbortSignal): Promise<Answer> {
    return this.machine.usb.interruptIn(endpoint, signal);
  }

  interruptOut(endpoint: number, data: Uint8Array, signal: AbortSignal): Promise<Answer> {
    if (data[1] === Report.button) this.machine.hostPressed();
    return this.machine.usb.interruptOut(endpoint, data, signal);
  }
}
