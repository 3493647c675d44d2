/** Reading and writing files; what the system says is passed on as a code, worded elsewhere. */
import { constants, fstat, fstatSync, writeFile, type Stats } from 'node:fs';
import { access, copyFile, lstat, mkdtemp, open, readdir, readlink, rename, rm, stat, type FileHandle } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { basename, dirname, isAbsolute, join } from 'node:path';
import { randomBytes } from 'node:crypto';

const [STDIN, STDOUT, STDERR] = [0, 1, 2];
/** Where Linux shows what a process has open, and where its names stand for that. */
const MAGIC_FOLDER = /^\/proc\/[^/]+(\/task\/[^/]+)?\/fd$|^\/dev\/fd$/;
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
  /** The next bytes, in a buffer of their own and of their size, or null at the end. @throws FileProblem */
  next(): Promise<Uint8Array | null>;
  close(): Promise<void>;
}

/** Opens a file, or standard input for `-`.
 * @param path - as the user wrote it
 * @throws FileProblem when it does not exist, is a folder or may not be read
 */
export async function openSource(path: string): Promise<ByteSource> {
  if (path === '-') {
    // A folder would be read as if it were empty.
    if ((await statusOf('-'))?.isDirectory() === true) throw new FileProblem(path, 'reading', { code: 'EISDIR' });
    return standardInput();
  }
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
  // One for all reads: a pipe may hand out a few bytes at a time, and each would keep a chunk alive.
  const buffer = new Uint8Array(CHUNK_bytes);
  return {
    size_bytes,
    async next() {
      try {
        const { bytesRead } = await handle.read(buffer, 0, CHUNK_bytes, null);
        return bytesRead === 0 ? null : buffer.slice(0, bytesRead);
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

/** A whole file in memory.
 * @param path - as the user wrote it
 * @param most_bytes - what it may hold
 * @returns its bytes, or null when there are more than that; no more is read then
 * @throws FileProblem
 */
export async function readAtMost(path: string, most_bytes: number): Promise<Uint8Array | null> {
  const source = await openSource(path);
  const chunks: Uint8Array[] = [];
  let length = 0;
  try {
    for (let chunk = await source.next(); chunk !== null; chunk = await source.next()) {
      chunks.push(chunk);
      length += chunk.length;
      if (length > most_bytes) return null;
    }
  } finally {
    await source.close();
  }
  return Buffer.concat(chunks);
}

/** Our own code for a device or a pipe where a file has to be. */
export const NO_FILE = 'NO_FILE';
const OWN_CODES: ReadonlySet<unknown> = new Set([NO_FILE, 'EISDIR', 'ELOOP']);
const isOwnCode = (error: unknown): boolean => OWN_CODES.has((error as NodeJS.ErrnoException).code);

/** Links that are followed one after the other before they count as a circle, as Linux does. */
const LINKS_MOST = 40;

/** Writes a whole file or none: a reader never sees half of it, and an older file stays when writing fails.
 * A link stays and the file that it leads to is written; a device, a pipe and our own standard output are written through.
 * @param path - as the user wrote it
 * @throws FileProblem
 */
export async function writeWhole(path: string, text: string | Uint8Array): Promise<void> {
  try {
    const target = await followLinks(path);
    const status = await stat(target).catch(unlessMissing);
    const output = status === null ? null : await ownOutput(status);
    if (output !== null) await writeDescriptor(output, text);
    else if (status === null || status.isFile()) await replaceFile(target, status, (temporary) => writeNew(temporary, text));
    else await writeThrough(target, text);
  } catch (error) {
    throw new FileProblem(path, 'writing', error);
  }
}

/** Whether a file can be written, as far as that can be told beforehand. @throws FileProblem when it cannot */
export async function expectWritable(path: string): Promise<void> {
  try {
    const target = await followLinks(path);
    const status = await stat(target).catch(unlessMissing);
    if (status?.isDirectory() === true) throw Object.assign(new Error('folder'), { code: 'EISDIR' });
    if (status !== null) await access(target, constants.W_OK);
    if (status === null || status.isFile()) await access(dirname(target), constants.W_OK);
  } catch (error) {
    throw new FileProblem(path, 'writing', error);
  }
}

/** As `writeWhole`, for a file that another program (a database) writes by itself, which nothing but a file can be.
 * @param make - writes the file of this name, which is not there yet
 * @param logs - endings of files beside the older one that would be taken for the new one's: they are set aside
 * @returns the names under which such files now lie
 * @throws FileProblem; whatever else `make` throws
 */
export async function madeWhole(path: string, make: (temporary: string) => void, logs: readonly string[]): Promise<string[]> {
  const moved: string[] = [];
  try {
    const target = await followLinks(path);
    const status = await stat(target).catch(unlessMissing);
    if (status !== null && !status.isFile()) throw Object.assign(new Error('special'), { code: status.isDirectory() ? 'EISDIR' : NO_FILE });
    await removeLeftOver(target);
    await replaceFile(target, status, async (temporary) => {
      make(temporary);
      for (const log of logs) moved.push(...await setAside(`${target}${log}`));
    });
    return moved;
  } catch (error) {
    throw (error as NodeJS.ErrnoException).syscall === undefined && !isOwnCode(error) ? error : new FileProblem(path, 'writing', error);
  }
}

/** Moves what is of this name, if anything, to a name of which there is nothing. @returns that name, or nothing */
async function setAside(path: string): Promise<string[]> {
  if ((await lstat(path).catch(unlessMissing)) === null) return [];
  for (let count = 1; ; count += 1) {
    const free = `${path}.${count}`;
    if ((await lstat(free).catch(unlessMissing)) !== null) continue;
    await rename(path, free);
    return [free];
  }
}

/** What programs that were killed left of this file when they made it; those that still run keep theirs. */
async function removeLeftOver(target: string): Promise<void> {
  const begin = partBegin(target);
  for (const name of await readdir(dirname(target))) {
    const [, maker] = name.startsWith(begin) ? /^(\d+)-[0-9a-f]{12}\.part(-[a-z]+)?$/.exec(name.slice(begin.length)) ?? [] : [];
    if (maker !== undefined && !isRunning(Number(maker))) await rm(join(dirname(target), name), { force: true });
  }
}

function isRunning(program: number): boolean {
  try {
    return process.kill(program, 0);
  } catch (error) {
    return (error as NodeJS.ErrnoException).code !== 'ESRCH';
  }
}

/** How the names of new files begin that are to take the place of this one. */
function partBegin(target: string): string {
  return `.${basename(target).slice(0, 100)}.`;
}

/** Does something with a folder of its own, which is gone afterwards. */
export async function inOwnFolder<T>(act: (folder: string) => Promise<T>): Promise<T> {
  const folder = await mkdtemp(join(tmpdir(), 'tapstone-'));
  try {
    return await act(folder);
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

/** Copies a file byte by byte. @param target - a file that is not there @throws FileProblem */
export async function copyBytes(path: string, target: string): Promise<void> {
  await copyFile(path, target, constants.COPYFILE_EXCL).catch((error: unknown) => {
    throw new FileProblem(target, 'writing', error);
  });
}

/** Whether there is anything of this name. @throws FileProblem when that cannot be told */
export async function isThere(path: string): Promise<boolean> {
  try {
    return (await stat(path).catch(unlessMissing)) !== null;
  } catch (error) {
    throw new FileProblem(path, 'reading', error);
  }
}

/** Names of the files of a folder that end so, in the order of the alphabet. @throws FileProblem */
export async function filesIn(folder: string, ending: string): Promise<string[]> {
  try {
    return (await readdir(folder)).filter((name) => name.endsWith(ending)).sort();
  } catch (error) {
    throw new FileProblem(folder, 'reading', error);
  }
}

/** Whether two names, `-` for standard input, are one plain file, so that writing one would overwrite the other. */
export async function isSameFile(a: string, b: string): Promise<boolean> {
  const [first, second] = await Promise.all([statusOf(a), statusOf(b)]);
  return first !== null && second !== null && first.isFile() && isSame(first, second);
}

/** What a name leads to, or null when it cannot be told: whoever reads or writes it will say why. */
async function statusOf(name: string): Promise<Stats | null> {
  try {
    return name === '-' ? fstatSync(STDIN) : await stat(name);
  } catch {
    return null;
  }
}

function isSame(a: Stats, b: Stats): boolean {
  return a.dev === b.dev && a.ino === b.ino;
}

function unlessMissing(error: NodeJS.ErrnoException): null {
  if (error.code !== 'ENOENT') throw error;
  return null;
}

/** The name behind links, whether or not there is a file of that name. */
async function followLinks(path: string): Promise<string> {
  let target = path;
  for (let links = 0; links < LINKS_MOST; links += 1) {
    const status = await lstat(target).catch(unlessMissing);
    if (status === null || !status.isSymbolicLink()) return target;
    // `/dev/stdout` and its like lead to what is open, by a name that need not be there any more.
    if (MAGIC_FOLDER.test(dirname(target))) return target;
    const next = await readlink(target);
    // Not `join`, which would take `..` off before links on the way are followed.
    target = isAbsolute(next) ? next : `${dirname(target)}/${next}`;
  }
  throw Object.assign(new Error('links'), { code: 'ELOOP' });
}

/** The descriptor of standard output or error, when a plain file is just that one: replaced, its other half would be lost. */
async function ownOutput(status: Stats): Promise<number | null> {
  if (!status.isFile()) return null;
  for (const descriptor of [STDOUT, STDERR]) {
    const open = await statusOfDescriptor(descriptor);
    if (open !== null && isSame(open, status)) return descriptor;
  }
  return null;
}

function statusOfDescriptor(descriptor: number): Promise<Stats | null> {
  return new Promise((resolve) => fstat(descriptor, (error, status) => resolve(error === null ? status : null)));
}

function writeDescriptor(descriptor: number, text: string | Uint8Array): Promise<void> {
  return new Promise((resolve, reject) => {
    writeFile(descriptor, text, 'utf8', (error) => (error === null ? resolve() : reject(error)));
  });
}

async function writeThrough(path: string, text: string | Uint8Array): Promise<void> {
  const handle = await open(path, constants.O_WRONLY);
  try {
    await handle.writeFile(text, 'utf8');
  } finally {
    await handle.close();
  }
}

async function writeNew(path: string, text: string | Uint8Array): Promise<void> {
  const handle = await open(path, 'wx');
  try {
    await handle.writeFile(text, 'utf8');
  } finally {
    await handle.close();
  }
}

/** @param older - the file of this name, or null @param make - writes the new one under the name that it is given */
async function replaceFile(path: string, older: Stats | null, make: (temporary: string) => void | Promise<void>): Promise<void> {
  // Only the folder is asked when a name changes hands; a file that its owner closed to writing is to stay.
  if (older !== null) await access(path, constants.W_OK);
  const temporary = join(
    dirname(path),
    `${partBegin(path)}${process.pid}-${randomBytes(6).toString('hex')}.part`,
  );
  let handle: FileHandle | undefined;
  try {
    await make(temporary);
    handle = await open(temporary, 'r+');
    if (older !== null) await handle.chmod(older.mode & 0o7777);
    await handle.sync();
    await handle.close();
    handle = undefined;
    await rename(temporary, path);
  } catch (error) {
    await handle?.close().catch(() => undefined);
    await rm(temporary, { force: true }).catch(() => undefined);
    throw error;
  }
}
