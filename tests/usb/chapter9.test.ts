import { beforeEach, describe, expect, it } from 'vitest';
import { STALL } from '../../host/src/chip-twin/usb-transfer.ts';
import { deviations } from './ask.ts';
import { requests } from './chapter9.ts';
import { StandIn, VENDOR_PAIR_64 } from './stand-in.ts';

const strings = ['Tapstone', 'Tapstone tester', 'TS-0001'] as const;
const table = requests({
  vendorId: 0x1209,
  productId: 0x0001,
  release_bcd: 0x0010,
  strings,
  reportDescriptor: VENDOR_PAIR_64,
});

let device: StandIn;
beforeEach(async () => {
  device = new StandIn({
    vendorId: 0x1209,
    productId: 0x0001,
    release_bcd: 0x0010,
    manufacturer: strings[0],
    product: strings[1],
    serial: strings[2],
    reportDescriptor: VENDOR_PAIR_64,
    in_bytes: 64,
    out_bytes: 64,
  });
  await device.plugIn();
});

describe('the table of requests of USB 2.0 chapter 9 and HID 1.11 chapter 7', () => {
  it('USB 2.0, table 9-4: asks each of the standard requests that a host sends to a device', () => {
    const standard = table.filter(({ setup }) => (Number.parseInt(setup.slice(0, 2), 16) & 0x60) === 0);
    const asked = new Set(standard.map(({ setup }) => Number.parseInt(setup.slice(2, 4), 16)));
    // SET_ADDRESS (5) is the host controller's own.
    for (const request of [0, 1, 3, 6, 7, 8, 9, 10, 11, 12]) expect(asked).toContain(request);
  });

  it('HID 1.11, 7.2: asks each of the class requests', () => {
    const asked = new Set(table.map(({ setup }) => setup.slice(0, 4)));
    // SET_REPORT is asked with a feature report; with an output report it is the OUT endpoint's twin.
    for (const request of ['a101', 'a102', 'a103', '2109', '210a', '210b']) expect(asked).toContain(request);
  });

  it('is met by the table-driven device', async () => {
    expect(await deviations(device, table)).toEqual([]);
  });

  it('shows a device that answers its device qualifier', async () => {
    const answer = device.control.bind(device);
    device.control = async (setup, data) =>
      setup[1] === 6 && setup[3] === 6 ? Uint8Array.of(10, 6) : answer(setup, data);
    const found = await deviations(device, table);
    expect(found.map(({ what }) => what)).toEqual(['device qualifier: full speed only']);
  });

  it('shows a device that stalls its report descriptor', async () => {
    device.refused.add('81060022');
    const found = await deviations(device, table);
    expect(found).toHaveLength(3);
    expect(found[0]).toMatchObject({ what: 'report descriptor', got: 'stall' });
  });
});

it('a halted endpoint stalls its packets until the halt is cleared', async () => {
  const never = new AbortController().signal;
  const ask = (setup: string): Promise<unknown> =>
    device.control(Uint8Array.from(Buffer.from(setup, 'hex')), new Uint8Array(0));
  await ask('0009010000000000');
  await ask('0203000081000000');
  expect(await device.interruptIn(1, 64, never)).toBe(STALL);
  await ask('0201000081000000');
  device.send(Uint8Array.of(7));
  expect(await device.interruptIn(1, 64, never)).toEqual(Uint8Array.of(7));
});
