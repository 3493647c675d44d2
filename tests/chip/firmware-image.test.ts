/** The image that is flashed: its checksum, its blocks, its size, and that it is the same from the same sources. */
import { execFileSync, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { crc32Mpeg2 } from '../../host/src/logic/calibration-page.ts';
import { segmentsOf, symbolsOf } from '../../host/src/chip-twin/elf.ts';
import { MANUFACTURER, PRODUCT, PRODUCT_ID, USAGE, USAGE_PAGE, VENDOR_ID } from '../../host/src/transport/identity.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { productImage, ROOT } from './images.ts';

const text = (path: string): string => readFileSync(join(ROOT, path), 'utf8');
let elfFile: string;
let elf: Uint8Array;
let uf2: Buffer;

beforeAll(() => {
  elfFile = productImage();
  elf = new Uint8Array(readFileSync(elfFile));
  uf2 = readFileSync(elfFile.replace(/elf$/, 'uf2'));
});

describe('second-stage checksum (RP2040 data sheet, 2.8.1.3.1)', () => {
  it('catalogue of parametrised CRC algorithms, CRC-32/MPEG-2: "123456789" gives 0376E6E7', () => {
    expect(crc32Mpeg2(Buffer.from('123456789')).toString(16)).toBe('376e6e7');
  });
  it('RP2040 data sheet 2.8.1.3.1: 252 zero bytes give 7065399A', () => {
    expect(crc32Mpeg2(new Uint8Array(252)).toString(16)).toBe('7065399a');
  });
  it('stands, little-endian, in bytes 252 to 255 of flash', () => {
    const flash = segmentsOf(elf)[0];
    expect(flash.address).toBe(0x10000000);
    const told = new DataView(flash.bytes.buffer, flash.bytes.byteOffset + 252, 4).getUint32(0, true);
    expect(told).toBe(crc32Mpeg2(flash.bytes.subarray(0, 252)));
  });
});

describe('UF2', () => {
  it('UF2 specification: every block has the three magic numbers, the family, 256 bytes at a multiple of 256', () => {
    const blocks = uf2.length / 512;
    for (let i = 0; i < blocks; i++) {
      const word = (at: number): number => uf2.readUInt32LE(i * 512 + at);
      expect([word(0), word(4), word(508)]).toEqual([0x0a324655, 0x9e5d5157, 0x0ab16f30]);
      expect([word(8), word(12), word(16), word(20), word(24)]).toEqual([0x2000, 0x10000000 + 256 * i, 256, i, blocks]);
      expect(word(28)).toBe(0xe48bff56);
    }
  });
  it('holds in its payloads exactly what the ELF puts into flash', () => {
    const image = Buffer.concat(Array.from({ length: uf2.length / 512 }, (_, i) => uf2.subarray(i * 512 + 32, i * 512 + 288)));
    for (const { address, bytes } of segmentsOf(elf)) {
      const at = address - 0x10000000;
      expect(Buffer.compare(image.subarray(at, at + bytes.length), Buffer.from(bytes))).toBe(0);
    }
  });
  it('is what the boot ROM takes, in any order of its blocks (RP2040 data sheet 2.8.4.2 and 2.8.5.1.2)', () => {
    const blocks = Array.from({ length: uf2.length / 512 }, (_, i) => uf2.subarray(512 * i, 512 * (i + 1)));
    const flash = new Uint8Array(2 << 20).fill(0x5a);
    const seen = new Set<number>();
    const erased = new Set<number>();
    let restarts = 0;
    const take = (block: Uint8Array): void => {
      const view = new DataView(block.buffer, block.byteOffset, block.byteLength);
      const [flags, address, size, number, count, family] = [8, 12, 16, 20, 24, 28].map((at) => view.getUint32(at, true));
      // A block with another family, of what is no flash (flag 1) or without a family (flag 0x2000) is passed over.
      if ((flags & 1) !== 0 || (flags & 0x2000) === 0 || family !== 0xe48bff56) return;
      if (size !== 256 || address % 256 !== 0 || address < 0x10000000 || address >= 0x11000000 || number >= count) throw new Error(`block ${number}`);
      const at = address - 0x10000000;
      // A sector is erased with the first of its pages that comes.
      if (!erased.has(at >> 12)) flash.fill(0xff, (at >> 12) << 12, ((at >> 12) + 1) << 12);
      erased.add(at >> 12);
      flash.set(block.subarray(32, 288), at);
      seen.add(number);
      if (seen.size === count) restarts++;
    };
    const chance = new RandomStream(0x0f2, 'order of blocks');
    const order = blocks.map((block) => ({ block, key: chance.bits() })).sort((a, b) => a.key - b.key);
    for (const { block } of order) take(block);
    expect(restarts).toBe(1);
    for (const { address, bytes } of segmentsOf(elf)) {
      const at = address - 0x10000000;
      expect(Buffer.compare(Buffer.from(flash.subarray(at, at + bytes.length)), Buffer.from(bytes))).toBe(0);
    }
    // What was calibrated stays: its sectors, the last two, are not touched.
    expect(flash.subarray((2 << 20) - 8192).every((byte) => byte === 0x5a)).toBe(true);
  });
  it('is known to libmagic, and so is the ELF', () => {
    const kind = (path: string): string => execFileSync('file', ['-b', path], { encoding: 'utf8' });
    expect(kind(elfFile.replace(/elf$/, 'uf2'))).toMatch(/^UF2 firmware image, family Raspberry Pi RP2040, address 0x10000000/);
    expect(kind(elfFile)).toMatch(/^ELF 32-bit LSB executable, ARM, EABI5/);
  });
});

describe('image', () => {
  it('has its vector table at 0x10000100, with a stack that can be used whole and an entry in flash', () => {
    const flash = segmentsOf(elf)[0].bytes;
    const view = new DataView(flash.buffer, flash.byteOffset);
    const symbols = symbolsOf(elf);
    expect(view.getUint32(0x100, true)).toBe(symbols.get('stack_top')!.address);
    expect(view.getUint32(0x104, true)).toBe(symbols.get('reset_entry')!.address | 1);
    expect(symbols.get('stack_bottom')!.address).toBe(0x20000000);
    expect(symbols.get('stack_top')!.address - 0x20000000).toBeGreaterThanOrEqual(8192);
  });
  it('takes at most 192 KiB of the flash, below the calibration page, and 264 KiB of RAM', () => {
    const symbols = symbolsOf(elf);
    expect((uf2.length / 512) * 256).toBeLessThanOrEqual(192 * 1024);
    expect(symbols.get('ram_end')!.address).toBeLessThanOrEqual(0x20042000);
  });
  it('holds the SHA-256 of the module that lies beside it', () => {
    const hash = createHash('sha256').update(readFileSync(join(ROOT, 'shared-logic/build/logic.wasm'))).digest();
    expect(segmentsOf(elf).some(({ bytes }) => Buffer.from(bytes).includes(hash))).toBe(true);
  });
  it('is the same, byte for byte, when it is built in another folder', () => {
    const out = mkdtempSync(join(tmpdir(), 'tapstone-firmware-'));
    try {
      const { status, stderr } = spawnSync(process.execPath, [join(ROOT, 'firmware/build.mjs'), '--out', out], { encoding: 'utf8' });
      expect(stderr).toBe('');
      expect(status).toBe(0);
      expect(Buffer.compare(readFileSync(join(out, 'tapstone.elf')), Buffer.from(elf))).toBe(0);
      expect(Buffer.compare(readFileSync(join(out, 'tapstone.uf2')), uf2)).toBe(0);
    } finally {
      rmSync(out, { recursive: true, force: true });
    }
  });
});

describe('what is told twice', () => {
  it('is the same USB identity in firmware and host', () => {
    // The device descriptor as it lies in flash: USB 2.0, table 9-8.
    const flash = Buffer.concat(segmentsOf(elf).map(({ bytes }) => bytes));
    const at = flash.indexOf(Buffer.from([18, 1, 0x00, 0x02, 0, 0, 0, 64]));
    expect([flash.readUInt16LE(at + 8), flash.readUInt16LE(at + 10)]).toEqual([VENDOR_ID, PRODUCT_ID]);
    for (const name of [MANUFACTURER, PRODUCT]) expect(flash.includes(Buffer.from(`${name}\0`))).toBe(true);
    expect([USAGE_PAGE, USAGE]).toEqual([0xff00, 1]);
  });
  it('is the same range of codes in capture.c and in the virtual bench', () => {
    const firmware = text('firmware/drivers/capture.c');
    const bench = text('host/src/virtual-bench/listening-adc.ts');
    for (const name of ['CODE_LEAST', 'CODE_MOST']) {
      expect(new RegExp(`#define ${name} (\\d+)u`).exec(firmware)![1]).toBe(new RegExp(`${name} = (\\d+)`).exec(bench)![1]);
    }
  });
  it('is the same pin table in firmware and chip twin', () => {
    const pins = new Map([...text('firmware/drivers/pins.h').matchAll(/#define PIN_(\w+) +(\d+)u/g)].map(([, name, pin]) => [name, Number(pin)]));
    const twin = text('host/src/chip-twin/machine.ts');
    const named = {
      WAND_PRESENT: 'wandPresent', BUTTON: 'button', RAILS_GOOD: 'railsGood', RAILS_ENABLE: 'railsEnable',
      SWITCH_OE: 'switchOutputEnable', SWITCH_LATCH: 'switchLatch', CONVERTER_CS: 'converterSelect',
      CONVERTER_DRDY: 'converterReady', CONVERTER_START: 'converterStart', CONVERTER_RESET: 'converterReset',
      LIGHT_GREEN: 'green', LIGHT_RED: 'red',
    };
    for (const [name, inTwin] of Object.entries(named)) {
      expect(`${name} ${new RegExp(`\\b${inTwin}: (\\d+)`).exec(twin)?.[1]}`).toBe(`${name} ${pins.get(name)}`);
    }
  });
});
