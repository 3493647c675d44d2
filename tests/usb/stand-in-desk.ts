import { MANUFACTURER, PRODUCT, PRODUCT_ID, VENDOR_ID } from '../../host/src/transport/identity.ts';
import type { UsbDevice } from './usbip/device.ts';
import type { Desk, Wish } from './desk.ts';
import { SAMPLE_MOUSE, StandIn, VENDOR_PAIR_64 } from './stand-in.ts';
import type { StandInOptions } from './stand-in.ts';

/** First byte of a report to a stand-in: answer it, or send as many reports as bytes 1 and 2 say. */
export const Ask = { echo: 0, burst: 1 } as const;

function answer(report: Uint8Array, device: StandIn): void {
  if (report[0] === Ask.echo) {
    device.send(report);
    return;
  }
  const count = report[1]! | (report[2]! << 8);
  for (let i = 0; i < count; i++) {
    const numbered = new Uint8Array(64);
    numbered.set([Ask.burst, i & 0xff, i >> 8]);
    device.send(numbered);
  }
}

function testerLike(serial: string, change: Partial<StandInOptions> = {}): StandIn {
  return new StandIn({
    vendorId: VENDOR_ID,
    productId: PRODUCT_ID,
    release_bcd: 0x0010,
    manufacturer: MANUFACTURER,
    product: PRODUCT,
    serial,
    reportDescriptor: VENDOR_PAIR_64,
    in_bytes: 64,
    out_bytes: 64,
    onReport: answer,
    ...change,
  });
}

/** Lays down devices that answer from tables: two like a tester, and two that are none. */
export async function layStandIns(desk: Desk): Promise<void> {
  await desk.lay('first', testerLike('TS-0001'));
  await desk.lay('second', testerLike('TS-0002'));
  await desk.lay('impostor', testerLike('B-17', { manufacturer: 'Somebody', product: 'Blinker' }));
  await desk.lay(
    'mouse',
    testerLike('M-1', {
      vendorId: 0x1209,
      productId: 0x0002,
      manufacturer: 'Somebody',
      product: 'Mouse',
      reportDescriptor: SAMPLE_MOUSE,
      in_bytes: 3,
      out_bytes: 0,
    }),
  );
}

/** What the guest may have done to a stand-in. */
export function fulfilStandIn(device: UsbDevice, wish: Wish): unknown {
  if (!(device instanceof StandIn)) throw new Error(`${wish.device} is not a stand-in`);
  switch (wish.what) {
    case 'setups':
      return device.setups;
    case 'send':
      return device.send(new Uint8Array(wish.length_bytes as number).fill(0x5a));
    case 'halt':
      device.halted.add(wish.endpoint as number);
      return null;
    case 'halted':
      return device.halted.has(wish.endpoint as number);
    case 'refuse':
      device.refused.add(wish.setup as string);
      return null;
    case 'accept':
      device.refused.clear();
      return null;
    default:
      throw new Error(`no stand-in knows ${wish.what}`);
  }
}
