import { STALL, type Answer } from '../../host/src/chip-twin/usb-transfer.ts';
import type { DeviceSummary, UsbDevice } from './usbip/device.ts';

/** A vendor-defined pair of 64-byte reports without report ID (HID 1.11, 6.2.2). */
export const VENDOR_PAIR_64 = Uint8Array.from(
  '06 00 FF 09 01 A1 01 15 00 26 FF 00 75 08 95 40 09 01 81 02 09 01 91 02 C0'
    .split(' ')
    .map((hex) => Number.parseInt(hex, 16)),
);

/** The three-button mouse of HID 1.11, appendix E.10: a device that is none of ours. */
export const SAMPLE_MOUSE = Uint8Array.from(
  (
    '05 01 09 02 A1 01 09 01 A1 00 05 09 19 01 29 03 15 00 25 01 95 03 75 01 81 02 95 01 75 05 ' +
    '81 01 05 01 09 30 09 31 15 81 25 7F 75 08 95 02 81 06 C0 C0'
  )
    .split(' ')
    .map((hex) => Number.parseInt(hex, 16)),
);

export interface StandInOptions {
  readonly vendorId: number;
  readonly productId: number;
  readonly release_bcd: number;
  readonly manufacturer: string;
  readonly product: string;
  readonly serial: string;
  readonly reportDescriptor: Uint8Array;
  /** Size of the IN packet and, unless 0, of the OUT endpoint's. */
  readonly in_bytes: number;
  readonly out_bytes: number;
  /** Called for each OUT report; what it queues goes out on the IN endpoint. */
  readonly onReport?: (report: Uint8Array, device: StandIn) => void;
}

const IN_ENDPOINT = 1;
const OUT_ENDPOINT = 1;

const u16 = (value: number): number[] => [value & 0xff, value >> 8];

/** A HID device that answers from tables: no firmware, no time, the same answers at every plug. */
export class StandIn implements UsbDevice {
  readonly summary: DeviceSummary;
  readonly options: StandInOptions;
  /** Setup packets since the last plug, as hex, in order. */
  setups: string[] = [];
  plugs = 0;
  /** Set to make the endpoint answer STALL until it is cleared by CLEAR_FEATURE. */
  halted = new Set<number>();
  /** Control requests that are stalled, as the first four setup bytes in hex. */
  refused = new Set<string>();
  #configuration = 0;
  #idle = 0;
  #queue: Uint8Array[] = [];
  #waiting: ((packet: Uint8Array) => void) | null = null;

  constructor(options: StandInOptions) {
    this.options = options;
    this.summary = {
      vendorId: options.vendorId,
      productId: options.productId,
      release_bcd: options.release_bcd,
      interfaces: [[3, 0, 0]],
    };
  }

  /** Queues a packet of any length for the IN endpoint. */
  send(packet: Uint8Array): void {
    const waiting = this.#waiting;
    this.#waiting = null;
    if (waiting) waiting(packet);
    else this.#queue.push(packet);
  }

  async plugIn(): Promise<void> {
    this.plugs++;
    this.setups = [];
    this.#configuration = 0;
    this.#queue = [];
    this.halted.clear();
  }

  pullOut(): void {
    this.#waiting = null;
    this.#queue = [];
  }

  async control(setup: Uint8Array, data: Uint8Array): Promise<Answer> {
    const hex = Buffer.from(setup).toString('hex');
    this.setups.push(hex);
    if (this.refused.has(hex.slice(0, 8))) return STALL;
    const value = setup[2]! | (setup[3]! << 8);
    const index = setup[4]! | (setup[5]! << 8);
    const length_bytes = setup[6]! | (setup[7]! << 8);
    const answer = this.#answer(setup[0]!, setup[1]!, value, index, data);
    return answer === STALL ? STALL : answer.subarray(0, length_bytes);
  }

