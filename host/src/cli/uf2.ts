/** A `.uf2` file, checked before it is put onto a board: a wrong one is refused, not tried. */
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';
import { crc32Mpeg2 } from '../logic/calibration-page.ts';
import { printable } from '../text/printable.ts';

/** @see UF2 specification; the family is the RP2040's */
const BLOCK_bytes = 512;
const PAYLOAD_bytes = 256;
const MAGIC = [0x0a324655, 0x9e5d5157] as const;
const MAGIC_END = 0x0ab16f30;
const FLAG_NOT_MAIN_FLASH = 0x0001;
const FLAG_FAMILY = 0x2000;
const FAMILY_RP2040 = 0xe48bff56;
const FLASH_START = 0x1000_0000;
const FLASH_END = 0x1100_0000;
const BOOT2_bytes = 252;
/** A file that fills all of the address space of the flash. */
export const UF2_MOST_bytes = ((FLASH_END - FLASH_START) / PAYLOAD_bytes) * BLOCK_bytes;

/** What will lie in the flash, from its start on. */
export type Firmware = { readonly image: Uint8Array };

/**
 * Takes a UF2 file apart.
 * @param name - of the file, for the sentence
 * @throws UserError (65) naming the block, what stood there and what was expected
 */
export function readUf2(name: string, file: Uint8Array): Firmware {
  const refuse = (sentence: string): UserError => new UserError(`${printable(name)}: ${sentence}`, EXIT.badContent);
  if (file.length === 0) throw refuse('is empty; expected a UF2 file of the firmware');
  if (file.length < BLOCK_bytes || word(file, 0) !== MAGIC[0] || word(file, 4) !== MAGIC[1]) {
    throw refuse('is no UF2 file: it does not begin with a UF2 block; expected the .uf2 that npm run firmware builds');
  }
  if (file.length % BLOCK_bytes !== 0) {
    throw refuse(`has ${file.length} bytes, expected a multiple of ${BLOCK_bytes}; it was cut off, get it again`);
  }
  const count = file.length / BLOCK_bytes;
  const image = new Uint8Array(count * PAYLOAD_bytes);
  let address = FLASH_START - PAYLOAD_bytes;
  for (let i = 0; i < count; i += 1) {
    const block = file.subarray(i * BLOCK_bytes, (i + 1) * BLOCK_bytes);
    const fault = blockFault(block, i, count, address);
    if (fault) throw refuse(`block ${i}: ${fault}`);
    address = word(block, 12);
    image.set(block.subarray(32, 32 + PAYLOAD_bytes), i * PAYLOAD_bytes);
  }
  const found = crc32Mpeg2(image.subarray(0, BOOT2_bytes));
  const stated = word(image, BOOT2_bytes);
  if (found !== stated) {
    throw refuse(`the boot block's checksum is ${hex(stated)}, expected ${hex(found)}; the board would not start from it`);
  }
  return { image };
}

/** @param previous - address of the block before: blocks lie in order, from the flash's start on */
function blockFault(block: Uint8Array, index: number, count: number, previous: number): string | null {
  const expect = (what: string, got: number, right: number): string | null =>
    got === right ? null : `${what} is ${hex(got)}, expected ${hex(right)}`;
  const flags = word(block, 8);
  const address = word(block, 12);
  const fault =
    expect('the first magic number', word(block, 0), MAGIC[0]) ??
    expect('the second magic number', word(block, 4), MAGIC[1]) ??
    expect('the last magic number', word(block, 508), MAGIC_END);
  if (fault) return fault;
  if (flags & FLAG_NOT_MAIN_FLASH) return 'is not meant for the flash';
  if (!(flags & FLAG_FAMILY)) return 'does not say for which chip it is; expected the RP2040';
  const next = previous + PAYLOAD_bytes;
  if (index === 0 && address !== FLASH_START) return expect('the address', address, FLASH_START);
  if (address < next || address % PAYLOAD_bytes !== 0 || address >= FLASH_END) {
    return `the address is ${hex(address)}, expected ${hex(next)} or a later page of the flash`;
  }
  return (
    expect('the chip family', word(block, 28), FAMILY_RP2040) ??
    expect('the payload size', word(block, 16), PAYLOAD_bytes) ??
    expect('the block number', word(block, 20), index) ??
    expect('the number of blocks', word(block, 24), count)
  );
}

function word(bytes: Uint8Array, at: number): number {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength).getUint32(at, true);
}

function hex(value: number): string {
  return `0x${value.toString(16).padStart(8, '0')}`;
}
