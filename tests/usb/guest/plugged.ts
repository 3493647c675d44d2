import { loadDriver } from '../../../host/src/transport/driver.ts';
import { findTesters } from '../../../host/src/transport/discovery.ts';
import { HidTransport } from '../../../host/src/transport/hid.ts';
import type { Bench } from './cases.ts';
import { plugInto, portIsFree, until } from './vhci.ts';

/** A tester on the bus, opened by the product's own transport; what it sends and says is kept. */
export interface Opened {
  readonly transport: HidTransport;
  readonly reports: Uint8Array[];
  readonly closed: string[];
}

/** Root ports of the guest, one for each device. */
const ROOT_PORTS: Readonly<Record<string, number>> = { first: 0, second: 1, impostor: 2, mouse: 3, chip: 4, chip2: 5 };

export function rootPort(device: string): number {
  return ROOT_PORTS[device]!;
}

/** Plugs a device of the desk into its root port. */
export async function plug(bench: Bench, device: string): Promise<void> {
  await until(`root port of ${device} free`, () => portIsFree(rootPort(device)));
  await plugInto(rootPort(device), bench.ports[device]!);
}

/** Pulls a device's cable at the desk and waits until the kernel has noticed. */
export async function pull(bench: Bench, device: string): Promise<void> {
  await bench.host.ask('pull', { device });
  await until(`${device} gone`, () => portIsFree(rootPort(device)));
}

/** The tester with this serial number, not yet opened, as soon as the driver lists it. */
export async function findTester(serial: string): Promise<HidTransport> {
  const driver = await loadDriver();
  const tester = await until(`${serial} listed`, async () =>
    (await findTesters(driver)).testers.find((entry) => entry.serial === serial),
  );
  return new HidTransport(driver, tester);
}

/** Opens the tester with this serial number. */
export async function openTester(serial: string): Promise<Opened> {
  const transport = await findTester(serial);
  const reports: Uint8Array[] = [];
  const closed: string[] = [];
  transport.onReport = (report) => void reports.push(report);
  transport.onClosed = ({ sentence }) => void closed.push(sentence);
  await transport.open();
  return { transport, reports, closed };
}

/** Works with an open tester and lets go of it, however that ends. */
export async function withTester<T>(serial: string, work: (opened: Opened) => Promise<T>): Promise<T> {
  const opened = await openTester(serial);
  try {
    return await work(opened);
  } finally {
    await opened.transport.close();
  }
}

/** A report for a stand-in: what it should do, and two bytes of number. */
export function report(ask: number, number: number): Uint8Array {
  const bytes = new Uint8Array(64);
  bytes.set([ask, number & 0xff, number >> 8]);
  return bytes;
}

/** The numbers that reports carry, in the order in which they came. */
export function numbers(reports: readonly Uint8Array[]): number[] {
  return reports.map((bytes) => bytes[1]! | (bytes[2]! << 8));
}
