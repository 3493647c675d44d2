import { createServer } from 'node:net';
import type { AddressInfo, Server } from 'node:net';
import { createInterface } from 'node:readline';
import { UsbipServer } from './usbip/server.ts';
import type { UsbDevice } from './usbip/device.ts';

/** What the guest asks for: `what`, a device's name, and whatever the request needs. */
export interface Wish {
  readonly what: string;
  readonly device: string;
  readonly [detail: string]: unknown;
}

/** The desk in front of the emulated PC: devices with their cables, and a hand that pulls them. */
export class Desk {
  readonly #cables = new Map<string, { device: UsbDevice; server: UsbipServer; port: number }>();
  readonly #fulfil: (device: UsbDevice, wish: Wish) => unknown;
  readonly #line: Server;
  /** Faults by which a connection ended; a kernel that pulls a cable leaves none. */
  readonly faults: string[] = [];

  /** @param fulfil - answers what is not about the cable; what it returns goes back to the guest */
  constructor(fulfil: (device: UsbDevice, wish: Wish) => unknown) {
    this.#fulfil = fulfil;
    this.#line = createServer((socket) => {
      socket.on('error', () => undefined);
      createInterface({ input: socket }).on('line', (text) => {
        const { id, ...wish } = JSON.parse(text) as Wish & { id: number };
        this.#answer(wish).then(
          (answer) => socket.write(`${JSON.stringify({ id, answer: answer ?? null })}\n`),
          (error: Error) => socket.write(`${JSON.stringify({ id, error: error.message })}\n`),
        );
      });
    });
  }

  /** Lays a device down; the guest plugs it in when it likes. */
  async lay(name: string, device: UsbDevice): Promise<void> {
    const server = new UsbipServer(device, {
      onDetached: (fault) => {
        if (fault) this.faults.push(`${name}: ${fault.message}`);
      },
    });
    this.#cables.set(name, { device, server, port: await server.listen() });
  }

  /** @returns what the guest needs to reach everything here */
  async open(): Promise<{ controlPort: number; ports: Record<string, number> }> {
    await new Promise<void>((resolve) => this.#line.listen(0, '127.0.0.1', () => resolve()));
    const ports = Object.fromEntries([...this.#cables].map(([name, { port }]) => [name, port]));
    return { controlPort: (this.#line.address() as AddressInfo).port, ports };
  }

  async close(): Promise<void> {
    for (const { server } of this.#cables.values()) await server.close();
    await new Promise<void>((resolve) => this.#line.close(() => resolve()));
  }

  async #answer(wish: Wish): Promise<unknown> {
    const cable = this.#cables.get(wish.device);
    if (!cable) throw new Error(`no device ${wish.device} on the desk`);
    if (wish.what === 'pull') return cable.server.pull();
    if (wish.what === 'attached') return cable.server.attached;
    return this.#fulfil(cable.device, wish);
  }
}
