/** Reading and writing files; what the system says is passed on as a code, worded elsewhere. */
import { open, rename, rm, type FileHandle } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { randomBytes } from 'node:crypto';

/** Bytes asked for at a time. */
const CHUNK_bytes = 1 << 20;

/** A file that could not be read or written. */
export class FileProblem extends Error {
  readonly path: string;
  readonly doing: 'reading' | 'writing';
  /** The system's error code, such as `ENOENT`. */
  readonly code: string;

  constructor(path: string, doing: 'reading' | 'writing', error: unknown) {
    const code = (error as NodeJS.ErrnoException | null)?.code ?? String(error);
    super(`${doing} ${path}: ${code}`);
    this.name = 'FileProblem';
    this.path = path;
    this.doing = doing;
    this.code = code;
  }
}

/** A file or standard input, read in order. */
export interface ByteSource {
  /** Size when it is known beforehand (a plain file), else null. */
  readonly size_bytes: number | null;
  /** The next bytes in a buffer of its own, or null at the end. @throws FileProblem */
  next(): Promise<Uint8Array | null>;
  close(): Promise<void>;
}

/** Opens a file, or standard input for `-`.
 * @param path - as the user wrote it
 * @throws FileProblem when it does not exist, is a folder or may not be read
 */
export async function openSource(path: string): Promise<ByteSource> {
  if (path === '-') return standardInput();
  let handle: FileHandle | undefined;
  try {
    handle = await open(path, 'r');
    const status = await handle.stat();
    if (status.isDirectory()) throw Object.assign(new Error('folder'), { code: 'EISDIR' });
    return fileSource(path, handle, status.isFile() ? status.size : null);
  } catch (error) {
    await handle?.close();
    throw new FileProblem(path, 'reading', error);
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
        throw new FileProblem(path, 'reading', error);
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
        return done === true ? null : value;
      } catch (error) {
        throw new FileProblem('-', 'reading', error);
      }
    },
    async close() {
      process.stdin.destroy();
    },
  };
}

/** Writes a whole file or none: a reader never sees half of it, and an older file stays when writing fails.
 * @param path - as the user wrote it
 * @throws FileProblem
 */
export async function writeWhole(path: string, text: string): Promise<void> {
  const temporary = join(
    dirname(path),
    `.${basename(path).slice(0, 100)}.${randomBytes(6).toString('hex')}.part`,
  );
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
    throw new FileProblem(path, 'writing', error);
  }
}
