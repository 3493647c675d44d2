/** What chance does to bytes and documents before they are fed to something: all of it drawn from the case's own stream. */
import type { RandomStream } from '../../host/src/virtual-bench/random.ts';

export function pick<T>(chance: RandomStream, choices: readonly T[]): T {
  return choices[chance.below(choices.length)] as T;
}

/** Words of 32 bits that numbers, counts and lengths tend to break on; as floats: NaN, infinities, the largest, the smallest. */
const WORDS = [
  0, 1, 0x7f, 0x80, 0xff, 0x7fff, 0x8000, 0xffff, 0x7fffffff, 0x80000000, 0xffffffff, 0x7fc00000, 0x7f800000, 0xff800000, 0x7f7fffff, 1,
];

export function nastyWord(chance: RandomStream): number {
  return chance.unit() < 0.5 ? pick(chance, WORDS) : chance.bits();
}

/** Pieces of text that readers of JSON tend to break on. */
const PIECES = [
  '{', '}', '[', ']', '"', ':', ',', '\\', '\\u', '\\ud800', '\x00', '\x1b[2J', '\u202e', '\ufeff', '\n', '\r\n', 'null', 'true', 'NaN', '-', '-0', '1e999',
  '1e-999', '0x10', '01', '.5', '9007199254740993', '"__proto__":', '"constructor":', '[[[[[[[[', '{"a":{"a":{"a":', '\xff', '{}\n{}',
];

/** Some changes to bytes: flipped, cut out, doubled, moved, written over, a piece put in. */
export function spoilBytes(chance: RandomStream, bytes: Uint8Array, changes: number): Uint8Array {
  let spoilt: Uint8Array = Uint8Array.from(bytes);
  for (let n = 0; n < changes; n += 1) spoilt = spoilOnce(chance, spoilt);
  return spoilt;
}

function spoilOnce(chance: RandomStream, bytes: Uint8Array): Uint8Array {
  const at = chance.below(bytes.length + 1);
  const end = Math.min(bytes.length, at + 1 + chance.below(pick(chance, [1, 4, 64, 1000])));
  const part = bytes.subarray(at, end);
  const [before, after] = [bytes.subarray(0, at), bytes.subarray(end)];
  switch (chance.below(6)) {
    case 0: return Uint8Array.from(bytes, (byte, index) => (index === at ? byte ^ (1 << chance.below(8)) : byte));
    case 1: return Buffer.concat([before, after]);
    case 2: return Buffer.concat([before, part, part, after]);
    case 3: return Buffer.concat([before, Buffer.from(pick(chance, PIECES), pick(chance, ['utf8', 'latin1'])), bytes.subarray(at)]);
    case 4: return Buffer.concat([before, Uint8Array.from(part, () => chance.below(256)), after]);
    default: return chance.unit() < 0.2 ? before : Buffer.concat([after, before, part]);
  }
}

type Holder = Record<string | number, unknown>;

/** Values that a field of a document may be given: of every type, at and beyond every limit. */
const VALUES: readonly unknown[] = [
  null, true, '', 'x', 'x'.repeat(2000), '\x1b]0;x\x07', 0, -0, 1, 2, 6, 7, -1, 0.5, 1e-300, 5e-324, 1e15, 1e38, 1e39, 1e308, -1e308, 255, 256, 65536, 2 ** 31,
  [], {}, [[]], [null], { a: 1 }, 'chassis', 'u@0.5', 'u@0', 'u@1e-9', 'u0', 'N', 'none',
];

/** Changes one place of a document: another value, a field or an entry away, doubled, or taken from elsewhere. */
export function spoilDocument(chance: RandomStream, document: unknown): void {
  const holders: Holder[] = [];
  const gather = (value: unknown): void => {
    if (typeof value !== 'object' || value === null) return;
    holders.push(value as Holder);
    for (const inner of Object.values(value)) gather(inner);
  };
  gather(document);
  const holder = pick(chance, holders);
  const keys = Object.keys(holder);
  if (keys.length === 0) return;
  const key = pick(chance, keys);
  const value = holder[key];
  switch (typeof value === 'number' && chance.unit() < 0.6 ? 3 : chance.below(5)) {
    case 0:
      if (Array.isArray(holder)) holder.splice(Number(key), 1);
      else delete holder[key];
      return;
    case 1:
      if (Array.isArray(holder)) holder.push(...Array.from({ length: pick(chance, [1, 3, 40]) }, () => structuredClone(value)));
      else holder[`${key}_`] = structuredClone(value);
      return;
    case 2: {
      const other = pick(chance, holders);
      holder[key] = structuredClone(other[pick(chance, Object.keys(other).concat('0'))] ?? null);
      return;
    }
    case 3:
      if (typeof value === 'number') {
        holder[key] = value * pick(chance, [-1, 1e-9, 1e9, 1.001, 1000]);
        return;
      }
      holder[key] = structuredClone(pick(chance, VALUES));
      return;
    default:
      holder[key] = structuredClone(pick(chance, VALUES));
  }
}
