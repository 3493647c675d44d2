import { connect } from 'node:net';
import type { Socket } from 'node:net';
import { ReplyParser, encodeOpRequest, encodeSubmit, encodeUnlink } from './codec.ts';
import type { OpReply, OpRequest, RetSubmit } from './codec.ts';

const EMPTY = new Uint8Array(0);

/** A transfer in flight: its number, and what comes of it (null: unlinked, so no answer). */
export interface Transfer {
  readonly seqnum: number;
  readonly done: Promise<RetSubmit | null>;
}

/** The kernel's end of USB/IP, for tests that need no kernel. */
export class UsbipClient {
  readonly #socket: Socket;
  readonly #parser: ReplyParser;
  readonly #transfers = new Map<
    number,
    { direction: 'in' | 'out'; resolve: (reply: RetSubmit | null) => void }
  >();
  readonly #unlinks = new Map<number, (status: number) => void>();
  #operation: ((reply: OpReply) => void) | null = null;
  #next = 1;
  /** Resolves when the connection has ended, from either side. */
  readonly closed: Promise<void>;

  private constructor(socket: Socket) {
    this.#socket = socket;
    this.#parser = new ReplyParser((seqnum) => this.#transfers.get(seqnum)?.direction);
    socket.on('data', (chunk: Buffer) => this.#read(chunk));
    socket.on('error', () => undefined);
    this.closed = new Promise((resolve) => {
      socket.once('close', () => {
        for (const { resolve: end } of this.#transfers.values()) end(null);
        resolve();
      });
    });
  }

  static async open(port: number): Promise<UsbipClient> {
    const socket = connect(port, '127.0.0.1');
    await new Promise<void>((resolve, reject) => {
      socket.once('connect', () => resolve());
      socket.once('error', reject);
    });
    return new UsbipClient(socket);
  }

  operate(request: OpRequest): Promise<OpReply> {
    return new Promise((resolve) => {
      this.#operation = resolve;
      this.#socket.write(encodeOpRequest(request));
    });
  }

  /** @param load - how many bytes to read, or the bytes to write */
  transfer(endpoint: number, load: number | Uint8Array, setup: Uint8Array = new Uint8Array(8)): Transfer {
    const seqnum = this.#next++;
    const reading = typeof load === 'number';
    const direction = reading ? 'in' : 'out';
    const done = new Promise<RetSubmit | null>((resolve) => {
      this.#transfers.set(seqnum, { direction, resolve });
    });
    const common = { seqnum, devid: 0x10002, direction, endpoint, setup } as const;
    const fixed = { transferFlags: 0, startFrame: 0, interval: 1 };
    const length_bytes = reading ? load : load.length;
    this.#socket.write(
      encodeSubmit({ ...common, ...fixed, length_bytes, data: reading ? EMPTY : load }),
    );
    return { seqnum, done };
  }

  /** A control transfer by its 8 setup bytes; `data` goes out with it when it is given. */
  control(setup: string, data?: Uint8Array): Transfer {
    const packet = Uint8Array.from(Buffer.from(setup.replace(/\s/g, ''), 'hex'));
    const length_bytes = packet[6]! | (packet[7]! << 8);
    return this.transfer(0, packet[0]! & 0x80 ? length_bytes : (data ?? EMPTY), packet);
  }

  /** @returns the status of the unlink: -104 given up, 0 too late */
  unlink(transfer: Transfer): Promise<number> {
    const seqnum = this.#next++;
    return new Promise((resolve) => {
      this.#unlinks.set(seqnum, resolve);
      const common = { seqnum, devid: 0x10002, direction: 'in', endpoint: 0 } as const;
      this.#socket.write(encodeUnlink({ ...common, unlinkSeqnum: transfer.seqnum }));
    }).then((status) => {
      const pending = this.#transfers.get(transfer.seqnum);
      this.#transfers.delete(transfer.seqnum);
      pending?.resolve(null);
      return status as number;
    });
  }

  /** Bytes of our own, for what no client would send. */
  raw(bytes: Uint8Array): void {
    this.#socket.write(bytes);
  }

  close(): void {
    this.#socket.destroy();
  }

  #read(chunk: Uint8Array): void {
    for (const message of this.#parser.push(chunk)) {
      if (message.kind === 'retSubmit') {
        this.#transfers.get(message.seqnum)?.resolve(message);
        this.#transfers.delete(message.seqnum);
      } else if (message.kind === 'retUnlink') {
        this.#unlinks.get(message.seqnum)?.(message.status);
      } else {
        this.#operation?.(message);
      }
    }
  }
}
