/** One entry of an initramfs. Folders above a path are made by themselves. */
export type Entry =
  | { readonly path: string; readonly kind: 'file'; readonly data: Uint8Array; readonly mode: number }
  | { readonly path: string; readonly kind: 'link'; readonly target: string }
  | { readonly path: string; readonly kind: 'folder' };

const MODE_FILE = 0o100000;
const MODE_LINK = 0o120000;
const MODE_FOLDER = 0o040755;

function record(path: string, mode: number, ino: number, data: Uint8Array): Uint8Array[] {
  const name = new TextEncoder().encode(`${path}\0`);
  const hex = (value: number): string => value.toString(16).padStart(8, '0').toUpperCase();
  // ino mode uid gid nlink mtime size devmajor devminor rdevmajor rdevminor namesize check
  const fields = [ino, mode, 0, 0, 1, 0, data.length, 0, 0, 0, 0, name.length, 0];
  const head = new TextEncoder().encode(`070701${fields.map(hex).join('')}`);
  return [head, name, padding(head.length + name.length), data, padding(data.length)];
}

function padding(length_bytes: number): Uint8Array {
  return new Uint8Array(-length_bytes & 3);
}

/**
 * The archive that a kernel unpacks as its first file system, in the "newc" format.
 * @returns the pieces of the archive, to be written one after the other
 * @see Linux kernel documentation, "initramfs buffer format"
 */
export function cpio(entries: readonly Entry[]): Uint8Array[] {
  const pieces: Uint8Array[] = [];
  const folders = new Set<string>();
  let ino = 1;
  const folder = (path: string): void => {
    if (path === '' || folders.has(path)) return;
    folder(path.slice(0, Math.max(0, path.lastIndexOf('/'))));
    folders.add(path);
    pieces.push(...record(path, MODE_FOLDER, ino++, new Uint8Array(0)));
  };
  for (const entry of entries) {
    const path = entry.path.replace(/^\/+/, '');
    if (entry.kind === 'folder') {
      folder(path);
      continue;
    }
    folder(path.slice(0, Math.max(0, path.lastIndexOf('/'))));
    if (entry.kind === 'file') {
      pieces.push(...record(path, MODE_FILE | entry.mode, ino++, entry.data));
    } else {
      const target = new TextEncoder().encode(entry.target);
      pieces.push(...record(path, MODE_LINK | 0o777, ino++, target));
    }
  }
  pieces.push(...record('TRAILER!!!', 0, 0, new Uint8Array(0)));
  return pieces;
}
