/** The USB driver, node-hid, loaded only when it is needed and never trusted to load. */
import type * as NodeHid from 'node-hid';
import { printable } from '../text/printable.ts';
import { TransportError } from './transport.ts';

/** A HID interface as the driver lists it. */
export type HidEntry = Pick<
  NodeHid.Device,
  'vendorId' | 'productId' | 'path' | 'serialNumber' | 'product' | 'usagePage' | 'usage'
>;

/** An open HID interface: what the transport needs of `HIDAsync`. */
export interface HidConnection {
  on(event: 'data', listener: (data: Uint8Array) => void): unknown;
  on(event: 'error', listener: (error: unknown) => void): unknown;
  write(data: Buffer): Promise<number>;
  close(): Promise<void>;
}

export interface HidDriver {
  readonly version: string;
  list(): Promise<HidEntry[]>;
  open(path: string): Promise<HidConnection>;
}

/**
 * Loads node-hid.
 * @throws TransportError with the sentence that mends it
 */
export async function loadDriver(
  load: () => Promise<typeof NodeHid> = () => import('node-hid'),
): Promise<HidDriver> {
  try {
    const hid = await load();
    // Asking for the version loads the binary part, which is where a missing library shows.
    return {
      version: hid.getHidapiVersion(),
      list: () => hid.devicesAsync(),
      open: (path) => hid.HIDAsync.open(path),
    };
  } catch (error) {
    throw new TransportError(driverSentence(messageOf(error), process.platform));
  }
}

/** Text of whatever was thrown: node-hid rejects with plain strings as well. */
export function messageOf(error: unknown): string {
  if (typeof error === 'string') return error;
  const message = (error as { message?: unknown } | null)?.message;
  return typeof message === 'string' ? message : String(error);
}

/** Debian's packages for the libraries that node-hid's binary part is linked to. */
const LIBRARY_PACKAGES: ReadonlyMap<string, string> = new Map([
  ['libusb-1.0.so.0', 'libusb-1.0-0'],
  ['libudev.so.1', 'libudev1'],
  ['libstdc++.so.6', 'libstdc++6'],
]);

/** One sentence for why the driver did not load, and what to do. */
export function driverSentence(message: string, platform: string): string {
  const library = /(\S+\.so[.\d]*): cannot open shared object file/.exec(message)?.[1];
  if (library) {
    const name = LIBRARY_PACKAGES.get(library);
    const mend = name ? `on Debian: sudo apt-get install ${name}` : 'install the package that has it';
    return `the USB driver cannot load: ${library} is missing; ${mend}`;
  }
  if (/Cannot find (module|package) .*node-hid/.test(message)) {
    return 'the USB driver node-hid is not installed; install tapstone again (in a checkout: npm ci)';
  }
  if (/Failed to find binding|Cannot find module .*pkg-prebuilds/.test(message)) {
    return `the USB driver node-hid has no build for this machine (${platform}); install tapstone on this machine itself`;
  }
  return `the USB driver node-hid cannot load (${printable(message.split('\n')[0], 160)}); install tapstone again`;
}
