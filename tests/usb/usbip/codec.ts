/**
 * USB/IP messages to bytes and back. Header fields are big-endian; the 8 setup bytes are as on the
 * bus (little-endian words) and are carried unread.
 * @see Linux kernel documentation, "USB/IP protocol"
 */

export const USBIP_VERSION = 0x0111;

export const Op = {
  reqImport: 0x8003,
  repImport: 0x0003,
  reqDevlist: 0x8005,
  repDevlist: 0x0005,
} as const;

export const Command = { submit: 1, unlink: 2, retSubmit: 3, retUnlink: 4 } as const;

/** Negative errno values of Linux that the status fields carry. */
export const Status = { ok: 0, stalled: -32, overflowed: -75, unlinked: -104 } as const;

export const HEADER_bytes = 48;
const OP_HEADER_bytes = 8;
const BUSID_bytes = 32;
const PATH_bytes = 256;
const DEVICE_bytes = 312;
/** More than any transfer of a full-speed HID device (a report descriptor has at most 4096). */
export const TRANSFER_bytes_max = 65_536;
/** number_of_packets of a transfer that is not isochronous. */
const NOT_ISOCHRONOUS = 0xffff_ffff;

export interface UsbipDevice {
  readonly path: string;
  readonly busid: string;
  readonly busnum: number;
  readonly devnum: number;
  readonly speed: number;
  readonly idVendor: number;
  readonly idProduct: number;
  readonly bcdDevice: number;
  readonly deviceClass: readonly [number, number, number];
  readonly configurationValue: number;
  readonly numConfigurations: number;
  readonly numInterfaces: number;
}

export interface ListedDevice extends UsbipDevice {
  readonly interfaces: readonly (readonly [number, number, number])[];
}

export interface Submit {
  readonly kind: 'submit';
  readonly seqnum: number;
  readonly devid: number;
  readonly direction: 'in' | 'out';
  readonly endpoint: number;
  readonly transferFlags: number;
  readonly length_bytes: number;
  readonly startFrame: number;
  readonly interval: number;
  readonly setup: Uint8Array;
  /** Empty for IN. */
  readonly data: Uint8Array;
}

export interface Unlink {
  readonly kind: 'unlink';
  readonly seqnum: number;
  readonly devid: number;
  readonly direction: 'in' | 'out';
  readonly endpoint: number;
  readonly unlinkSeqnum: number;
}

export interface RetSubmit {
  readonly kind: 'retSubmit';
  readonly seqnum: number;
  readonly status: number;
  readonly actualLength_bytes: number;
  /** Empty for OUT. */
  readonly data: Uint8Array;
}

export interface RetUnlink {
  readonly kind: 'retUnlink';
  readonly seqnum: number;
  readonly status: number;
}

export type OpRequest =
  | { readonly kind: 'reqDevlist' }
  | { readonly kind: 'reqImport'; readonly busid: string };
export type OpReply =
  | { readonly kind: 'repDevlist'; readonly status: number; readonly devices: readonly ListedDevice[] }
  | { readonly kind: 'repImport'; readonly status: number; readonly device: UsbipDevice | null };

/** A byte stream that is no USB/IP: the connection cannot be read any further. */
export class UsbipError extends Error {}

const EMPTY = new Uint8Array(0);

