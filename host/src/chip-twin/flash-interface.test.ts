/** What an access to the flash costs, by which alias, and what the part answers: RP2040 data sheet 2.6.3 and 4.10.13, W25Q16JV data sheet 8.2. */
import { describe, expect, it } from 'vitest';
import { BusFault, Chip, type FlashOptions } from './chip.ts';
import { ERASE_ns, FlashCells, PROGRAM_ns } from './flash-cells.ts';
import { RandomStream } from '../virtual-bench/random.ts';
import { accessForm, HAND_OVER_cycles } from './flash-interface.ts';
import { SerialFlash } from './serial-flash.ts';

const XIP = 0x10000000;
const XIP_CTRL = 0x14000000;
const SSI = 0x18000000;
const ID = Uint8Array.of(1, 2, 3, 4, 5, 6, 7, 8);
/** SSI registers of a plain read (03h) at clk_sys / 4. */
const PLAIN: readonly (readonly [number, number])[] = [[0x00, 0x001f0300], [0xf4, 0x03000218], [0x14, 4], [0x08, 1]];
const WORD_PLAIN_cycles = 4 * (8 + 24 + 32) + HAND_OVER_cycles;

function plain(options: Partial<FlashOptions> = {}): Chip {
  const chip = new Chip({ powerOn: true }, { uniqueId: ID, ...options });
  for (const [register, value] of PLAIN) chip.mcu.writeUint32(SSI + register, value);
  return chip;
}

/** Cycles that the chip waits for each of some reads. */
const waits = (chip: Chip, addresses: readonly number[]): number[] => addresses.map((address) => {
  chip.mcu.readUint32(address);
  return chip.flash.takeStall();
});

describe('the form of an access', () => {
  it('is 64 clocks for a plain read: 8 of command, 24 of address, 32 of data on one line', () => {
    expect(accessForm(0x001f0300, 0x03000218)).toMatchObject({ command: 3, clocks: 64, isQuad: false });
  });
  it('is 20 clocks for a quad read without command: 6 of address, 2 of mode bits, 4 of waiting, 8 of data', () => {
    expect(accessForm(0x005f0300, 0xa0002022)).toMatchObject({ command: undefined, mode: 0xa0, clocks: 20, isQuad: true });
  });
  it('is 28 clocks with the command on one line before it', () => {
    expect(accessForm(0x005f0300, 0xeb002221).clocks).toBe(28);
  });
});

describe('reads of flash', () => {
  it('wait for a word that is not there, by the SSI\'s clocks, and not for one that is', () => {
    expect(waits(plain(), [XIP, XIP, XIP + 4, XIP])).toEqual([WORD_PLAIN_cycles, 0, WORD_PLAIN_cycles, 0]);
  });
  it('by 0x11 find what is there and leave nothing; by 0x12 do not look and leave it; by 0x13 neither', () => {
    const chip = plain();
    const miss = WORD_PLAIN_cycles;
    expect(waits(chip, [0x11000040, 0x11000040, XIP + 0x40, 0x11000040])).toEqual([miss, miss, miss, 0]);
    expect(waits(chip, [0x12000040, 0x12000080, XIP + 0x80])).toEqual([miss, miss, 0]);
    expect(waits(chip, [0x13000080, 0x130000c0, XIP + 0xc0])).toEqual([miss, miss, miss]);
  });
  it('all go to the flash while the cache is off', () => {
    const chip = plain();
    chip.mcu.writeUint32(XIP_CTRL, 0);
    expect(waits(chip, [XIP, XIP])).toEqual([WORD_PLAIN_cycles, WORD_PLAIN_cycles]);
  });
  it('are counted in CTR_ACC and CTR_HIT, and cleared by writing anything', () => {
    const chip = plain();
    waits(chip, [XIP, XIP, XIP, XIP + 8]);
    expect([0x10, 0x0c].map((offset) => chip.mcu.readUint32(XIP_CTRL + offset))).toEqual([4, 2]);
    chip.mcu.writeUint32(XIP_CTRL + 0x10, 1);
    expect(chip.mcu.readUint32(XIP_CTRL + 0x10)).toBe(0);
  });
  it('wait again after FLUSH, which takes a cycle for each of 1024 sets, and after a write to their line', () => {
    const chip = plain();
    waits(chip, [XIP, XIP + 8]);
    chip.mcu.writeUint32(XIP + 4, 0);
    expect(waits(chip, [XIP, XIP + 8])).toEqual([WORD_PLAIN_cycles, 0]);
    chip.mcu.writeUint32(XIP_CTRL + 4, 1);
    expect(chip.flash.takeStall()).toBe(1024);
    expect(waits(chip, [XIP])).toEqual([WORD_PLAIN_cycles]);
  });
  it('fault while the SSI is off, and where it asks in a way that the flash does not take', () => {
    const off = new Chip({ powerOn: true }, { uniqueId: ID });
    expect(() => off.mcu.readUint32(XIP)).toThrow(/the SSI is off/);
    const quad = plain();
    quad.mcu.writeUint32(SSI + 0x00, 0x005f0300);
    quad.mcu.writeUint32(SSI + 0xf4, 0xa0002022);
    expect(() => quad.mcu.readUint32(XIP + 0x100)).toThrow(BusFault);
  });
  it('complain of a clock that the part does not take: 03h stops at 50 MHz', () => {
    const chip = plain();
    chip.mcu.writeUint32(SSI + 0x14, 2);
    expect(chip.complaints.join()).toMatch(/50 MHz in this read, not 62.5/);
  });
  it('take no time where the flash is not counted', () => {
    expect(waits(plain({ counts: false }), [XIP, XIP + 4])).toEqual([0, 0]);
  });
});

