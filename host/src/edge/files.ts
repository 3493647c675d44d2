/** Reading and writing files; errors of the system become one sentence and an exit code. */
import { open, rename, rm, type FileHandle } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { randomBytes } from 'node:crypto';
import { UserError } from '../cli/errors.ts';
import { EXIT } from '../cli/exit-codes.ts';
import { printable } from '../cli/printable.ts';

/** Bytes asked for at a time. */
const CHUNK_bytes = 1 << 20;

/** A file or standard input, read in order. */
export interface ByteSource {
  /** Size when it is known beforehand (a plain file), else null. */
  readonly size_bytes: number | null;
  /** The next bytes in a buffer of its own, or null at the end. */
  next(): Promise<Uint8Array | null>;
  close(): Promise<void>;
}

/** Opens a file, or standard input for `-`.
 * @param path - as the user wrote it
 * @throws UserError (66) when it does not exist, is a folder or may not be read
 */
export async function openSource(path: string): Promise<ByteSource> {
  if (path === '-') return standardInput();
  let handle: FileHandle | undefined;
  try {
    handle = await open(path, 'r');
    const status = await handle.stat();
    if (status.isDirectory()) throw folderError(path);
    return fileSource(path, handle, status.isFile() ? status.size : null);
  } catch (error) {
    await handle?.close();
    throw asReadError(path, error);
  }
}

function fileSource(path: string, handle: FileHandle, size_bytes: number | null): ByteSource {
  return {
    size_bytes,
    async next() {
      const buffer = new Uint8Array(CHUNK_bytes);
      try {
        const { bytesRead } = await handle.read(buffer, 0, CHUNK_bytes, null);
        return bytesRead === 0 ? null : buffer.subarray(0, bytesRead);
      } catch (error) {
        throw asReadError(path, error);
      }
    },
    close: () => handle.close(),
  };
}

function standardInput(): ByteSource {
  const chunks = process.stdin[Symbol.asyncIterator]() as AsyncIterator<Uint8Array>;
  return {
    size_bytes: null,
    async next() {
      try {
        const { value, done } = await chunks.next();
        return done ? null : value;
      } catch (error) {
        throw asReadError('-', error);
      }
    },
    async close() {
      process.stdin.destroy();
    },
  };
}

function folderError(path: string): UserError {
  return new UserError(`${printable(path)}: this is a folder; expected a file`, EXIT.noInput);
}

function asReadError(path: string, error: unknown): UserError {
  if (error instanceof UserError) return error;
  const code = (error as NodeJS.ErrnoException).code;
  const name = printable(path);
  switch (code) {
    case 'ENOENT':
    case 'ENOTDIR':
      return new UserError(`${name}: no such file; expected the path of a file`, EXIT.noInput);
    case 'EISDIR':
      return folderError(path);
    case 'EACCES':
    case 'EPERM':
      return new UserError(`${name}: this file may not be read; change its permissions`, EXIT.noInput);
    case 'ENAMETOOLONG':
      return new UserError(`${name}: this name is too long; expected the path of a file`, EXIT.noInput);
    default:
      return new UserError(`${name}: cannot be read (${printable(code ?? String(error))})`, EXIT.noInput);
  }
}

/** Writes a whole file or none: a reader never sees half of it, and an older file stays when writing fails.
 * @param path - as the user wrote it
 * @throws UserError (74) naming the path and why
 */
export async function writeWhole(path: string, text: string): Promise<void> {
  const temporary = join(dirname(path), `.${basename(path)}.${randomBytes(6).toString('hex')}.part`);
  let handle: FileHandle | undefined;
  try {
    handle = await open(temporary, 'wx');
    await handle.writeFile(text, 'utf8');
    await handle.sync();
    await handle.close();
    handle = undefined;
    await rename(temporary, path);
  } catch (error) {
    await handle?.close().catch(() => undefined);
    await rm(temporary, { force: true }).catch(() => undefined);
    throw new UserError(`${printable(path)}: cannot be written: ${writeReason(error)}`, EXIT.cannotWrite);
  }
}

function writeReason(error: unknown): string {
  const code = (error as NodeJS.ErrnoException).code;
  switch (code) {
    case 'ENOENT':
    case 'ENOTDIR':
      return 'its folder does not exist';
    case 'EISDIR':
      return 'a folder has this name';
    case 'EACCES':
    case 'EPERM':
    case 'EROFS':
      return 'writing there is not permitted';
    case 'ENOSPC':
    case 'EDQUOT':
      return 'the disk is full';
    default:
      return printable(code ?? String(error));
  }
}
