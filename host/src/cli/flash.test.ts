import { mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Identity } from '../transport/reports.ts';
import { copyOnto, fatMounts, isBootDrive } from './boot-drive.ts';
import { UserError } from './errors.ts';
import { flashBoard } from './flash.ts';
import type { FlashBench } from './flash.ts';
import { crc32Mpeg2 } from '../logic/calibration-page.ts';
import { readUf2 } from './uf2.ts';

const HASH = 'ab'.repeat(32);

/** A firmware of `pages` pages: boot block with its checksum, then the hash of a module somewhere. */
function firmware(pages = 4): Uint8Array {
  const image = new Uint8Array(pages * 256).fill(0x5a);
  new DataView(image.buffer).setUint32(252, crc32Mpeg2(image.subarray(0, 252)), true);
  image.set(Buffer.from(HASH, 'hex'), 700);
  const file = new Uint8Array(pages * 512);
  for (let i = 0; i < pages; i += 1) {
    const view = new DataView(file.buffer, i * 512, 512);
    [0x0a324655, 0x9e5d5157, 0x2000, 0x1000_0000 + i * 256, 256, i, pages, 0xe48bff56].forEach((value, at) =>
      view.setUint32(4 * at, value, true),
    );
    file.set(image.subarray(i * 256, i * 256 + 256), i * 512 + 32);
    view.setUint32(508, 0x0ab16f30, true);
  }
  return file;
}

const altered = (at: number, value: number): Uint8Array => {
  const file = firmware();
  new DataView(file.buffer).setUint32(at, value, true);
  return file;
};

