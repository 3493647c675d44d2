// What runs from RAM: the list (in-ram.txt), how much of it fits, and the lines for the linker.

/** A function, by its object and section. */
export type Named = { readonly object: string; readonly section: string };
export type Section = Named & { readonly address: number; readonly bytes: number };
export type Placed = Named & { readonly bytes: number };

const keyOf = ({ object, section }: Named): string => `${object} ${section}`;

/** A function's section without what the compiler adds to the parts and variants that it makes of it. */
export function functionOf(section: string): string {
  return section.replace(/(\.(isra|part|constprop|cold)\b(\.\d+)?)+$/, '');
}

/** Functions that the list names: `OBJECT SECTION`, whatever follows is for the reader. `#` begins a comment. */
export function readList(text: string): Named[] {
  return text.split('\n').filter((line) => line.trim() !== '' && !line.startsWith('#')).map((line) => {
    const [object = '', section = ''] = line.trim().split(/\s+/);
    return { object, section };
  });
}

/** Code that the linker's map holds. */
export function sectionsOf(map: string): Section[] {
  const found: Section[] = [];
  const memory = map.slice(map.indexOf('Linker script and memory map'));
  const line = /^ (\.text\S*|\.ram_code\S*)\s+0x([0-9a-f]+)\s+0x([0-9a-f]+) (\S+)$/gm;
  for (const [, section = '', address = '', size = '', file = ''] of memory.matchAll(line)) {
    const [, archive, member] = /([^/]+\.a)\(([^)]+)\)$/.exec(file) ?? [];
    const object = archive ? `${archive}:${member}` : file.slice(file.lastIndexOf('/') + 1);
    const bytes = Number.parseInt(size, 16);
    if (bytes > 0) found.push({ object, section, address: Number.parseInt(address, 16), bytes });
  }
  return found;
}

/** What of the list there is and fits, in its order; what is too long gives way to what comes after it. */
export function placed(wanted: readonly Named[], map: string, room_bytes: number): Placed[] {
  const known = new Map<string, number>();
  for (const { object, section, bytes } of sectionsOf(map)) {
    const key = keyOf({ object, section: functionOf(section) });
    known.set(key, (known.get(key) ?? 0) + Math.ceil(bytes / 4) * 4);
  }
  const chosen: Placed[] = [];
  let room = room_bytes;
  for (const { object, section } of wanted) {
    const bytes = known.get(keyOf({ object, section })) ?? Infinity;
    if (bytes > room) continue;
    room -= bytes;
    chosen.push({ object, section, bytes });
  }
  return chosen;
}

/** Lines of memory.ld's .data. */
export function linkerLines(chosen: readonly Named[]): string {
  const variants = (section: string): string => ['isra', 'part', 'constprop', 'cold'].map((kind) => `${section}.${kind}*`).join(' ');
  return `${chosen.map(({ object, section }) => `*${object}(${section} ${variants(section)})`).join('\n')}\n`;
}
