import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { UsbipServer } from './server.ts';
import { UsbipClient } from './client.ts';
import { StandIn, VENDOR_PAIR_64 } from '../stand-in.ts';

let device: StandIn;
let server: UsbipServer;
let client: UsbipClient;
let port: number;
let ended: (Error | undefined)[];
let heard: () => void;

beforeEach(async () => {
  device = new StandIn({
    vendorId: 0x1209,
    productId: 0x0001,
    release_bcd: 0x0010,
    manufacturer: 'Tapstone',
    product: 'Tapstone tester',
    serial: 'TS-0001',
    reportDescriptor: VENDOR_PAIR_64,
    in_bytes: 64,
    out_bytes: 64,
    onReport: (report, self) => self.send(report.map((value) => value ^ 0xff)),
  });
  ended = [];
  heard = () => undefined;
  server = new UsbipServer(device, {
    onDetached: (fault) => {
      ended.push(fault);
      heard();
    },
  });
  port = await server.listen();
  client = await UsbipClient.open(port);
});

afterEach(async () => {
  client.close();
  await server.close();
});

const detached = (): Promise<void> =>
  new Promise((resolve) => {
    heard = resolve;
    if (ended.length) resolve();
  });

describe('a device behind a USB/IP server', () => {
  it('is plugged in by the first transfer and answers its descriptor', async () => {
    expect(server.attached).toBe(false);
    const reply = await client.control('80 06 00 01 00 00 12 00').done;
    expect(Buffer.from(reply!.data).toString('hex')).toBe('120100020000004009120100100001020301');
    expect(server.attached).toBe(true);
    expect(device.plugs).toBe(1);
  });

  it('answers a request that it does not know with -32, a stall', async () => {
    const reply = await client.control('80 06 00 06 00 00 0a 00').done;
    expect(reply).toMatchObject({ status: -32, actualLength_bytes: 0 });
  });

  it('keeps an interrupt IN waiting until there is a report', async () => {
    const reading = client.transfer(1, 64);
    let answered = false;
    void reading.done.then(() => {
      answered = true;
    });
    await client.control('80 08 00 00 00 00 01 00').done;
    expect(answered).toBe(false);
    expect(server.pendingTransfers).toBe(1);
    const report = new Uint8Array(64).fill(0x5a);
    await client.transfer(1, report).done;
    expect((await reading.done)!.data).toEqual(new Uint8Array(64).fill(0xa5));
  });

  it('answers reads of one endpoint in the order in which they were asked', async () => {
    const reads = Array.from({ length: 20 }, () => client.transfer(1, 64));
    for (let i = 0; i < 20; i++) await client.transfer(1, new Uint8Array(64).fill(i)).done;
    const first = (await Promise.all(reads.map((read) => read.done))).map((reply) => reply!.data[0]);
    expect(first).toEqual(Array.from({ length: 20 }, (_, i) => i ^ 0xff));
  });

  it('gives a waiting read up with -104 and answers it no more', async () => {
    const reading = client.transfer(1, 64);
    expect(await client.unlink(reading)).toBe(-104);
    expect(await reading.done).toBeNull();
    const next = client.transfer(1, 64);
    await client.transfer(1, new Uint8Array(64)).done;
    expect((await next.done)!.status).toBe(0);
  });

  it('gives a read up that stands behind another one', async () => {
    const front = client.transfer(1, 64);
    const behind = client.transfer(1, 64);
    const given = client.unlink(behind);
    await client.transfer(1, new Uint8Array(64)).done;
    expect((await front.done)!.data[0]).toBe(0xff);
    expect(await given).toBe(-104);
  });

  it('says 0 to an unlink that comes after the answer', async () => {
    const done = client.control('80 08 00 00 00 00 01 00');
    await done.done;
    expect(await client.unlink(done)).toBe(0);
  });

  it('says that a packet was cut when the device sends more than was asked', async () => {
    const reading = client.transfer(1, 64);
    await client.control('80 08 00 00 00 00 01 00').done;
    device.send(new Uint8Array(65));
    expect(await reading.done).toMatchObject({ status: -75, actualLength_bytes: 64 });
  });

  it('delivers a short packet as it is', async () => {
    const reading = client.transfer(1, 64);
    await client.control('80 08 00 00 00 00 01 00').done;
    device.send(new Uint8Array(3));
    expect(await reading.done).toMatchObject({ status: 0, actualLength_bytes: 3 });
  });
});

describe('the cable', () => {
  it('pulled by the server ends the connection, and a new one plugs in afresh', async () => {
    await client.control('00 09 01 00 00 00 00 00').done;
    const reading = client.transfer(1, 64);
    server.pull();
    expect(await reading.done).toBeNull();
    await detached();
    expect(ended).toEqual([undefined]);
    const again = await UsbipClient.open(port);
    const configuration = await again.control('80 08 00 00 00 00 01 00').done;
    expect(configuration!.data).toEqual(Uint8Array.of(0));
    expect(device.plugs).toBe(2);
    again.close();
  });

  it('is pulled as well when nothing has come through it yet', async () => {
    await expect.poll(() => (server.pull(), client.closed.then(() => 'ended'))).toBe('ended');
    expect(device.plugs).toBe(0);
  });

  it('pulled by the kernel is told to the device', async () => {
    await client.control('80 08 00 00 00 00 01 00').done;
    client.close();
    await detached();
    expect(server.attached).toBe(false);
  });

  it('is one: a second kernel is turned away and the first keeps the device', async () => {
    await client.control('80 08 00 00 00 00 01 00').done;
    const second = await UsbipClient.open(port);
    second.control('80 08 00 00 00 00 01 00');
    await second.closed;
    expect((await client.control('80 08 00 00 00 00 01 00').done)!.status).toBe(0);
  });

  it('is pulled from a client that talks nonsense, which is told as the reason', async () => {
    await client.control('80 08 00 00 00 00 01 00').done;
    client.raw(new Uint8Array(48).fill(0));
    await client.closed;
    await detached();
    expect(ended[0]?.message).toMatch(/command 0, expected 1/);
  });

  it('is pulled from a client that keeps a thousand transfers in flight', async () => {
    for (let i = 0; i < 1100; i++) client.transfer(1, 64);
    await client.closed;
    await detached();
    expect(ended[0]?.message).toMatch(/more than 1024 transfers/);
  });
});

describe('the list of devices', () => {
  it('shows the device, and nothing while it is taken', async () => {
    const list = await client.operate({ kind: 'reqDevlist' });
    expect(list).toMatchObject({
      kind: 'repDevlist',
      devices: [{ busid: '1-1', idVendor: 0x1209, idProduct: 1, speed: 2, interfaces: [[3, 0, 0]] }],
    });
    const taking = await UsbipClient.open(port);
    const taken = await taking.operate({ kind: 'reqImport', busid: '1-1' });
    expect(taken).toMatchObject({ kind: 'repImport', status: 0, device: { idVendor: 0x1209 } });
    expect((await taking.control('80 08 00 00 00 00 01 00').done)!.status).toBe(0);
    const late = await UsbipClient.open(port);
    expect(await late.operate({ kind: 'reqDevlist' })).toMatchObject({ devices: [] });
    const refused = await UsbipClient.open(port);
    expect(await refused.operate({ kind: 'reqImport', busid: '1-1' })).toMatchObject({ status: 1 });
    taking.close();
  });

  it('refuses a device that it does not have', async () => {
    expect(await client.operate({ kind: 'reqImport', busid: '3-2' })).toMatchObject({ status: 1 });
  });
});