describe('a UF2 file', () => {
  it('RP2040 data sheet 2.8.1.3.1, catalogue of CRC algorithms: the boot block\'s CRC-32', () => {
    expect(crc32Mpeg2(Buffer.from('123456789'))).toBe(0x0376e6e7);
    expect(crc32Mpeg2(new Uint8Array(252))).toBe(0x7065399a);
  });

  it('gives what will lie in the flash', () => {
    const { image } = readUf2('a.uf2', firmware());
    expect(image.length).toBe(4 * 256);
    expect(Buffer.from(image.subarray(700, 732)).toString('hex')).toBe(HASH);
  });

  it('may leave pages of the flash out', () => {
    expect(readUf2('a.uf2', altered(3 * 512 + 12, 0x100f_f000)).image.length).toBe(1024);
  });

  it.each<[string, Uint8Array, string | RegExp]>([
    ['empty', new Uint8Array(0), 'a.uf2: is empty; expected a UF2 file of the firmware'],
    ['a text', Buffer.from('hello'), /^a\.uf2: is no UF2 file: .* npm run firmware builds$/],
    ['cut off', firmware().subarray(0, 1000), 'a.uf2: has 1000 bytes, expected a multiple of 512; it was cut off, get it again'],
    ['cut off between two blocks', firmware().subarray(0, 1024), 'a.uf2: block 0: the number of blocks is 0x00000004, expected 0x00000002'],
    ['a damaged block', altered(2 * 512 + 508, 0), 'a.uf2: block 2: the last magic number is 0x00000000, expected 0x0ab16f30'],
    ['for another chip', altered(28, 0xe48bff59), 'a.uf2: block 0: the chip family is 0xe48bff59, expected 0xe48bff56'],
    ['without a family', altered(8, 0), 'a.uf2: block 0: does not say for which chip it is; expected the RP2040'],
    ['not for the flash', altered(512 + 8, 0x2001), 'a.uf2: block 1: is not meant for the flash'],
    ['for RAM', altered(12, 0x2000_0000), 'a.uf2: block 0: the address is 0x20000000, expected 0x10000000'],
    ['a page twice', altered(2 * 512 + 12, 0x1000_0100), /block 2: the address is 0x10000100, expected 0x10000200 or a later page/],
    ['behind the flash', altered(3 * 512 + 12, 0x1100_0000), /block 3: the address is 0x11000000/],
    ['blocks in disorder', altered(512 + 20, 2), 'a.uf2: block 1: the block number is 0x00000002, expected 0x00000001'],
    ['a boot block that would not start', altered(32, 0), /^a\.uf2: the boot block's checksum is .* would not start from it$/],
  ])('is refused: %s', (_, file, sentence) => {
    const read = (): unknown => readUf2('a.uf2', file);
    expect(read).toThrow(UserError);
    expect(read).toThrow(sentence);
  });
});

describe('writing a board', () => {
  let drive: string;
  let told: string;
  let restarted: boolean;
  beforeEach(async () => {
    drive = await mkdtemp(join(tmpdir(), 'tapstone-drive-'));
    await writeFile(join(drive, 'INFO_UF2.TXT'), 'UF2 Bootloader v3.0\r\nModel: Raspberry Pi RP2\r\nBoard-ID: RPI-RP2\r\n');
    told = '';
    restarted = false;
  });
  afterEach(() => rm(drive, { recursive: true, force: true }));

  function bench(change: Partial<FlashBench> = {}, runs = HASH): FlashBench {
    const old = { serial: 'TS-0001', path: 'usb:1' };
    const fresh = { serial: 'TS-0002', path: 'usb:2' };
    return {
      drives: async () => [drive],
      isDrive: isBootDrive,
      unmounted: () => null,
      async copy(folder, name, bytes) {
        await copyOnto(folder, name, bytes);
        await rm(join(folder, 'INFO_UF2.TXT'));
        restarted = true;
      },
      testers: async () => (restarted ? [old, fresh] : [old]),
      identify: async (tester) => ({ firmware: '0.3.1', moduleHash: runs, serial: tester.serial }) as Identity,
      wait: async () => undefined,
      tell: async (text) => void (told += text),
      ...change,
    };
  }

  it('copies the file byte by byte, sees the board restart, and asks the new tester for its logic', async () => {
    const file = firmware();
    await flashBoard(bench(), '/some/where/tapstone.uf2', file);
    expect(new Uint8Array(await readFile(join(drive, 'tapstone.uf2')))).toEqual(file);
    expect(told).toBe(
      `writing 2048 bytes to ${drive}\nthe board has taken the file and restarts\ntester TS-0002 runs firmware 0.3.1, as in the file\n`,
    );
  });

  it('never touches the drive for a file that is refused', async () => {
    await expect(flashBoard(bench(), 'a.uf2', altered(28, 1))).rejects.toThrow('the chip family');
    expect(restarted).toBe(false);
  });

  const fails = async (change: Partial<FlashBench>, sentence: string, runs?: string, at?: string): Promise<void> => {
    const run = flashBoard(bench(change, runs), 'a.uf2', firmware(), at);
    await expect(run).rejects.toThrow(UserError);
    await expect(run).rejects.toThrow(sentence);
  };

  it('says how to get the board into that state when there is none', async () => {
    await fails({ drives: async () => [] }, 'no board waits for firmware: hold the board\'s BOOT button down while you plug its USB cable in');
  });

  it('says how to mount the drive where no desktop does', async () => {
    const device = '/dev/disk/by-label/RPI-RP2';
    await fails({ drives: async () => [], unmounted: () => device }, `sudo mount ${device} /mnt, then the same command with --drive /mnt`);
  });

  it('asks which of several boards is meant', async () => {
    await fails({ drives: async () => ['/a', '/b'] }, '2 boards wait for firmware: /a, /b; choose one with --drive /a');
  });

  it('refuses a folder that is no boot drive, also another chip\'s', async () => {
    const other = join(drive, 'other');
    await mkdir(other);
    await fails({}, 'is not the boot drive of an RP2040 board', HASH, other);
    await writeFile(join(other, 'INFO_UF2.TXT'), 'UF2 Bootloader v1.0\r\nBoard-ID: RP2350\r\n');
    await fails({}, 'is not the boot drive of an RP2040 board', HASH, other);
  });

  it('says that the drive cannot be written', async () => {
    const copy = async (): Promise<void> => {
      throw Object.assign(new Error('EROFS: read-only file system'), { code: 'EROFS' });
    };
    await fails({ copy }, 'cannot be written (EROFS: read-only file system); unplug the board');
  });

  it('says that the board did not restart', async () => {
    await fails({ copy: copyOnto }, 'the board has not restarted, so it did not take the file');
  });

  it('says that the tester did not come back', async () => {
    await fails({ testers: async () => [] }, 'the firmware was written, but not verified: it has not come back as a tester');
  });

  it('says that the bus could not be read', async () => {
    const testers = () => Promise.reject(new Error('the USB driver cannot load: libudev.so.1 is missing'));
    await fails({ testers }, 'not verified: the USB driver cannot load');
  });

  it('says why the tester could not be asked', async () => {
    const identify = () => Promise.reject(new Error('tester TS-0002 may not be opened by this user'));
    await fails({ identify }, 'not verified: tester TS-0002 may not be opened');
  });

  it('is not content with a board that runs another logic', async () => {
    await fails({}, 'tester TS-0002 says that it runs the logic sha256 cdcdcdcd, which is not in this file', 'cd'.repeat(32));
  });

  it('finds mounted FAT drives in the mount table, blanks in their names included', () => {
    const mounts = [
      '/dev/sda1 / ext4 rw 0 0',
      '/dev/sdb1 /media/a\\040b/RPI-RP2 vfat rw,nosuid 0 0',
      'none /sys sysfs rw 0 0',
    ].join('\n');
    expect(fatMounts(mounts)).toEqual(['/media/a b/RPI-RP2']);
  });
});
