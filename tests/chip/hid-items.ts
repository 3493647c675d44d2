/** Reads a HID report descriptor as far as sizes go (HID 1.11, 6.2.2): short items, one report each way. */

export type Reports = { inputBits: number; outputBits: number; usagePage: number; usage: number };

/** @returns bits of the input and output reports, page and usage of the first collection */
export function reportsOf(descriptor: Uint8Array): Reports {
  const reports: Reports = { inputBits: 0, outputBits: 0, usagePage: -1, usage: -1 };
  let page = 0;
  let usage = 0;
  let size_bits = 0;
  let count = 0;
  for (let at = 0; at < descriptor.length;) {
    const prefix = descriptor[at];
    const length = [0, 1, 2, 4][prefix & 3];
    let data = 0;
    for (let i = 0; i < length; i++) data += descriptor[at + 1 + i] * 2 ** (8 * i);
    switch (prefix & 0xfc) {
      case 0x04: page = data; break;
      case 0x08: usage = data; break;
      case 0x74: size_bits = data; break;
      case 0x94: count = data; break;
      case 0x80: reports.inputBits += size_bits * count; break;
      case 0x90: reports.outputBits += size_bits * count; break;
      case 0xa0:
        if (reports.usage < 0) Object.assign(reports, { usagePage: page, usage });
        break;
      default: break;
    }
    at += 1 + length;
  }
  return reports;
}
