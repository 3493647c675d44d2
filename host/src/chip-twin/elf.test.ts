import { describe, expect, it } from 'vitest';
import { segmentsOf } from './elf.ts';
import { readImage } from './image.ts';

describe('firmware image', () => {
  it('that is something else is refused in one sentence', () => {
    expect(() => segmentsOf(Buffer.from('GIF89a'))).toThrow('the firmware image is not a 32-bit little-endian ARM ELF file');
    const amd64 = new Uint8Array(64);
    amd64.set([0x7f, 0x45, 0x4c, 0x46, 1, 1]);
    amd64[18] = 62;
    expect(() => segmentsOf(amd64)).toThrow('not a 32-bit little-endian ARM ELF');
  });
  it('that was never built is told with the command that builds it', () => {
    expect(() => readImage('/nonexistent/tapstone.elf')).toThrow(/npm run firmware/);
  });
});
