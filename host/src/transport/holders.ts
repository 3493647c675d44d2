/** Who else has a device open. On Linux several programs may open it, and each would take the other's reports. */
import { readFile, readdir, readlink } from 'node:fs/promises';
import { printable } from '../text/printable.ts';

/** A program that has the device open. */
export type Holder = { readonly pid: number; readonly name: string };

/**
 * Programs that have a device file open, as far as this user may see (other users' only as root).
 * @param proc - where the process table is mounted
 * @returns none on systems without it; there, opening a device that is in use fails by itself
 */
export async function holdersOf(path: string, proc = '/proc'): Promise<Holder[]> {
  const found: Holder[] = [];
  for (const entry of await orNone(readdir(proc))) {
    if (!/^\d+$/.test(entry) || Number(entry) === process.pid) continue;
    const folder = `${proc}/${entry}`;
    for (const descriptor of await orNone(readdir(`${folder}/fd`))) {
      const target = await readlink(`${folder}/fd/${descriptor}`).catch(() => '');
      if (target !== path) continue;
      const name = await readFile(`${folder}/comm`, 'utf8').catch(() => 'a program');
      found.push({ pid: Number(entry), name: printable(name.trim(), 40) });
      break;
    }
  }
  return found;
}

/** A process may end, or be another user's, while it is looked at. */
function orNone(names: Promise<string[]>): Promise<string[]> {
  return names.catch(() => []);
}
