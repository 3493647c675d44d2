/** The drive as which a board shows itself while it waits for its firmware. */
import { existsSync } from 'node:fs';
import { open, readFile, readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { readAtMost } from '../edge/files.ts';

/** What the RP2040's boot ROM writes into the drive's information file. */
const INFO_FILE = 'INFO_UF2.TXT';
/** The boot ROM's has a few lines. */
const INFO_MOST_bytes = 1 << 16;
const BOARD_ID = /^Board-ID:\s*RPI-RP2\s*$/m;
/** The drive's label, also where nothing has mounted it yet. */
export const DRIVE_LABEL = 'RPI-RP2';

/** True when this folder is the boot drive of an RP2040. */
export async function isBootDrive(folder: string): Promise<boolean> {
  const info = await readAtMost(join(folder, INFO_FILE), INFO_MOST_bytes).catch(() => null);
  return info !== null && BOARD_ID.test(Buffer.from(info).toString('utf8'));
}

/** Folders where a boot drive is mounted now. */
export async function bootDrives(platform = process.platform): Promise<string[]> {
  const found: string[] = [];
  for (const folder of await mountedFolders(platform)) if (await isBootDrive(folder)) found.push(folder);
  return found;
}

async function mountedFolders(platform: string): Promise<string[]> {
  if (platform === 'win32') return [...'DEFGHIJKLMNOPQRSTUVWXYZ'].map((letter) => `${letter}:\\`);
  if (platform === 'darwin') {
    return (await readdir('/Volumes').catch(() => [])).map((name) => join('/Volumes', name));
  }
  return fatMounts(await readFile('/proc/self/mounts', 'utf8').catch(() => ''));
}

/** Mount points of FAT file systems.
 * @param mounts - text of `/proc/self/mounts`, where blanks in names are written as `\040`
 */
export function fatMounts(mounts: string): string[] {
  return mounts
    .split('\n')
    .map((line) => line.split(' '))
    .filter(([, , type]) => type === 'vfat' || type === 'msdos')
    .map(([, folder]) => folder.replace(/\\([0-7]{3})/g, (_, code: string) => String.fromCharCode(Number.parseInt(code, 8))));
}

/** The block device of a boot drive that nothing has mounted (a Linux without a desktop), or null. */
export function unmountedDrive(): string | null {
  const device = `/dev/disk/by-label/${DRIVE_LABEL}`;
  return existsSync(device) ? device : null;
}

/**
 * Copies a file onto the drive. The board restarts as soon as it has the last block, so the system
 * may find the drive gone while it still finishes the copy: that is no error.
 * @throws Error of the system when the bytes themselves could not be written
 */
export async function copyOnto(drive: string, name: string, bytes: Uint8Array): Promise<void> {
  const handle = await open(join(drive, name), 'w');
  try {
    await handle.writeFile(bytes);
  } catch (error) {
    await handle.close().catch(() => undefined);
    throw error;
  }
  await handle.sync().catch(() => undefined);
  await handle.close().catch(() => undefined);
}
