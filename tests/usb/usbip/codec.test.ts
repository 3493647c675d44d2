import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  Command,
  HEADER_bytes,
  Op,
  ReplyParser,
  RequestParser,
  Status,
  TRANSFER_bytes_max,
  USBIP_VERSION,
  UsbipError,
  encodeOpReply,
  encodeOpRequest,
  encodeRetSubmit,
  encodeRetUnlink,
  encodeSubmit,
  encodeUnlink,
} from './codec.ts';
import type { ListedDevice, OpReply, OpRequest, RetSubmit, RetUnlink, Submit, Unlink } from './codec.ts';

const bytes = (hex: string): Uint8Array => Uint8Array.from(Buffer.from(hex.replace(/\s/g, ''), 'hex'));
const hex = (data: Uint8Array): string => Buffer.from(data).toString('hex');

// Linux kernel documentation, "USB/IP protocol", EXAMPLE: captured from the wire with HID payload.
const CMD_INTR_IN = bytes(
  '00000001 00000d05 0001000f 00000001 00000001 00000200 00000040 ffffffff 00000000 00000004 00000000 00000000',
);
const OUT_PAYLOAD = bytes(`ffffffff860008a784ce5ae212376300${'00'.repeat(48)}`);
const CMD_INTR_OUT = bytes(
  '00000001 00000d06 0001000f 00000000 00000001 00000000 00000040 ffffffff 00000000 00000004 00000000 00000000' +
    hex(OUT_PAYLOAD),
);
const RET_INTR_OUT = bytes(
  '00000003 00000d06 00000000 00000000 00000000 00000000 00000040 ffffffff 00000000 00000000 00000000 00000000',
);
const IN_PAYLOAD = bytes(`ffffffff860011a784ce5ae2123763612891b1020100000400${'00'.repeat(39)}`);
const RET_INTR_IN = bytes(
  '00000003 00000d05 00000000 00000000 00000000 00000000 00000040 ffffffff 00000000 00000000 00000000 00000000' +
    hex(IN_PAYLOAD),
);

describe('the capture in the Linux kernel documentation, "USB/IP protocol", EXAMPLE', () => {
  it('is an interrupt IN of 64 bytes on device 1-15, endpoint 1, every 4 frames, as transfer 3333', () => {
    const [message] = new RequestParser().push(CMD_INTR_IN);
    expect(message).toMatchObject({
      kind: 'submit',
      seqnum: 3333,
      devid: (1 << 16) | 15,
      direction: 'in',
      endpoint: 1,
      transferFlags: 0x200,
      length_bytes: 64,
      interval: 4,
      data: new Uint8Array(0),
    });
  });

  it('is then an interrupt OUT of 64 bytes as transfer 3334', () => {
    const [message] = new RequestParser().push(CMD_INTR_OUT);
    expect(message).toMatchObject({ seqnum: 3334, direction: 'out', endpoint: 1, length_bytes: 64 });
    expect((message as Submit).data).toEqual(OUT_PAYLOAD);
  });

  it('has its answers, the one to OUT without data', () => {
    const asked = new Map<number, 'in' | 'out'>([
      [3333, 'in'],
      [3334, 'out'],
    ]);
    const parser = new ReplyParser((seqnum) => asked.get(seqnum));
    const both = new Uint8Array([...RET_INTR_OUT, ...RET_INTR_IN]);
    expect(parser.push(both)).toEqual([
      { kind: 'retSubmit', seqnum: 3334, status: 0, actualLength_bytes: 64, data: new Uint8Array(0) },
      { kind: 'retSubmit', seqnum: 3333, status: 0, actualLength_bytes: 64, data: IN_PAYLOAD },
    ]);
  });

  it('is what we send, but for the start frame and packet count that it holds in each other\'s place', () => {
    // The capture has ffffffff at 28 and 0 at 32; the page's own table says 32 is "0xffffffff if not
    // ISO transfer". Linux reads both either way.
    const swapped = (capture: Uint8Array): string =>
      hex(capture.slice(0, 28)) + hex(capture.slice(32, 36)) + hex(capture.slice(28, 32)) + hex(capture.slice(36));
    const setup = new Uint8Array(8);
    const head = { devid: (1 << 16) | 15, endpoint: 1, length_bytes: 64, startFrame: 0, interval: 4, setup };
    const asked = encodeSubmit({
      ...head,
      seqnum: 3333,
      direction: 'in',
      transferFlags: 0x200,
      data: new Uint8Array(0),
    });
    const told = encodeSubmit({
      ...head,
      seqnum: 3334,
      direction: 'out',
      transferFlags: 0,
      data: OUT_PAYLOAD,
    });
    expect(hex(asked)).toBe(swapped(CMD_INTR_IN));
    expect(hex(told)).toBe(swapped(CMD_INTR_OUT));
    const ok = { status: 0, actualLength_bytes: 64 };
    expect(hex(encodeRetSubmit({ ...ok, seqnum: 3333, data: IN_PAYLOAD }))).toBe(swapped(RET_INTR_IN));
    expect(hex(encodeRetSubmit({ ...ok, seqnum: 3334, data: new Uint8Array(0) }))).toBe(
      swapped(RET_INTR_OUT),
    );
  });
});

