// The image's bytes: ELF in, boot checksum, UF2 out.
import { crc32Mpeg2 } from '../host/src/logic/calibration-page.ts';
import { segmentsOf } from '../host/src/chip-twin/elf.ts';

const FLASH_START = 0x10000000;
const BOOT2_bytes = 256;

const viewOf = (bytes) => new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);

/** The same ELF with the second stage's checksum in its place.
 * @see RP2040 data sheet 2.8.1.3.1 */
export function withBootChecksum(elf) {
  const copy = Uint8Array.from(elf);
  const boot = segmentsOf(copy).find(({ address }) => address === FLASH_START);
  if (!boot) throw new Error('nothing lies at the start of flash');
  viewOf(copy).setUint32(boot.offset + BOOT2_bytes - 4, crc32Mpeg2(boot.bytes.subarray(0, BOOT2_bytes - 4)), true);
  return copy;
}

/** What goes into flash, from its first byte; gaps are 0xff. */
export function imageOf(segments) {
  const end = Math.max(...segments.map(({ address, bytes }) => address + bytes.length));
  const image = new Uint8Array(Math.ceil((end - FLASH_START) / 256) * 256).fill(0xff);
  for (const { address, bytes } of segments) image.set(bytes, address - FLASH_START);
  return image;
}

/** UF2: 512-byte blocks of 256 bytes of flash. @see UF2 specification, github.com/microsoft/uf2 */
export function uf2Of(image) {
  const blocks = image.length / 256;
  const out = new Uint8Array(blocks * 512);
  const view = viewOf(out);
  for (let i = 0; i < blocks; i++) {
    const words = [0x0a324655, 0x9e5d5157, 0x2000, FLASH_START + i * 256, 256, i, blocks, 0xe48bff56];
    words.forEach((word, k) => view.setUint32(i * 512 + k * 4, word, true));
    out.set(image.subarray(i * 256, i * 256 + 256), i * 512 + 32);
    view.setUint32(i * 512 + 508, 0x0ab16f30, true);
  }
  return out;
}
