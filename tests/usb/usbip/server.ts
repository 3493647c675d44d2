import { createServer } from 'node:net';
import type { AddressInfo, Server, Socket } from 'node:net';
import {
  RequestParser,
  Status,
  UsbipError,
  encodeOpReply,
  encodeRetSubmit,
  encodeRetUnlink,
} from './codec.ts';
import type { ListedDevice, OpRequest, Submit, Unlink } from './codec.ts';
import { STALL, type Answer } from '../../../host/src/chip-twin/usb-transfer.ts';
import type { UsbDevice } from './device.ts';

/** A kernel keeps a handful of transfers in flight; more than this is no kernel. */
const PENDING_TRANSFERS_max = 1024;
const EMPTY = new Uint8Array(0);
/** What `usbip list` calls the one device of a server. */
const BUSID = '1-1';
/** USB_SPEED_FULL of Linux, <linux/usb/ch9.h>. */
const SPEED_FULL = 2;

export interface UsbipServerOptions {
  /** Told once per connection that ends: undefined when it was simply closed. */
  readonly onDetached?: (fault: Error | undefined) => void;
}

/**
 * Lends one USB device to a Linux kernel (`vhci-hcd`) by USB/IP over loopback TCP. A connection is
 * a cable: opening one plugs the device in, closing it from either side pulls the device out.
 */
export class UsbipServer {
  readonly #device: UsbDevice;
  readonly #options: UsbipServerOptions;
  readonly #server: Server;
  readonly #sockets = new Set<Socket>();
  #cable: Cable | null = null;

  constructor(device: UsbDevice, options: UsbipServerOptions = {}) {
    this.#device = device;
    this.#options = options;
    this.#server = createServer((socket) => this.#welcome(socket));
  }

  /** @returns the TCP port on 127.0.0.1 that was taken */
  async listen(port = 0): Promise<number> {
    await new Promise<void>((resolve, reject) => {
      this.#server.once('error', reject);
      this.#server.listen(port, '127.0.0.1', () => resolve());
    });
    return (this.#server.address() as AddressInfo).port;
  }

  /** True while a kernel holds the device. */
  get attached(): boolean {
    return this.#cable !== null;
  }

  /** Transfers of the kernel that are waiting for the device. */
  get pendingTransfers(): number {
    return this.#cable?.pendingTransfers ?? 0;
  }

  /** Pulls the cable, also one through which nothing has come yet. */
  pull(): void {
    for (const socket of this.#sockets) socket.destroy();
  }

  /** Pulls the cable and frees the port. */
  async close(): Promise<void> {
    const closed = new Promise<void>((resolve) => this.#server.close(() => resolve()));
    const pulled = [...this.#sockets].map((socket) => {
      const done = new Promise<void>((resolve) => socket.once('close', () => resolve()));
      socket.destroy();
      return done;
    });
    await Promise.all([closed, ...pulled]);
  }

  #welcome(socket: Socket): void {
    this.#sockets.add(socket);
    socket.setNoDelay(true);
    const parser = new RequestParser();
    let cable: Cable | null = null;
    let fault: Error | undefined;
    const give = (error: unknown): void => {
      fault ??= error instanceof Error ? error : new Error(String(error));
      socket.destroy();
    };
    socket.on('error', (error) => {
      fault ??= error;
    });
    socket.on('data', (chunk: Buffer) => {
      try {
        for (const message of parser.push(chunk)) {
          if (message.kind === 'reqDevlist' || message.kind === 'reqImport') {
            if (cable) throw new UsbipError('an operation among transfers');
            const taken = this.#answer(socket, message);
            if (taken) cable = this.#plugIn(socket, give);
            continue;
          }
          if (!cable && this.#cable) throw new UsbipError('the device is plugged in elsewhere');
          cable ??= this.#plugIn(socket, give);
          if (message.kind === 'submit') cable.submit(message);
          else cable.unlink(message);
        }
      } catch (error) {
        give(error);
      }
    });
    socket.on('close', () => {
      this.#sockets.delete(socket);
      if (!cable) return;
      this.#cable = null;
      cable.pullOut();
      this.#options.onDetached?.(fault);
    });
  }

  #plugIn(socket: Socket, give: (error: unknown) => void): Cable {
    this.#cable = new Cable(socket, this.#device, give);
    return this.#cable;
  }

  /** @returns true when the client has taken the device */
  #answer(socket: Socket, request: OpRequest): boolean {
    const device = listed(this.#device);
    if (request.kind === 'reqDevlist') {
      const devices = this.#cable ? [] : [device];
      socket.end(encodeOpReply({ kind: 'repDevlist', status: 0, devices }));
      return false;
    }
    const free = request.busid === BUSID && !this.#cable;
    const reply = { kind: 'repImport', status: free ? 0 : 1, device: free ? device : null } as const;
    if (free) socket.write(encodeOpReply(reply));
    else socket.end(encodeOpReply(reply));
    return free;
  }
}

function listed(device: UsbDevice): ListedDevice {
  const { summary } = device;
  return {
    path: `/tapstone/${BUSID}`,
    busid: BUSID,
    busnum: 1,
    devnum: 1,
    speed: SPEED_FULL,
    idVendor: summary.vendorId,
    idProduct: summary.productId,
    bcdDevice: summary.release_bcd,
    deviceClass: [0, 0, 0],
    configurationValue: 1,
    numConfigurations: 1,
    numInterfaces: summary.interfaces.length,
    interfaces: summary.interfaces,
  };
}

/** The transfers of one connection, each endpoint in the order of its submissions. */
class Cable {
  readonly #socket: Socket;
  readonly #device: UsbDevice;
  readonly #give: (error: unknown) => void;
  readonly #pending = new Map<number, AbortController>();
  readonly #tails = new Map<string, Promise<void>>();
  readonly #plugged: Promise<void>;
  #out = false;

