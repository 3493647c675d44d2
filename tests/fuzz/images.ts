/** Firmware files into their reader: taken or refused in one sentence. */
import { UserError } from '../../host/src/cli/errors.ts';
import { readUf2 } from '../../host/src/cli/uf2.ts';
import { crc32Mpeg2 } from '../../host/src/logic/calibration-page.ts';
import { nastyWord, spoilBytes } from './chance.ts';
import type { Fuzzer } from './fuzzer.ts';

const BLOCKS = 4;
const BLOCK_bytes = 512;

/** A small sound file. */
function soundImage(): Buffer {
  const file = Buffer.alloc(BLOCKS * BLOCK_bytes);
  for (let n = 0; n < BLOCKS; n += 1) {
    const block = file.subarray(n * BLOCK_bytes, (n + 1) * BLOCK_bytes);
    const words = [0x0a324655, 0x9e5d5157, 0x2000, 0x10000000 + 256 * n, 256, n, BLOCKS, 0xe48bff56];
    words.forEach((word, index) => block.writeUInt32LE(word, 4 * index));
    block.fill(n + 1, 32, 32 + 252);
    block.writeUInt32LE(n === 0 ? crc32Mpeg2(block.subarray(32, 32 + 252)) : 0, 32 + 252);
    block.writeUInt32LE(0x0ab16f30, 508);
  }
  return file;
}

export const imageFuzzer: Fuzzer = {
  what: 'images',
  step_bytes: BLOCK_bytes,
  ending: '.uf2',
  draw(chance) {
    const file = soundImage();
    for (let left = chance.below(3); left > 0; left -= 1) file.writeUInt32LE(nastyWord(chance), 4 * chance.below(file.length / 4));
    return chance.unit() < 0.5 ? file : spoilBytes(chance, file, 1 + chance.below(3));
  },
  feed(bytes) {
    try {
      readUf2('case.uf2', bytes);
    } catch (error) {
      if (!(error instanceof UserError) || !error.message.startsWith('case.uf2: ')) throw error;
    }
  },
};
