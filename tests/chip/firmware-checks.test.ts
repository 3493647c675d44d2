/**
 * Judges of the firmware that are not ours: the compilers' and two checkers' own rules, the maker's register description, and another
 * CPU emulator. Each suppression stands with its reason in firmware/.clang-tidy and firmware/cppcheck-suppressions.txt.
 */
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { CFLAGS, WARNINGS } from '../../firmware/flags.ts';
import { EVIDENCE } from '../../host/src/logic/layout.generated.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { productImage, ROOT } from './images.ts';
import { randomEvidence } from './random-evidence.ts';
import { askPython } from '../reference/python.ts';
import registers from './rp2040-registers.json' with { type: 'json' };

const FIRMWARE = join(ROOT, 'firmware');
const VERSION = ['-DFIRMWARE_MAJOR=0', '-DFIRMWARE_MINOR=1', '-DFIRMWARE_PATCH=0'];
const sources = ['', 'drivers'].flatMap((folder) =>
  readdirSync(join(FIRMWARE, folder)).filter((name) => name.endsWith('.c')).map((name) => join(folder, name)));

let image: string;
let scratch: string;
beforeAll(() => {
  image = productImage();
  scratch = mkdtempSync(join(tmpdir(), 'tapstone-checks-'));
});
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

/** What a command of Debian's says, without what it says when all is well. */
function said(command: string, args: readonly string[]): { status: number | null; text: string } {
  const { status, stdout, stderr, error } = spawnSync(command, args, { cwd: FIRMWARE, encoding: 'utf8' });
  if (error) throw new Error(`${command} is missing: the test command installs it (tests/setup/debian-packages.mjs)`);
  return { status, text: `${stdout}${stderr}` };
}

describe('compilers and checkers', () => {
  it('gcc: no warning of -Wconversion, and nothing found by -fanalyzer', () => {
    for (const source of sources) {
      const { status, text } = said('arm-none-eabi-gcc', [
        ...CFLAGS, ...WARNINGS, '-O2', '-fanalyzer', ...VERSION, '-I', 'build', '-I', '.', '-c', source, '-o', join(scratch, 'object.o'),
      ]);
      expect(`${source} ${status} ${text}`).toBe(`${source} 0 `);
    }
  }, 300_000);
  it('cppcheck: clean', () => {
    const { status, text } = said('cppcheck', [
      '--enable=warning,style,performance,portability', '--std=c11', '--platform=unspecified', '--quiet', '--error-exitcode=1',
      '--suppressions-list=cppcheck-suppressions.txt', ...VERSION, '-DNDEBUG', '-I', 'build', '-I', '.', ...sources,
    ]);
    expect(text).toBe('');
    expect(status).toBe(0);
  }, 300_000);
  it('clang-tidy: clean', () => {
    const { status, text } = said('clang-tidy', [
      '--quiet', ...sources, '--', '--target=thumbv6m-none-eabi', '-mcpu=cortex-m0plus', '-std=c11', '-ffreestanding', '-fshort-enums',
      '-isystem', '/usr/include/newlib', '-DNDEBUG', ...VERSION, '-I', 'build', '-I', '.',
    ]);
    // It counts what it has seen in headers of others; what it has to say has a place.
    expect(text.split('\n').filter((line) => /: (warning|error):/.test(line))).toEqual([]);
    expect(status).toBe(0);
  }, 300_000);
});

describe('registers (RP2040.svd of the chip\'s maker: tests/chip/rp2040-registers.json says which one)', () => {
  const headers = readdirSync(join(FIRMWARE, 'registers')).map((name) => readFileSync(join(FIRMWARE, 'registers', name), 'utf8')).join('\n');
  it('every single bit that the firmware names is where the description has it', () => {
    const bits = [...headers.matchAll(/^#define (\w+) \(1u << (\d+)\)/gm)].map(([, name, bit]) => [name, Number(bit)] as const);
    expect(bits.length).toBeGreaterThan(60);
    const known: Readonly<Record<string, { field: string; bit: number }>> = registers.bits;
    for (const [name, bit] of bits) expect([name, bit]).toEqual([name, known[name]?.bit]);
  });
  it('every register that the firmware names lies where the description has it', () => {
    const checks = registers.registers.map(({ block, member, path, address }) =>
      `_Static_assert((uint32_t)${block} + __builtin_offsetof(__typeof__(*${block}), ${member}) == ${address}u, "${path}");`);
    expect(checks.length).toBeGreaterThan(60);
    const file = join(scratch, 'registers.c');
    const includes = readdirSync(join(FIRMWARE, 'registers')).map((name) => `#include "registers/${name}"`);
    writeFileSync(file, [...includes, ...checks, ''].join('\n'));
    const { status, text } = said('arm-none-eabi-gcc', [...CFLAGS, '-I', '.', '-c', file, '-o', join(scratch, 'registers.o')]);
    expect(text).toBe('');
    expect(status).toBe(0);
  });
});

describe('the module\'s code in another CPU emulator (Unicorn, which is QEMU\'s)', () => {
  it('60 solves leave the very bytes that they leave in Node.js, all 192 KiB', () => {
    const chance = new RandomStream(0x0c0, 'another emulator');
    const logic = createLogic();
    const start = Uint8Array.from(logic.bytes);
    const evidences = Array.from({ length: 60 }, (_, i) => randomEvidence(logic, chance, i));
    const expected = evidences.map((evidence) => {
      logic.bytes.set(start);
      logic.bytes.set(evidence, EVIDENCE);
      logic.calls.solve();
      return createHash('sha256').update(logic.bytes).digest('hex');
    });
    const answer = askPython<{ memories: string[] }>('unicorn_solves.py', {
      elf: image, start: Buffer.from(start).toString('base64'), evidence_at: EVIDENCE,
      evidences: evidences.map((evidence) => Buffer.from(evidence).toString('base64')),
    });
    expect(answer.memories).toEqual(expected);
    expect(new Set(expected).size).toBeGreaterThan(50);
  }, 300_000);
});