it('Linux kernel documentation, "USB/IP protocol": codes, version, header size and unlink status', () => {
  expect(USBIP_VERSION).toBe(0x0111);
  expect(Op).toEqual({ reqDevlist: 0x8005, repDevlist: 0x0005, reqImport: 0x8003, repImport: 0x0003 });
  expect(Command).toEqual({ submit: 1, unlink: 2, retSubmit: 3, retUnlink: 4 });
  expect(HEADER_bytes).toBe(48);
  // include/uapi/asm-generic/errno.h: EPIPE 32, EOVERFLOW 75, ECONNRESET 104.
  expect(Status).toEqual({ ok: 0, stalled: -32, overflowed: -75, unlinked: -104 });
});

it('an import is asked by 8 + 32 bytes, and a device is shown by 312 bytes, 4 more per interface', () => {
  expect(hex(encodeOpRequest({ kind: 'reqDevlist' }))).toBe('0111800500000000');
  expect(hex(encodeOpRequest({ kind: 'reqImport', busid: '1-1' }))).toBe(
    `0111800300000000312d31${'00'.repeat(29)}`,
  );
  const device: ListedDevice = {
    path: '/a',
    busid: '1-1',
    busnum: 1,
    devnum: 2,
    speed: 2,
    idVendor: 0x1209,
    idProduct: 1,
    bcdDevice: 0x0010,
    deviceClass: [0, 0, 0],
    configurationValue: 1,
    numConfigurations: 1,
    numInterfaces: 1,
    interfaces: [[3, 0, 0]],
  };
  const list = encodeOpReply({ kind: 'repDevlist', status: 0, devices: [device] });
  expect(list.length).toBe(12 + 312 + 4);
  expect(hex(list.subarray(0, 12))).toBe('011100050000000000000001');
  expect(hex(list.subarray(12 + 288))).toBe('0000000100000002000000021209000100100000000101010' + '3000000');
  const taken = encodeOpReply({ kind: 'repImport', status: 0, device });
  expect(taken.length).toBe(8 + 312);
  expect(encodeOpReply({ kind: 'repImport', status: 1, device: null }).length).toBe(8);
});

