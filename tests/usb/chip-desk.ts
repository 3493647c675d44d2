import { setupOf } from '../../host/src/bench/bench.ts';
import { Machine, readImage } from '../../host/src/chip-twin/index.ts';
import { ChipUsbDevice } from './chip-usb-device.ts';
import type { BenchSetup } from '../../host/src/evidence/collect.ts';
import type { UsbDevice } from './usbip/device.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';
import type { Desk, Wish } from './desk.ts';

/** A tester on the desk: the real firmware in the emulated chip, with a pickup on its clips. */
export interface ChipOnDesk {
  readonly serial: string;
  readonly pickup: Pickup;
  readonly seed: number;
  readonly setup: BenchSetup;
}

function onDesk(serial: string, pickup: Pickup | undefined, seed: number): ChipOnDesk {
  if (!pickup) throw new Error('the invented lot is too short');
  return { serial, pickup, seed, setup: setupOf(pickup) };
}

/** Two testers: one with two coils on five clips, one with a single coil, so that its test is short. */
export const CHIPS: Readonly<Record<string, ChipOnDesk>> = {
  chip: onDesk('TWIN-C001', demoLot[0], 11),
  chip2: onDesk('TWIN-C002', demoLot[1], 12),
};

/**
 * Lays the testers down; they run as long as the desk is there.
 * @param elf - the firmware image
 * @returns the devices, to be closed
 */
export async function layChips(desk: Desk, elf: string): Promise<ChipUsbDevice[]> {
  const image = readImage(elf);
  const devices: ChipUsbDevice[] = [];
  for (const [name, { serial, pickup, seed }] of Object.entries(CHIPS)) {
    const device = new ChipUsbDevice(new Machine({ image, pickup, seed, serial, automatic: true }));
    devices.push(device);
    await desk.lay(name, device);
  }
  return devices;
}

const EMPTY = new Uint8Array(0);

/** What the guest may have done to a tester beside pulling its cable. */
export async function fulfilChip(device: ChipUsbDevice, wish: Wish): Promise<unknown> {
  const { machine } = device;
  switch (wish.what) {
    case 'halt': {
      const setFeature = Uint8Array.of(0x02, 3, 0, 0, wish.endpoint as number, 0, 0, 0);
      await device.control(setFeature, EMPTY, new AbortController().signal);
      return null;
    }
    case 'suspend':
      return machine.usb.suspend();
    case 'resume':
      return machine.usb.resume();
    case 'powerOn':
      machine.powerOn();
      device.wake();
      return null;
    case 'complaints':
      return [...machine.complaints, ...machine.chip.complaints];
    default:
      throw new Error(`no tester knows ${wish.what}`);
  }
}

export function isChip(device: UsbDevice): device is ChipUsbDevice {
  return device instanceof ChipUsbDevice;
}
