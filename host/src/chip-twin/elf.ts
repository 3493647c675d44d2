/** Reads the firmware's ELF: what goes into flash, and where its symbols lie. */

/** What is loaded: physical address, bytes, and where they lie in the file. */
export type Segment = { readonly address: number; readonly offset: number; readonly bytes: Uint8Array };
export type ElfSymbol = { readonly address: number; readonly size: number };

const MACHINE_ARM = 40;
const SEGMENT_LOAD = 1;
const SECTION_SYMBOLS = 2;

function viewOf(bytes: Uint8Array): DataView {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

/** Loadable segments that hold bytes. @throws Error when it is no 32-bit little-endian ARM ELF */
export function segmentsOf(elf: Uint8Array): Segment[] {
  const view = viewOf(elf);
  const isElf = elf.length >= 52 && view.getUint32(0) === 0x7f454c46 && elf[4] === 1 && elf[5] === 1;
  if (!isElf || view.getUint16(18, true) !== MACHINE_ARM) {
    throw new Error('the firmware image is not a 32-bit little-endian ARM ELF file');
  }
  const segments: Segment[] = [];
  const table = view.getUint32(28, true);
  for (let i = 0; i < view.getUint16(44, true); i++) {
    const at = table + i * view.getUint16(42, true);
    const size = view.getUint32(at + 16, true);
    if (view.getUint32(at, true) !== SEGMENT_LOAD || size === 0) continue;
    const offset = view.getUint32(at + 4, true);
    segments.push({ address: view.getUint32(at + 12, true), offset, bytes: elf.subarray(offset, offset + size) });
  }
  return segments;
}

/** Symbols by name. */
export function symbolsOf(elf: Uint8Array): Map<string, ElfSymbol> {
  const view = viewOf(elf);
  const symbols = new Map<string, ElfSymbol>();
  const sections = view.getUint32(32, true);
  const sectionBytes = view.getUint16(46, true);
  for (let i = 0; i < view.getUint16(48, true); i++) {
    const at = sections + i * sectionBytes;
    if (view.getUint32(at + 4, true) !== SECTION_SYMBOLS) continue;
    const names = view.getUint32(sections + view.getUint32(at + 24, true) * sectionBytes + 16, true);
    const first = view.getUint32(at + 16, true);
    for (let s = first; s < first + view.getUint32(at + 20, true); s += 16) {
      const start = names + view.getUint32(s, true);
      const name = Buffer.from(elf.subarray(start, elf.indexOf(0, start))).toString('latin1');
      if (name) symbols.set(name, { address: view.getUint32(s + 4, true), size: view.getUint32(s + 8, true) });
    }
  }
  return symbols;
}