const u32 = fc.nat(0xffff_ffff);
const byte = fc.nat(255);
const triple = fc.tuple(byte, byte, byte);
const head = { seqnum: u32, devid: u32, endpoint: fc.nat(15) };
const submit: fc.Arbitrary<Submit> = fc
  .tuple(
    fc.record({ ...head, transferFlags: u32, startFrame: u32, interval: u32 }),
    fc.uint8Array({ minLength: 8, maxLength: 8 }),
    fc.oneof(fc.uint8Array({ maxLength: 200 }), fc.nat(TRANSFER_bytes_max)),
  )
  .map(([fields, setup, load]) => ({
    kind: 'submit' as const,
    ...fields,
    setup,
    direction: typeof load === 'number' ? ('in' as const) : ('out' as const),
    length_bytes: typeof load === 'number' ? load : load.length,
    data: typeof load === 'number' ? new Uint8Array(0) : load,
  }));
const unlink: fc.Arbitrary<Unlink> = fc.record({
  kind: fc.constant('unlink' as const),
  ...head,
  direction: fc.constantFrom('in' as const, 'out' as const),
  unlinkSeqnum: u32,
});
const name = fc.stringMatching(/^[\x20-\x7e]{0,31}$/);
const opRequest: fc.Arbitrary<OpRequest> = fc.oneof(
  fc.constant({ kind: 'reqDevlist' as const }),
  name.map((busid) => ({ kind: 'reqImport' as const, busid })),
);
const device = fc
  .record({
    ...{ path: name, busid: name, busnum: u32, devnum: u32, speed: u32 },
    ...{ idVendor: fc.nat(0xffff), idProduct: fc.nat(0xffff), bcdDevice: fc.nat(0xffff) },
    ...{ deviceClass: triple, configurationValue: byte, numConfigurations: byte },
    interfaces: fc.array(triple, { maxLength: 4 }),
  })
  .map((fields) => ({ ...fields, numInterfaces: fields.interfaces.length }));
const opReply: fc.Arbitrary<OpReply> = fc.oneof(
  fc.array(device, { maxLength: 3 }).map((devices) => ({ kind: 'repDevlist' as const, status: 0, devices })),
  device.map(({ interfaces: _, ...taken }) => ({ kind: 'repImport' as const, status: 0, device: taken })),
  fc.integer({ min: 1, max: 5 }).map((status) => ({ kind: 'repImport' as const, status, device: null })),
);
const i32 = fc.integer({ min: -0x8000_0000, max: 0x7fff_ffff });

function encode(message: OpRequest | Submit | Unlink): Uint8Array {
  if (message.kind === 'submit') return encodeSubmit(message);
  return message.kind === 'unlink' ? encodeUnlink(message) : encodeOpRequest(message);
}

function encodeAnswer(message: OpReply | RetSubmit | RetUnlink): Uint8Array {
  if (message.kind === 'retSubmit') return encodeRetSubmit(message);
  return message.kind === 'retUnlink' ? encodeRetUnlink(message) : encodeOpReply(message);
}

/** Hands the stream over in the given cuts. */
function inChunks<T>(stream: Uint8Array, cuts: readonly number[], push: (chunk: Uint8Array) => T[]): T[] {
  const out: T[] = [];
  let from = 0;
  for (let i = 0; from < stream.length; i++) {
    const to = from + 1 + (cuts[i % Math.max(1, cuts.length)] ?? stream.length);
    out.push(...push(stream.subarray(from, to)));
    from = to;
  }
  return out;
}

const join = (parts: readonly Uint8Array[]): Uint8Array => Uint8Array.from(parts.flatMap((part) => [...part]));