  interruptIn(endpoint: number, _length_bytes: number, signal: AbortSignal): Promise<Answer> {
    if (endpoint !== IN_ENDPOINT || this.halted.has(0x80 | endpoint)) return Promise.resolve(STALL);
    const first = this.#queue.shift();
    if (first) return Promise.resolve(first);
    return new Promise((resolve, reject) => {
      const give = (): void => {
        this.#waiting = null;
        reject(signal.reason);
      };
      signal.addEventListener('abort', give, { once: true });
      this.#waiting = (packet) => {
        signal.removeEventListener('abort', give);
        resolve(packet);
      };
    });
  }

  async interruptOut(endpoint: number, data: Uint8Array): Promise<Answer> {
    if (endpoint !== OUT_ENDPOINT || this.halted.has(endpoint)) return STALL;
    this.options.onReport?.(data, this);
    return new Uint8Array(0);
  }

  #answer(type: number, request: number, value: number, index: number, data: Uint8Array): Answer {
    const none = new Uint8Array(0);
    const onInterface = index === 0 && this.#configuration === 1;
    switch ((type << 8) | request) {
      case 0x8006:
        return this.#descriptor(value >> 8, value & 0xff);
      case 0x8106:
        if (index !== 0) return STALL;
        if (value === 0x2200) return this.options.reportDescriptor;
        return value === 0x2100 ? this.#hidDescriptor() : STALL;
      case 0x8000:
        return Uint8Array.of(0, 0);
      case 0x8100:
        return onInterface ? Uint8Array.of(0, 0) : STALL;
      case 0x8200:
        if (index === 0 || index === 0x80) return Uint8Array.of(0, 0);
        return this.#hasEndpoint(index) ? Uint8Array.of(this.halted.has(index) ? 1 : 0, 0) : STALL;
      case 0x8008:
        return Uint8Array.of(this.#configuration);
      case 0x0009:
        if (value > 1) return STALL;
        this.#configuration = value;
        this.halted.clear();
        return none;
      case 0x0201:
      case 0x0203:
        if (value !== 0 || !this.#hasEndpoint(index)) return STALL;
        if (request === 3) this.halted.add(index);
        else this.halted.delete(index);
        return none;
      case 0x810a:
        return onInterface ? Uint8Array.of(0) : STALL;
      case 0x010b:
        return onInterface && value === 0 ? none : STALL;
      case 0x210a:
        if (!onInterface) return STALL;
        this.#idle = value >> 8;
        return none;
      case 0xa102:
        return onInterface ? Uint8Array.of(this.#idle) : STALL;
      case 0xa101:
        return onInterface && value === 0x0100 ? new Uint8Array(this.options.in_bytes) : STALL;
      case 0x2109:
        if (!onInterface || value !== 0x0200) return STALL;
        this.options.onReport?.(data, this);
        return none;
      default:
        return STALL;
    }
  }

  #hasEndpoint(address: number): boolean {
    if (this.#configuration !== 1) return false;
    return address === (0x80 | IN_ENDPOINT) || (address === OUT_ENDPOINT && this.options.out_bytes > 0);
  }

  #hidDescriptor(): Uint8Array {
    const { length } = this.options.reportDescriptor;
    return Uint8Array.from([9, 0x21, 0x11, 0x01, 0, 1, 0x22, ...u16(length)]);
  }

  #descriptor(type: number, index: number): Answer {
    const { options } = this;
    if (type === 1 && index === 0) {
      return Uint8Array.from([
        ...[18, 1, ...u16(0x0200), 0, 0, 0, 64],
        ...u16(options.vendorId),
        ...u16(options.productId),
        ...u16(options.release_bcd),
        ...[1, 2, 3, 1],
      ]);
    }
    if (type === 2 && index === 0) {
      const endpoints = [7, 5, 0x80 | IN_ENDPOINT, 3, ...u16(options.in_bytes), 1];
      if (options.out_bytes) endpoints.push(7, 5, OUT_ENDPOINT, 3, ...u16(options.out_bytes), 1);
      const body = [
        ...[9, 4, 0, 0, endpoints.length / 7, 3, 0, 0, 0],
        ...this.#hidDescriptor(),
        ...endpoints,
      ];
      return Uint8Array.from([9, 2, ...u16(9 + body.length), 1, 1, 0, 0x80, 50, ...body]);
    }
    if (type === 3) {
      if (index === 0) return Uint8Array.of(4, 3, 0x09, 0x04);
      const text = [options.manufacturer, options.product, options.serial][index - 1];
      if (text === undefined) return STALL;
      return Uint8Array.from([2 + 2 * text.length, 3, ...Buffer.from(text, 'utf16le')]);
    }
    return STALL;
  }
}
