/** The firmware image that the chip twin runs: the very ELF that is flashed. */
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { segmentsOf, symbolsOf, type ElfSymbol, type Segment } from './elf.ts';

export type Image = {
  readonly segments: readonly Segment[];
  readonly symbols: ReadonlyMap<string, ElfSymbol>;
  readonly sha256: string;
};

const BUILT = new URL('../../../firmware/build/tapstone.elf', import.meta.url);
const known = new Map<string, Image>();

/**
 * Reads an image.
 * @param file - path of the ELF; the one that `npm run firmware` builds when left out
 * @throws Error with the sentence that mends it
 */
export function readImage(file: string = fileURLToPath(BUILT)): Image {
  const again = known.get(file);
  if (again) return again;
  let elf: Uint8Array;
  try {
    elf = new Uint8Array(readFileSync(file));
  } catch {
    throw new Error(
      'the chip twin needs the firmware image, and firmware/build/tapstone.elf is not there; build it with "npm run firmware" ' +
      '(Debian packages gcc-arm-none-eabi and libnewlib-arm-none-eabi), or use --twin board',
    );
  }
  const image: Image = {
    segments: segmentsOf(elf), symbols: symbolsOf(elf), sha256: createHash('sha256').update(elf).digest('hex'),
  };
  known.set(file, image);
  return image;
}
