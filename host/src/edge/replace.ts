/** A file that another program (a database) writes by itself, put in place only when it is whole. */
import { randomBytes } from 'node:crypto';
import { openSync, closeSync, fsyncSync, renameSync, rmSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { FileProblem } from './files.ts';

/**
 * Has a file made under another name beside it, waits until it is on the disk, and gives it its name.
 * @param make - writes the file of this name, which is not there yet
 * @throws FileProblem; whatever `make` throws
 */
export function madeWhole(path: string, make: (temporary: string) => void): void {
  const temporary = join(dirname(path), `.${basename(path).slice(0, 100)}.${randomBytes(6).toString('hex')}.part`);
  try {
    make(temporary);
    const handle = openSync(temporary, 'r+');
    fsyncSync(handle);
    closeSync(handle);
    renameSync(temporary, path);
  } catch (error) {
    rmSync(temporary, { force: true });
    throw (error as NodeJS.ErrnoException).syscall === undefined ? error : new FileProblem(path, 'writing', error);
  }
}
