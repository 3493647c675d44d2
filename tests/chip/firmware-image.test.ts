/** The image that is flashed: its checksum, its blocks, its size, and that it is the same from the same sources. */
import { execFileSync, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { crc32Mpeg2 } from '../../host/src/chip-twin/calibration-page.ts';
import { segmentsOf, symbolsOf } from '../../host/src/chip-twin/elf.ts';
import { MANUFACTURER, PRODUCT, PRODUCT_ID, USAGE, USAGE_PAGE, VENDOR_ID } from '../../host/src/transport/identity.ts';
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
    const header = text('firmware/drivers/usb_descriptors.h');
    const source = text('firmware/drivers/usb_descriptors.c');
    expect(Number(/USB_VENDOR_ID (0x\w+?)u/.exec(header)![1])).toBe(VENDOR_ID);
    expect(Number(/USB_PRODUCT_ID (0x\w+?)u/.exec(header)![1])).toBe(PRODUCT_ID);
    expect(source).toContain(`string("${MANUFACTURER}",`);
    expect(source).toContain(`string("${PRODUCT}",`);
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
