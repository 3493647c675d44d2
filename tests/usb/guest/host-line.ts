import { connect } from 'node:net';
import type { Socket } from 'node:net';
import { createInterface } from 'node:readline';

/** The address of the emulating machine's 127.0.0.1, as qemu's user network shows it. */
export const HOST = '10.0.2.2';

/** A line to the test outside: whoever sits at the bench pulls the cable when asked to. */
export class HostLine {
  readonly #socket: Socket;
  readonly #waiting = new Map<number, { resolve: (v: unknown) => void; reject: (e: Error) => void }>();
  #next = 1;

  private constructor(socket: Socket) {
    this.#socket = socket;
    createInterface({ input: socket }).on('line', (line) => {
      const reply = JSON.parse(line) as { id: number; answer?: unknown; error?: string };
      const waiting = this.#waiting.get(reply.id);
      this.#waiting.delete(reply.id);
      if (reply.error === undefined) waiting?.resolve(reply.answer);
      else waiting?.reject(new Error(reply.error));
    });
  }

  static async open(port: number): Promise<HostLine> {
    const socket = connect(port, HOST);
    await new Promise<void>((resolve, reject) => {
      socket.once('connect', () => resolve());
      socket.once('error', reject);
    });
    socket.setNoDelay(true);
    return new HostLine(socket);
  }

  /** Asks the test outside to do something, such as `pull` or `replies`. */
  ask<T = unknown>(what: string, details: Readonly<Record<string, unknown>> = {}): Promise<T> {
    const id = this.#next++;
    return new Promise<T>((resolve, reject) => {
      this.#waiting.set(id, { resolve: resolve as (v: unknown) => void, reject });
      this.#socket.write(`${JSON.stringify({ id, what, ...details })}\n`);
    });
  }

  close(): void {
    this.#socket.destroy();
  }
}