  constructor(socket: Socket, device: UsbDevice, give: (error: unknown) => void) {
    this.#socket = socket;
    this.#device = device;
    this.#give = give;
    this.#plugged = device.plugIn();
    this.#plugged.catch(give);
  }

  get pendingTransfers(): number {
    return this.#pending.size;
  }

  submit(message: Submit): void {
    if (this.#pending.has(message.seqnum)) {
      throw new UsbipError(`transfer ${message.seqnum} is submitted twice`);
    }
    if (this.#pending.size >= PENDING_TRANSFERS_max) {
      throw new UsbipError(`more than ${PENDING_TRANSFERS_max} transfers in flight`);
    }
    const abort = new AbortController();
    this.#pending.set(message.seqnum, abort);
    // Both directions of endpoint 0 are one pipe.
    const pipe = message.endpoint === 0 ? '0' : `${message.endpoint} ${message.direction}`;
    const before = this.#tails.get(pipe) ?? this.#plugged;
    this.#tails.set(pipe, before.then(() => this.#run(message, abort)).catch(this.#give));
  }

  /**
   * The reply waits for the transfer to end: a report that the device has handed over just now is
   * delivered, not dropped, and the kernel hears 0 for "too late".
   */
  unlink(message: Unlink): void {
    const abort = this.#pending.get(message.unlinkSeqnum);
    if (!abort || abort.signal.aborted) {
      this.#send(encodeRetUnlink({ seqnum: message.seqnum, status: Status.ok }));
      return;
    }
    abort.abort(new Unlinked(message.seqnum));
  }

  pullOut(): void {
    this.#out = true;
    for (const abort of this.#pending.values()) abort.abort(new Unlinked(0));
    this.#device.pullOut();
  }

  async #run(message: Submit, abort: AbortController): Promise<void> {
    const { signal } = abort;
    let answer: Answer | null = null;
    try {
      signal.throwIfAborted();
      answer = await this.#transfer(message, signal);
    } catch (error) {
      if (!(signal.aborted && error === signal.reason)) throw error;
    } finally {
      this.#pending.delete(message.seqnum);
    }
    if (answer !== null) this.#reply(message, answer);
    if (signal.aborted) {
      const { seqnum } = signal.reason as Unlinked;
      const status = answer === null ? Status.unlinked : Status.ok;
      this.#send(encodeRetUnlink({ seqnum, status }));
    }
  }

  #transfer(message: Submit, signal: AbortSignal): Promise<Answer> {
    const { endpoint, data, length_bytes } = message;
    if (endpoint === 0) return this.#device.control(message.setup, data, signal);
    if (message.direction === 'in') return this.#device.interruptIn(endpoint, length_bytes, signal);
    return this.#device.interruptOut(endpoint, data, signal);
  }

  #reply(message: Submit, answer: Answer): void {
    const { seqnum } = message;
    if (answer === STALL) {
      const status = Status.stalled;
      this.#send(encodeRetSubmit({ seqnum, status, actualLength_bytes: 0, data: EMPTY }));
    } else if (message.direction === 'out') {
      const actualLength_bytes = message.length_bytes;
      this.#send(encodeRetSubmit({ seqnum, status: Status.ok, actualLength_bytes, data: EMPTY }));
    } else {
      // More than was asked for is babble on a bus; the controller cuts it off and says so.
      const status = answer.length > message.length_bytes ? Status.overflowed : Status.ok;
      const data = answer.subarray(0, message.length_bytes);
      this.#send(encodeRetSubmit({ seqnum, status, actualLength_bytes: data.length, data }));
    }
  }

  #send(bytes: Uint8Array): void {
    if (!this.#out) this.#socket.write(bytes);
  }
}

/** Why a transfer is given up: the seqnum of the unlink that asked for it. */
class Unlinked extends Error {
  readonly seqnum: number;

  constructor(seqnum: number) {
    super('unlinked');
    this.seqnum = seqnum;
  }
}
