import { readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { Socket } from 'node:net';
import { setTimeout as sleep } from 'node:timers/promises';
import { HOST } from './host-line.ts';

const VHCI = '/sys/devices/platform/vhci_hcd.0';
const SPEED_FULL = 2;

/** Waits by condition; the limit only turns a hang into a failure. */
export async function until<T>(
  what: string,
  probe: () => T | null | undefined | false | Promise<T | null | undefined | false>,
): Promise<T> {
  const limit_s = 300;
  for (let tries = 0; tries < limit_s * 20; tries++) {
    const value = await probe();
    if (value) return value;
    await sleep(50);
  }
  throw new Error(`waited ${limit_s} s in vain: ${what}`);
}

/** Plugs the device behind a USB/IP server of the test outside into a root port of this kernel. */
export async function plugInto(rootPort: number, serverPort: number): Promise<void> {
  const socket = new Socket();
  // Paused before it connects, or the event loop would eat what is meant for the kernel.
  socket.pause();
  socket.setNoDelay(true);
  await new Promise<void>((resolve, reject) => {
    socket.once('error', reject);
    socket.connect(serverPort, HOST, () => resolve());
  });
  const { fd } = (socket as unknown as { _handle: { fd: number } })._handle;
  const devid = (1 << 16) | (rootPort + 2);
  writeFileSync(`${VHCI}/attach`, `${rootPort} ${fd} ${devid} ${SPEED_FULL}`);
  socket.destroy();
}

/** Unplugs on the kernel's side. */
export function detach(rootPort: number): void {
  writeFileSync(`${VHCI}/detach`, String(rootPort));
}

/** @returns true when nothing hangs on the root port */
export function portIsFree(rootPort: number): boolean {
  const line = readFileSync(`${VHCI}/status`, 'utf8')
    .split('\n')
    .find((text) => Number(text.trim().split(/\s+/)[1]) === rootPort && text.startsWith('hs'));
  return line !== undefined && line.trim().split(/\s+/)[2] === '004';
}

/** A USB device as the kernel's sysfs shows it. */
export interface SysfsDevice {
  readonly folder: string;
  readonly attributes: Readonly<Record<string, string>>;
  /** Device descriptor and all configurations, as the kernel read them. */
  readonly descriptors: string;
}

const ATTRIBUTES = ['idVendor', 'idProduct', 'bcdDevice', 'manufacturer', 'product', 'serial', 'speed'];

/** @returns the device with this serial number, null while the kernel shows none */
export function sysfsDevice(serial: string): SysfsDevice | null {
  const base = '/sys/bus/usb/devices';
  for (const name of readdirSync(base)) {
    if (!/^\d+-\d+$/.test(name)) continue;
    const folder = `${base}/${name}`;
    if (readAttribute(`${folder}/serial`) !== serial) continue;
    const attributes = Object.fromEntries(
      ATTRIBUTES.map((key) => [key, readAttribute(`${folder}/${key}`)]),
    );
    const descriptors = readFileSync(`${folder}/descriptors`).toString('hex');
    return { folder, attributes, descriptors };
  }
  return null;
}

/** @returns the text of a sysfs file, empty when it is not there */
export function readAttribute(path: string): string {
  try {
    return readFileSync(path, 'utf8').trim();
  } catch {
    return '';
  }
}

/** @returns the kernel's own reading of the report descriptor, from debugfs */
export function parsedReportDescriptor(device: SysfsDevice): string {
  const hid = hidName(device);
  return readFileSync(`/sys/kernel/debug/hid/${hid}/rdesc`, 'utf8');
}

/** @returns the raw report descriptor that the kernel holds, in hex */
export function rawReportDescriptor(device: SysfsDevice): string {
  return readFileSync(`/sys/bus/hid/devices/${hidName(device)}/report_descriptor`).toString('hex');
}

function hidName(device: SysfsDevice): string {
  const name = device.folder.slice(device.folder.lastIndexOf('/') + 1);
  const entries = readdirSync(`${device.folder}/${name}:1.0`);
  const hid = entries.find((entry) => /^[0-9A-F]{4}:[0-9A-F]{4}:[0-9A-F]{4}\./.test(entry));
  if (!hid) throw new Error(`no HID device below ${device.folder}`);
  return hid;
}
