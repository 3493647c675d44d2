import { STALL } from '../../host/src/chip-twin/usb-transfer.ts';
import type { UsbDevice } from './usbip/device.ts';
import type { Request } from './chapter9.ts';

/** A request whose answer was not the one in the table. */
export interface Deviation {
  readonly what: string;
  readonly setup: string;
  readonly expected: string;
  readonly got: string;
}

/** Asks a device that is plugged in for a whole table, and keeps what differs. */
export async function deviations(device: UsbDevice, table: readonly Request[]): Promise<Deviation[]> {
  const found: Deviation[] = [];
  for (const { what, setup, data, answer } of table) {
    const packet = Uint8Array.from(Buffer.from(setup, 'hex'));
    if (packet.length !== 8) throw new Error(`${what}: ${setup} is not 8 bytes`);
    const never = new AbortController().signal;
    const reply = await device.control(packet, data ?? new Uint8Array(0), never);
    const got = reply === STALL ? 'stall' : Buffer.from(reply).toString('hex');
    const right = typeof answer === 'string' ? got === answer : answer.test(got);
    if (!right) found.push({ what, setup, expected: String(answer), got });
  }
  return found;
}
