import { spawn } from 'node:child_process';
import { createWriteStream, existsSync } from 'node:fs';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { createInterface } from 'node:readline';
import { CannotRun } from './kernel.ts';

/** How one boot ended. */
export interface VmRun {
  /** What stood behind each RESULT on the serial line. */
  readonly results: readonly unknown[];
  readonly passed: boolean;
  /** One sentence when the guest did not come to its verdict. */
  readonly fault: string | null;
  readonly log: string;
}

const QEMU = 'qemu-system-x86_64';
/** Limits of seconds for a machine that hangs; a boot takes about 8 s, the cases two to three minutes. */
const START_limit_ms = 240_000;
const WHOLE_limit_ms = 1_800_000;

/** @throws CannotRun with what to install */
export function requireQemu(): void {
  if (process.platform !== 'linux' || process.arch !== 'x64') {
    throw new CannotRun('the kernel test runs on x86-64 Linux only');
  }
  const folders = (process.env.PATH ?? '').split(delimiter);
  if (!folders.some((folder) => existsSync(join(folder, QEMU)))) {
    throw new CannotRun('qemu-system-x86 is not installed');
  }
}

/** @returns a fresh folder for the image and the serial log of one boot */
export function bootFolder(): Promise<string> {
  return mkdtemp(join(tmpdir(), 'tapstone-kernel-'));
}

/** Removes a boot's folder: when the run failed, all of it but the serial log. */
export async function discard(folder: string, keepLog: boolean): Promise<void> {
  if (keepLog) await rm(join(folder, 'image.cpio'), { force: true });
  else await rm(folder, { recursive: true, force: true });
}

/** Boots the image in software emulation and reads its serial line to the end. */
export async function boot(folder: string, vmlinux: string, image: string): Promise<VmRun> {
  const log = join(folder, 'serial.log');
  const child = spawn(QEMU, qemuArguments(vmlinux, image), { stdio: ['ignore', 'pipe', 'pipe'] });
  const file = createWriteStream(log);
  const results: unknown[] = [];
  let verdict: 'TEST-OK' | 'TEST-FAIL' | null = null;
  let fault: string | null = null;
  const give = (reason: string): void => {
    fault ??= reason;
    child.kill('SIGKILL');
  };
  const start = setTimeout(() => give('the VM did not start'), START_limit_ms);
  const whole = setTimeout(() => give('the guest did not come to an end'), WHOLE_limit_ms);
  const ended = new Promise<void>((resolve) => {
    child.once('error', (error) => {
      fault ??= `${QEMU}: ${error.message}`;
      resolve();
    });
    child.once('close', () => resolve());
  });
  child.stderr.on('data', (chunk: Buffer) => file.write(chunk));
  for await (const line of createInterface({ input: child.stdout, crlfDelay: Infinity })) {
    file.write(`${line}\n`);
    if (line.includes('INIT-STARTED')) clearTimeout(start);
    const at = line.indexOf('RESULT {');
    if (at >= 0) results.push(parsed(line.slice(at + 7)));
    if (line.includes('TEST-OK')) verdict = 'TEST-OK';
    if (line.includes('TEST-FAIL')) verdict = 'TEST-FAIL';
  }
  await ended;
  clearTimeout(start);
  clearTimeout(whole);
  await new Promise<void>((resolve) => file.end(() => resolve()));
  if (verdict === null) fault ??= 'the guest ended without a verdict';
  return { results, passed: verdict === 'TEST-OK', fault, log };
}

/** A line that the kernel's own messages broke in two is no result; its case then fails. */
function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return { broken: text };
  }
}

function qemuArguments(vmlinux: string, image: string): string[] {
  return [
    ...['-M', 'pc', '-m', '640', '-smp', '1', '-accel', 'tcg'],
    ...['-nodefaults', '-nographic', '-no-reboot', '-serial', 'stdio'],
    ...['-netdev', 'user,id=n', '-device', 'virtio-net-pci,netdev=n,romfile='],
    ...['-kernel', vmlinux, '-initrd', image],
    ...['-append', 'console=ttyS0 quiet panic=-1 tsc=unstable no_timer_check'],
  ];
}