describe('a stream of messages', () => {
  it('comes back whole from any cut into chunks, requests', () => {
    fc.assert(
      fc.property(fc.array(fc.oneof(submit, unlink, opRequest), { maxLength: 6 }), fc.array(fc.nat(120)), (messages, cuts) => {
        const parser = new RequestParser();
        const got = inChunks(join(messages.map(encode)), cuts, (chunk) => parser.push(chunk));
        expect(got).toEqual(messages);
        expect(parser.pending_bytes).toBe(0);
      }),
    );
  });

  it('comes back whole from any cut into chunks, replies', () => {
    const retSubmit = fc
      .record({ seqnum: u32, status: i32, load: fc.oneof(fc.uint8Array({ maxLength: 100 }), fc.nat(500)) })
      .map(({ seqnum, status, load }) => ({
        kind: 'retSubmit' as const,
        // Even transfers are IN here, odd ones OUT.
        seqnum: typeof load === 'number' ? (seqnum | 1) >>> 0 : (seqnum & ~1) >>> 0,
        status,
        actualLength_bytes: typeof load === 'number' ? load : load.length,
        data: typeof load === 'number' ? new Uint8Array(0) : load,
      }));
    const retUnlink = fc.record({ kind: fc.constant('retUnlink' as const), seqnum: u32, status: i32 });
    fc.assert(
      fc.property(fc.array(fc.oneof(retSubmit, retUnlink, opReply), { maxLength: 5 }), fc.array(fc.nat(120)), (messages, cuts) => {
        const parser = new ReplyParser((seqnum) => (seqnum & 1 ? 'out' : 'in'));
        const got = inChunks(join(messages.map(encodeAnswer)), cuts, (chunk) => parser.push(chunk));
        expect(got).toEqual(messages);
        expect(parser.pending_bytes).toBe(0);
      }),
    );
  });

  it('of random bytes is refused by a UsbipError or waits for more, never anything else', () => {
    const start = fc.constantFrom('', '00000001', '00000002', '00000003', '01118003', '01110005', '01110003');
    fc.assert(
      fc.property(start, fc.uint8Array({ maxLength: 400 }), (prefix, noise) => {
        for (const parser of [new RequestParser(), new ReplyParser((n) => (n & 1 ? 'in' : undefined))]) {
          try {
            parser.push(bytes(prefix));
            parser.push(noise);
          } catch (error) {
            expect(error).toBeInstanceOf(UsbipError);
          }
          expect(parser.pending_bytes).toBeLessThanOrEqual(HEADER_bytes + TRANSFER_bytes_max);
        }
      }),
      { numRuns: 2000 },
    );
  });
});

describe('a message that is refused', () => {
  const altered = (at: number, value: string): Uint8Array => {
    const copy = CMD_INTR_IN.slice();
    copy.set(bytes(value), at);
    return copy;
  };
  it.each([
    ['a command other than submit and unlink', altered(0, '00000005'), /command 5, expected 1/],
    ['a direction other than 0 and 1', altered(12, '00000002'), /direction is 2/],
    ['an endpoint above 15', altered(16, '00000010'), /endpoint 16/],
    ['more than 64 KiB in one transfer', altered(24, '00010001'), /65537 bytes/],
    ['isochronous packets', altered(32, '00000003'), /3 isochronous packets/],
    ['another version', bytes('0112800500000000'), /version 112, expected 111/],
    ['another operation', bytes('0111800700000000'), /operation 8007/],
  ])('%s', (_, stream, sentence) => {
    expect(() => new RequestParser().push(stream)).toThrow(sentence);
  });

  it('an answer to a transfer that was never asked', () => {
    expect(() => new ReplyParser(() => undefined).push(RET_INTR_IN)).toThrow(/transfer 3333/);
  });

  it('a name without room for its final zero, a setup of 7 bytes, an OUT without its bytes: never sent', () => {
    expect(() => encodeOpRequest({ kind: 'reqImport', busid: 'x'.repeat(32) })).toThrow(RangeError);
    const fields = { seqnum: 1, devid: 1, endpoint: 0, transferFlags: 0, startFrame: 0, interval: 0 };
    const data = new Uint8Array(0);
    const short = { ...fields, direction: 'in' as const, length_bytes: 0, setup: new Uint8Array(7), data };
    expect(() => encodeSubmit(short)).toThrow(/8 bytes/);
    const empty = { ...fields, direction: 'out' as const, length_bytes: 5, setup: new Uint8Array(8), data };
    expect(() => encodeSubmit(empty)).toThrow(/as many bytes/);
  });
});