describe('the serial flash', () => {
  const command = (flash: SerialFlash, ...bytes: number[]): number[] => {
    flash.select();
    const answers = bytes.map((byte) => flash.exchange(byte));
    flash.deselect();
    return answers;
  };
  it('tells its unique number after 4Bh and four bytes', () => {
    expect(command(new SerialFlash(ID, true), 0x4b, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0).slice(5)).toEqual([...ID]);
  });
  it('takes status register 2 only after a write enable', () => {
    const flash = new SerialFlash(ID, false);
    command(flash, 0x31, 2);
    expect(command(flash, 0x35, 0)[1]).toBe(0);
    command(flash, 0x50);
    command(flash, 0x31, 2);
    expect(command(flash, 0x35, 0)[1]).toBe(2);
  });
  describe('written to', () => {
    const written = (): { flash: SerialFlash; bytes: Uint8Array; cells: FlashCells; wait: (ns: number) => void } => {
      let now_ns = 0;
      const bytes = new Uint8Array(8192).fill(0x5a);
      const cells = new FlashCells(bytes, () => now_ns);
      return { flash: new SerialFlash(ID, true, cells), bytes, cells, wait: (ns) => { now_ns += ns; } };
    };
    it('erases a sector to ones after 06h and 20h, and nothing without 06h', () => {
      const { flash, bytes, wait } = written();
      command(flash, 0x20, 0, 0x10, 0);
      expect(flash.isBusy).toBe(false);
      command(flash, 0x06);
      expect(command(flash, 0x05, 0)[1]).toBe(2);
      command(flash, 0x20, 0, 0x12, 0x34);
      expect(command(flash, 0x05, 0)[1]).toBe(3);
      wait(ERASE_ns);
      expect(command(flash, 0x05, 0)[1]).toBe(0);
      expect([bytes[4095], bytes[4096], bytes[8191]]).toEqual([0x5a, 0xff, 0xff]);
    });
    it('programs zeros only, and wraps at the end of a page', () => {
      const { flash, bytes, wait } = written();
      command(flash, 0x06);
      command(flash, 0x02, 0, 0x01, 0xff, 0xf0, 0x3c);
      wait(PROGRAM_ns);
      expect(flash.isBusy).toBe(false);
      expect([bytes[0x1ff], bytes[0x200], bytes[0x100]]).toEqual([0x50, 0x5a, 0x18]);
    });
    it('takes no command, and gives no byte, while it changes', () => {
      const { flash, bytes, wait } = written();
      command(flash, 0x06);
      command(flash, 0x20, 0, 0, 0);
      command(flash, 0x06);
      command(flash, 0x02, 0, 0x10, 0, 0);
      expect(flash.readQuad(0xeb, 0xa0)).toBe(false);
      wait(ERASE_ns);
      expect(flash.isBusy).toBe(false);
      expect([bytes[0], bytes[4096]]).toEqual([0xff, 0x5a]);
    });
    it('and cut holds some of the old and some of the new, and outside of what changes all that was there', () => {
      const { flash, cells, wait } = written();
      const chance = new RandomStream(3, 'cut');
      command(flash, 0x06);
      command(flash, 0x20, 0, 0x10, 0);
      wait(ERASE_ns / 2);
      const left = cells.cut(0, 8192, () => chance.between(0, 1));
      expect(left.subarray(0, 4096).every((byte) => byte === 0x5a)).toBe(true);
      expect(new Set(left.subarray(4096)).size).toBeGreaterThan(100);
    });
  });
  it('takes no quad read without its quad bit', () => {
    expect(new SerialFlash(ID, false).readQuad(0xeb, 0xa0)).toBe(false);
  });
  it('knows no command while it reads on and on, until a byte with mode bit 4 high ends that', () => {
    const flash = new SerialFlash(ID, true);
    expect(flash.readQuad(0xeb, 0xa0)).toBe(true);
    expect(command(flash, 0x4b & ~2, 0, 0, 0, 0, 0)[5]).not.toBe(1);
    expect(flash.continuous).toBe(true);
    command(flash, 0xff);
    expect(command(flash, 0x4b, 0, 0, 0, 0, 0)[5]).toBe(1);
  });
});