function viewOf(bytes: Uint8Array): DataView {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

function writeText(bytes: Uint8Array, offset: number, size_bytes: number, text: string): void {
  const encoded = new TextEncoder().encode(text);
  if (encoded.length >= size_bytes) {
    throw new RangeError(`"${text}" does not fit into ${size_bytes} bytes with its final zero`);
  }
  bytes.set(encoded, offset);
}

function readText(bytes: Uint8Array, offset: number, size_bytes: number): string {
  const field = bytes.subarray(offset, offset + size_bytes);
  const end = field.indexOf(0);
  return new TextDecoder().decode(end < 0 ? field : field.subarray(0, end));
}

function basicHeader(command: number, seqnum: number, size_bytes: number): Uint8Array {
  const bytes = new Uint8Array(size_bytes);
  const view = viewOf(bytes);
  view.setUint32(0, command);
  view.setUint32(4, seqnum);
  return bytes;
}

/** @returns the 48-byte header, followed by the data of an OUT transfer */
export function encodeSubmit(message: Omit<Submit, 'kind'>): Uint8Array {
  if (message.setup.length !== 8) throw new RangeError('a setup packet has 8 bytes');
  const carried = message.direction === 'out' ? message.data : EMPTY;
  if (message.direction === 'out' && carried.length !== message.length_bytes) {
    throw new RangeError('an OUT transfer carries as many bytes as its length says');
  }
  const bytes = basicHeader(Command.submit, message.seqnum, HEADER_bytes + carried.length);
  const view = viewOf(bytes);
  view.setUint32(8, message.devid);
  view.setUint32(12, message.direction === 'in' ? 1 : 0);
  view.setUint32(16, message.endpoint);
  view.setUint32(20, message.transferFlags);
  view.setUint32(24, message.length_bytes);
  view.setUint32(28, message.startFrame);
  view.setUint32(32, NOT_ISOCHRONOUS);
  view.setUint32(36, message.interval);
  bytes.set(message.setup, 40);
  bytes.set(carried, HEADER_bytes);
  return bytes;
}

/** @returns the 48 bytes that ask for a pending transfer to be given up */
export function encodeUnlink(message: Omit<Unlink, 'kind'>): Uint8Array {
  const bytes = basicHeader(Command.unlink, message.seqnum, HEADER_bytes);
  const view = viewOf(bytes);
  view.setUint32(8, message.devid);
  view.setUint32(12, message.direction === 'in' ? 1 : 0);
  view.setUint32(16, message.endpoint);
  view.setUint32(20, message.unlinkSeqnum);
  return bytes;
}

/** @returns the 48-byte header, followed by the data of an IN transfer */
export function encodeRetSubmit(message: Omit<RetSubmit, 'kind'>): Uint8Array {
  const bytes = basicHeader(Command.retSubmit, message.seqnum, HEADER_bytes + message.data.length);
  const view = viewOf(bytes);
  view.setInt32(20, message.status);
  view.setUint32(24, message.actualLength_bytes);
  view.setUint32(32, NOT_ISOCHRONOUS);
  bytes.set(message.data, HEADER_bytes);
  return bytes;
}

/** @returns the 48 bytes that answer an unlink */
export function encodeRetUnlink(message: Omit<RetUnlink, 'kind'>): Uint8Array {
  const bytes = basicHeader(Command.retUnlink, message.seqnum, HEADER_bytes);
  viewOf(bytes).setInt32(20, message.status);
  return bytes;
}

function opHeader(code: number, status: number, size_bytes: number): Uint8Array {
  const bytes = new Uint8Array(size_bytes);
  const view = viewOf(bytes);
  view.setUint16(0, USBIP_VERSION);
  view.setUint16(2, code);
  view.setUint32(4, status);
  return bytes;
}

function writeDevice(bytes: Uint8Array, offset: number, device: UsbipDevice): void {
  const view = viewOf(bytes);
  writeText(bytes, offset, PATH_bytes, device.path);
  writeText(bytes, offset + 256, BUSID_bytes, device.busid);
  view.setUint32(offset + 288, device.busnum);
  view.setUint32(offset + 292, device.devnum);
  view.setUint32(offset + 296, device.speed);
  view.setUint16(offset + 300, device.idVendor);
  view.setUint16(offset + 302, device.idProduct);
  view.setUint16(offset + 304, device.bcdDevice);
  bytes.set(device.deviceClass, offset + 306);
  bytes[offset + 309] = device.configurationValue;
  bytes[offset + 310] = device.numConfigurations;
  bytes[offset + 311] = device.numInterfaces;
}

function readDevice(bytes: Uint8Array, offset: number): UsbipDevice {
  const view = viewOf(bytes);
  return {
    path: readText(bytes, offset, PATH_bytes),
    busid: readText(bytes, offset + 256, BUSID_bytes),
    busnum: view.getUint32(offset + 288),
    devnum: view.getUint32(offset + 292),
    speed: view.getUint32(offset + 296),
    idVendor: view.getUint16(offset + 300),
    idProduct: view.getUint16(offset + 302),
    bcdDevice: view.getUint16(offset + 304),
    deviceClass: [view.getUint8(offset + 306), view.getUint8(offset + 307), view.getUint8(offset + 308)],
    configurationValue: view.getUint8(offset + 309),
    numConfigurations: view.getUint8(offset + 310),
    numInterfaces: view.getUint8(offset + 311),
  };
}

/** @returns what a client sends before any transfer */
export function encodeOpRequest(request: OpRequest): Uint8Array {
  if (request.kind === 'reqDevlist') return opHeader(Op.reqDevlist, 0, OP_HEADER_bytes);
  const bytes = opHeader(Op.reqImport, 0, OP_HEADER_bytes + BUSID_bytes);
  writeText(bytes, OP_HEADER_bytes, BUSID_bytes, request.busid);
  return bytes;
}

/** @returns the server's answer: the list of its devices, or the one that was asked for */
export function encodeOpReply(reply: OpReply): Uint8Array {
  if (reply.kind === 'repImport') {
    const size_bytes = OP_HEADER_bytes + (reply.device ? DEVICE_bytes : 0);
    const bytes = opHeader(Op.repImport, reply.status, size_bytes);
    if (reply.device) writeDevice(bytes, OP_HEADER_bytes, reply.device);
    return bytes;
  }
  const size_bytes = reply.devices.reduce(
    (sum, device) => sum + DEVICE_bytes + 4 * device.interfaces.length,
    OP_HEADER_bytes + 4,
  );
  const bytes = opHeader(Op.repDevlist, reply.status, size_bytes);
  viewOf(bytes).setUint32(OP_HEADER_bytes, reply.devices.length);
  let offset = OP_HEADER_bytes + 4;
  for (const device of reply.devices) {
    writeDevice(bytes, offset, { ...device, numInterfaces: device.interfaces.length });
    offset += DEVICE_bytes;
    for (const triple of device.interfaces) {
      bytes.set(triple, offset);
      offset += 4;
    }
  }
  return bytes;
}

/** One parsed message and the bytes it took; null while there are too few bytes. */
type Parsed<T> = { readonly message: T; readonly used_bytes: number } | null;

function direction(view: DataView): 'in' | 'out' {
  const value = view.getUint32(12);
  if (value > 1) throw new UsbipError(`direction is ${value}, expected 0 (OUT) or 1 (IN)`);
  return value === 1 ? 'in' : 'out';
}

function bounded(length_bytes: number): number {
  if (length_bytes > TRANSFER_bytes_max) {
    throw new UsbipError(`a transfer of ${length_bytes} bytes, expected ${TRANSFER_bytes_max} at most`);
  }
  return length_bytes;
}

function refuseIsochronous(view: DataView): void {
  const packets = view.getUint32(32);
  if (packets !== 0 && packets !== NOT_ISOCHRONOUS) {
    throw new UsbipError(`${packets} isochronous packets, expected none`);
  }
}

/** @throws UsbipError for a stream that no client of ours would send */
function parseRequest(bytes: Uint8Array): Parsed<OpRequest | Submit | Unlink> {
  if (bytes.length < 4) return null;
  const view = viewOf(bytes);
  if (view.getUint16(0) !== 0) return parseOpRequest(bytes, view);
  const command = view.getUint32(0);
  if (command !== Command.submit && command !== Command.unlink) {
    throw new UsbipError(`command ${command}, expected 1 (submit) or 2 (unlink)`);
  }
  if (bytes.length < HEADER_bytes) return null;
  const head = {
    seqnum: view.getUint32(4),
    devid: view.getUint32(8),
    direction: direction(view),
    endpoint: view.getUint32(16),
  };
  if (head.endpoint > 15) throw new UsbipError(`endpoint ${head.endpoint}, expected 0 to 15`);
  if (command === Command.unlink) {
    const message: Unlink = { kind: 'unlink', ...head, unlinkSeqnum: view.getUint32(20) };
    return { message, used_bytes: HEADER_bytes };
  }
  refuseIsochronous(view);
  const length_bytes = bounded(view.getUint32(24));
  const used_bytes = HEADER_bytes + (head.direction === 'out' ? length_bytes : 0);
  if (bytes.length < used_bytes) return null;
  const message: Submit = {
    kind: 'submit',
    ...head,
    transferFlags: view.getUint32(20),
    length_bytes,
    startFrame: view.getUint32(28),
    interval: view.getUint32(36),
    setup: bytes.slice(40, 48),
    data: bytes.slice(HEADER_bytes, used_bytes),
  };
  return { message, used_bytes };
}

function parseOpRequest(bytes: Uint8Array, view: DataView): Parsed<OpRequest> {
  const version = view.getUint16(0);
  if (version !== USBIP_VERSION) {
    throw new UsbipError(`version ${version.toString(16)}, expected ${USBIP_VERSION.toString(16)}`);
  }
  const code = view.getUint16(2);
  if (code === Op.reqDevlist) {
    if (bytes.length < OP_HEADER_bytes) return null;
    return { message: { kind: 'reqDevlist' }, used_bytes: OP_HEADER_bytes };
  }
  if (code !== Op.reqImport) {
    throw new UsbipError(`operation ${code.toString(16)}, expected 8003 (import) or 8005 (list)`);
  }
  const used_bytes = OP_HEADER_bytes + BUSID_bytes;
  if (bytes.length < used_bytes) return null;
  const busid = readText(bytes, OP_HEADER_bytes, BUSID_bytes);
  return { message: { kind: 'reqImport', busid }, used_bytes };
}

/** @param directionOf - direction of the transfer that a seqnum named, undefined for none */
function parseReply(
  bytes: Uint8Array,
  directionOf: (seqnum: number) => 'in' | 'out' | undefined,
): Parsed<OpReply | RetSubmit | RetUnlink> {
  if (bytes.length < 4) return null;
  const view = viewOf(bytes);
  if (view.getUint16(0) !== 0) return parseOpReply(bytes, view);
  const command = view.getUint32(0);
  if (command !== Command.retSubmit && command !== Command.retUnlink) {
    throw new UsbipError(`reply ${command}, expected 3 (submit) or 4 (unlink)`);
  }
  if (bytes.length < HEADER_bytes) return null;
  const seqnum = view.getUint32(4);
  const status = view.getInt32(20);
  if (command === Command.retUnlink) {
    return { message: { kind: 'retUnlink', seqnum, status }, used_bytes: HEADER_bytes };
  }
  const asked = directionOf(seqnum);
  if (asked === undefined) throw new UsbipError(`an answer to transfer ${seqnum}, which was not asked`);
  refuseIsochronous(view);
  const actualLength_bytes = bounded(view.getUint32(24));
  const used_bytes = HEADER_bytes + (asked === 'in' ? actualLength_bytes : 0);
  if (bytes.length < used_bytes) return null;
  const data = bytes.slice(HEADER_bytes, used_bytes);
  return { message: { kind: 'retSubmit', seqnum, status, actualLength_bytes, data }, used_bytes };
}

function parseOpReply(bytes: Uint8Array, view: DataView): Parsed<OpReply> {
  const version = view.getUint16(0);
  const code = view.getUint16(2);
  if (version !== USBIP_VERSION || (code !== Op.repDevlist && code !== Op.repImport)) {
    throw new UsbipError(`reply ${version.toString(16)} ${code.toString(16)}, expected 111 3 or 111 5`);
  }
  if (bytes.length < OP_HEADER_bytes) return null;
  const status = view.getUint32(4);
  if (code === Op.repImport) {
    if (status !== 0) {
      return { message: { kind: 'repImport', status, device: null }, used_bytes: OP_HEADER_bytes };
    }
    const used_bytes = OP_HEADER_bytes + DEVICE_bytes;
    if (bytes.length < used_bytes) return null;
    const device = readDevice(bytes, OP_HEADER_bytes);
    return { message: { kind: 'repImport', status, device }, used_bytes };
  }
  if (bytes.length < OP_HEADER_bytes + 4) return null;
  const count = view.getUint32(OP_HEADER_bytes);
  if (count > 256) throw new UsbipError(`a list of ${count} devices, expected 256 at most`);
  const devices: ListedDevice[] = [];
  let offset = OP_HEADER_bytes + 4;
  for (let i = 0; i < count; i++) {
    if (bytes.length < offset + DEVICE_bytes) return null;
    const device = readDevice(bytes, offset);
    offset += DEVICE_bytes;
    if (bytes.length < offset + 4 * device.numInterfaces) return null;
    const interfaces: [number, number, number][] = [];
    for (let j = 0; j < device.numInterfaces; j++, offset += 4) {
      interfaces.push([view.getUint8(offset), view.getUint8(offset + 1), view.getUint8(offset + 2)]);
    }
    devices.push({ ...device, interfaces });
  }
  return { message: { kind: 'repDevlist', status, devices }, used_bytes: offset };
}

/** Cuts a stream of chunks into messages; a chunk may hold half a message or several. */
class StreamParser<T> {
  #pending = EMPTY;
  #parse: (bytes: Uint8Array) => Parsed<T>;

  constructor(parse: (bytes: Uint8Array) => Parsed<T>) {
    this.#parse = parse;
  }

  /**
   * @returns the messages that this chunk completes, in order
   * @throws UsbipError when the stream is no USB/IP; nothing after that can be read
   */
  push(chunk: Uint8Array): T[] {
    const joined = new Uint8Array(this.#pending.length + chunk.length);
    joined.set(this.#pending);
    joined.set(chunk, this.#pending.length);
    let rest = joined.subarray(0);
    const messages: T[] = [];
    for (let parsed = this.#parse(rest); parsed; parsed = this.#parse(rest)) {
      messages.push(parsed.message);
      rest = rest.subarray(parsed.used_bytes);
    }
    this.#pending = rest;
    return messages;
  }

  /** Bytes of a message that has not come to its end. */
  get pending_bytes(): number {
    return this.#pending.length;
  }
}

/** The server's end: what a client sends. */
export class RequestParser extends StreamParser<OpRequest | Submit | Unlink> {
  constructor() {
    super(parseRequest);
  }
}

/** The client's end: what a server answers. */
export class ReplyParser extends StreamParser<OpReply | RetSubmit | RetUnlink> {
  /** @param directionOf - direction of the transfer that a seqnum named, undefined for none */
  constructor(directionOf: (seqnum: number) => 'in' | 'out' | undefined) {
    super((bytes) => parseReply(bytes, directionOf));
  }
}
