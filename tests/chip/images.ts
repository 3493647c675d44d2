/**
 * Firmware images for tests: the product's, and one with the probe module (firmware/probe). Built when they
 * are missing or older than what goes into them; test files run side by side, so one builds and the others wait.
 */
import { execFileSync, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

export const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const FIRMWARE = join(ROOT, 'firmware');
const LOGIC = join(ROOT, 'shared-logic/build/logic.wasm');

/** Everything that an image is made of, in one number. */
function fingerprint(wasm: string): string {
  const hash = createHash('sha256');
  const files = ['', 'drivers', 'registers'].flatMap((folder) => {
    const parts = readdirSync(join(FIRMWARE, folder)).filter((name) => /\.(c|h|S|ld|mjs|ts|txt)$/.test(name));
    return parts.map((name) => join(FIRMWARE, folder, name));
  });
  for (const file of [...files.sort(), join(ROOT, 'package.json'), join(ROOT, 'host/src/logic/layout.generated.ts'), wasm]) {
    hash.update(readFileSync(file));
  }
  return hash.digest('hex');
}

/** Waits for whoever builds; a builder that died leaves a stale lock, which is taken over. */
function locked<T>(name: string, act: () => T): T {
  const lock = join(ROOT, 'build', `${name}.lock`);
  mkdirSync(join(ROOT, 'build'), { recursive: true });
  for (;;) {
    try {
      mkdirSync(lock);
      break;
    } catch {
      if (existsSync(lock) && Date.now() - statSync(lock).mtimeMs > 300_000) rmSync(lock, { recursive: true, force: true });
      Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 200);
    }
  }
  try {
    return act();
  } finally {
    rmSync(lock, { recursive: true, force: true });
  }
}

function built(name: string, wasm: string, out: string): string {
  return locked(`firmware-${name}`, () => {
    const elf = join(out, 'tapstone.elf');
    const stamp = join(out, 'made-of');
    const wanted = fingerprint(wasm);
    if (existsSync(elf) && existsSync(stamp) && readFileSync(stamp, 'utf8') === wanted) return elf;
    rmSync(stamp, { force: true });
    const { status, stderr } = spawnSync(process.execPath, [join(FIRMWARE, 'build.mjs'), '--out', out, '--wasm', wasm], { encoding: 'utf8' });
    if (status !== 0) throw new Error(`the firmware does not build: ${stderr}`);
    writeFileSync(stamp, wanted);
    return elf;
  });
}

/** The image that is flashed. @returns path of the ELF; the UF2 lies beside it */
export function productImage(): string {
  return built('product', LOGIC, join(FIRMWARE, 'build'));
}

/** The firmware with the probe module in it. */
export function probeImage(): string {
  const out = join(ROOT, 'build/firmware-probe');
  const wasm = join(out, 'probe.wasm');
  locked('firmware-probe-wasm', () => {
    mkdirSync(out, { recursive: true });
    const source = join(FIRMWARE, 'probe/index.ts');
    const made_ms = existsSync(wasm) ? statSync(wasm).mtimeMs : 0;
    // What it imports counts as well.
    if ([source, join(ROOT, 'shared-logic/assembly/layout.ts')].every((file) => made_ms > statSync(file).mtimeMs)) return;
    const asc = createRequire(import.meta.url).resolve('assemblyscript/bin/asc.js');
    const config = join(out, 'empty.asconfig.json');
    writeFileSync(config, '{}');
    const flags = ['--config', config, '--runtime', 'stub', '-O3', '--use', 'abort=', '--initialMemory', '3', '--maximumMemory', '3',
      '--memoryBase', '57344', '-o', `${wasm}.new`];
    execFileSync(process.execPath, [asc, source, ...flags], { stdio: 'pipe' });
    renameSync(`${wasm}.new`, wasm);
  });
  return built('probe', wasm, out);
}
