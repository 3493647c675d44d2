import { execFile } from 'node:child_process';
import { existsSync } from 'node:fs';
import { mkdir, mkdtemp, readFile, readdir, rename, rm, writeFile } from 'node:fs/promises';
import { homedir } from 'node:os';
import { basename, join } from 'node:path';
import { promisify } from 'node:util';

const run = promisify(execFile);

/** Why this machine cannot run the kernel test; the message is the rest of "skipped: ...". */
export class CannotRun extends Error {}

/** What is kept of Debian's kernel package and of busybox. */
export interface Kernel {
  readonly version: string;
  readonly vmlinux: string;
  readonly busybox: string;
  /** Modules in the order in which plain insmod can load them. */
  readonly modules: readonly string[];
}

/** Drivers that the test needs; what they need in turn is read from the modules themselves. */
const DRIVERS = ['vhci-hcd', 'hid-generic', 'usbhid', 'virtio_pci', 'virtio_net'];

/** @returns the folder for what is fetched once, outside of the source tree */
export function cacheFolder(): string {
  const base = process.env.XDG_CACHE_HOME || join(homedir(), '.cache');
  return join(base, 'tapstone-kernel-test');
}

/**
 * Debian's standard kernel, unpacked for booting; fetched at the first call, then from the cache.
 * @throws CannotRun when it is not in the cache and cannot be fetched
 */
export async function fetchKernel(): Promise<Kernel> {
  const cache = cacheFolder();
  await mkdir(cache, { recursive: true });
  const packageName = (await newestKernelPackage()) ?? (await afterUpdate());
  const cached = (await readdir(cache)).filter((name) => name.startsWith('linux-image-')).sort();
  const wanted = packageName ?? cached.at(-1);
  if (!wanted) {
    throw new CannotRun('no Debian package lists here; run apt-get update on Debian as root');
  }
  const folder = join(cache, wanted);
  if (!existsSync(join(folder, 'order.json'))) await unpackInto(folder, wanted, cache);
  const order = JSON.parse(await readFile(join(folder, 'order.json'), 'utf8')) as string[];
  return {
    version: wanted.replace('linux-image-', ''),
    vmlinux: join(folder, 'vmlinux'),
    busybox: join(folder, 'busybox'),
    modules: order.map((name) => join(folder, name)),
  };
}

/** @returns the versioned name behind linux-image-amd64; undefined where apt knows none */
async function newestKernelPackage(): Promise<string | undefined> {
  try {
    const { stdout } = await run('apt-cache', ['depends', 'linux-image-amd64']);
    return /Depends: (linux-image-[0-9][^\s]*)/.exec(stdout)?.[1];
  } catch {
    return undefined;
  }
}

/** Package lists are missing on a fresh system; root may fetch them. */
async function afterUpdate(): Promise<string | undefined> {
  return (await updateLists()) ? newestKernelPackage() : undefined;
}

async function updateLists(): Promise<boolean> {
  if (process.getuid?.() !== 0) return false;
  return run('apt-get', ['-qq', '-o', 'DPkg::Lock::Timeout=300', 'update']).then(
    () => true,
    () => false,
  );
}

/** A list that is out of date names files that are no longer there: fetched anew, once. */
async function download(into: string, packageName: string): Promise<void> {
  const fetch = (): Promise<unknown> =>
    run('apt-get', ['-q', 'download', packageName, 'busybox-static'], { cwd: into });
  try {
    await fetch().catch(async (error) => {
      if (!(await updateLists())) throw error;
      await fetch();
    });
  } catch {
    throw new CannotRun(`${packageName} and busybox-static could not be fetched by apt-get download`);
  }
}

async function unpackInto(folder: string, packageName: string, cache: string): Promise<void> {
  const scratch = await mkdtemp(join(cache, 'unpack-'));
  try {
    await download(scratch, packageName);
    const tree = join(scratch, 'tree');
    for (const name of await readdir(scratch)) {
      if (name.endsWith('.deb')) await run('dpkg-deb', ['-x', join(scratch, name), tree]);
    }
    const ready = join(scratch, 'ready');
    await mkdir(ready);
    await unpackVmlinux(tree, join(ready, 'vmlinux'));
    await rename(join(tree, 'bin', 'busybox'), join(ready, 'busybox'));
    const order = await unpackModules(tree, ready);
    await writeFile(join(ready, 'order.json'), JSON.stringify(order));
    await rm(folder, { recursive: true, force: true });
    await rename(ready, folder);
  } finally {
    await rm(scratch, { recursive: true, force: true });
  }
}

/**
 * Takes the kernel's ELF out of its xz envelope: the emulated processor would need seconds for it.
 * @see Linux kernel documentation, "The Linux/x86 Boot Protocol": setup_sects and payload_offset
 */
async function unpackVmlinux(tree: string, to: string): Promise<void> {
  const name = (await readdir(join(tree, 'boot'))).find((entry) => entry.startsWith('vmlinuz-'));
  if (!name) throw new CannotRun('the kernel package holds no vmlinuz');
  const image = await readFile(join(tree, 'boot', name));
  const offset = (image.readUInt8(0x1f1) + 1) * 512 + image.readUInt32LE(0x248);
  const payload = image.subarray(offset, offset + image.readUInt32LE(0x24c));
  if (payload.toString('latin1', 0, 6) !== '\xfd7zXZ\0') {
    throw new CannotRun(`${name} is not packed with xz`);
  }
  // The payload's last four bytes are the unpacked size, which is no part of the xz stream.
  await writeFile(`${to}.xz`, payload);
  await run('sh', ['-c', 'xz -dc --single-stream "$0" > "$1"', `${to}.xz`, to]);
  await rm(`${to}.xz`);
}

const canonical = (name: string): string => name.replaceAll('-', '_');

async function unpackModules(tree: string, to: string): Promise<string[]> {
  const found = new Map<string, string>();
  for (const entry of await readdir(tree, { recursive: true })) {
    const match = /\/([^/]+)\.ko(\.xz)?$/.exec(entry);
    if (match) found.set(canonical(match[1]!), join(tree, entry));
  }
  const order: string[] = [];
  const visit = async (name: string): Promise<void> => {
    const file = found.get(canonical(name));
    // What is not there as a module is built into the kernel.
    if (!file) return;
    const plain = file.replace(/\.xz$/, '');
    const flat = basename(plain);
    if (order.includes(flat)) return;
    if (file !== plain && existsSync(file)) await run('xz', ['-d', file]);
    const data = await readFile(plain);
    const depends = /(?:^|\0)depends=([^\0]*)\0/.exec(data.toString('latin1'))?.[1] ?? '';
    for (const needed of depends.split(',')) if (needed) await visit(needed);
    await writeFile(join(to, flat), data);
    order.push(flat);
  };
  for (const driver of DRIVERS) await visit(driver);
  if (!order.includes('vhci-hcd.ko')) throw new CannotRun('the kernel package holds no vhci-hcd');
  return order;
}
