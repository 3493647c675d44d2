/** Evidence and maps as they lie in the stock: small, and to the value what was put in. */
import { deflateRawSync, inflateRawSync } from 'node:zlib';
import { voltsOf } from '../evidence/capture.ts';
import type { BenchRecord, BenchTouch } from '../files/bench-record.ts';
import { OVERRANGE } from '../logic/layout.generated.ts';

/** First byte of a packed text: what follows, deflated (RFC 1951). */
const FORM = { text: 0, counts: 1 } as const;
/** Of a touch's samples, counts a volt. */
const PER_VOLT = 2 ** 20;
const LENGTH_bytes = 4;
/** Largest text that is unpacked: four times the largest record that is read. */
const UNPACKED_MOST_bytes = 1 << 29;

/** What was packed cannot be read any more. */
export class DamagedEvidence extends Error {}

/** Any text, such as a wire map in JSON. */
export function packText(text: string): Uint8Array {
  return framed(FORM.text, Buffer.from(text, 'utf8'));
}

/** @throws DamagedEvidence */
export function unpackText(packed: Uint8Array): string {
  const { form, bytes } = unframed(packed);
  if (form !== FORM.text) throw new DamagedEvidence('another kind of content');
  return bytes.toString('utf8');
}

/**
 * A bench record: the samples of its touches as differences of counts, which deflate to half of what their digits do.
 * A channel whose volts are not those of counts (another tester wrote them) stays as it is.
 */
export function packRecord(record: BenchRecord): Uint8Array {
  const channels: Int32Array[] = [];
  const touches = record.touches?.map((touch) => ({
    ...touch,
    channels: touch.channels.map((channel) => {
      const counts = countsOf(channel.volts_V);
      if (counts === null) return channel;
      channels.push(counts);
      // A number in place of the list: how many samples stand for it behind the text.
      return { ...channel, volts_V: counts.length };
    }),
  }));
  const text = Buffer.from(JSON.stringify(touches === undefined ? record : { ...record, touches }), 'utf8');
  const length = Buffer.alloc(LENGTH_bytes);
  length.writeUInt32LE(text.length);
  return framed(FORM.counts, Buffer.concat([length, text, ...channels.map(packCounts)]));
}

/** The record, its fields in the order in which they were. @throws DamagedEvidence */
export function unpackRecord(packed: Uint8Array): unknown {
  const { form, bytes } = unframed(packed);
  try {
    if (form === FORM.text) return JSON.parse(bytes.toString('utf8')) as unknown;
    const end = LENGTH_bytes + bytes.readUInt32LE(0);
    const record = JSON.parse(bytes.toString('utf8', LENGTH_bytes, end)) as BenchRecord;
    const reader = new CountReader(bytes, end);
    if (record.touches === undefined) return record;
    return { ...record, touches: record.touches.map((touch) => withSamples(touch, reader)) };
  } catch (error) {
    if (error instanceof DamagedEvidence) throw error;
    throw new DamagedEvidence('its record is no JSON');
  }
}

function withSamples(touch: BenchTouch, reader: CountReader): BenchTouch {
  const channels = touch.channels.map((channel) => {
    const count: unknown = channel.volts_V;
    return typeof count === 'number' ? { ...channel, volts_V: Array.from(reader.next(count), voltsOf) } : channel;
  });
  return { ...touch, channels };
}

function framed(form: number, bytes: Uint8Array): Uint8Array {
  return Buffer.concat([Buffer.from([form]), deflateRawSync(bytes, { level: 6 })]);
}

function unframed(packed: Uint8Array): { readonly form: number; readonly bytes: Buffer } {
  try {
    return { form: packed[0], bytes: inflateRawSync(packed.subarray(1), { maxOutputLength: UNPACKED_MOST_bytes }) };
  } catch {
    throw new DamagedEvidence('it cannot be unpacked');
  }
}

/** The counts of which volts were made, or null when they were not. */
function countsOf(volts_V: readonly (number | null)[]): Int32Array | null {
  const counts = new Int32Array(volts_V.length);
  for (let at = 0; at < counts.length; at++) {
    const volts = volts_V[at];
    const count = volts === null ? OVERRANGE : Math.round(volts * PER_VOLT);
    if (!Object.is(voltsOf(count), volts) || (count | 0) !== count) return null;
    counts[at] = count;
  }
  return counts;
}

/** Differences from sample to sample, small ones of either sign in one byte (seven bits a byte, the lowest first). */
function packCounts(counts: Int32Array): Buffer {
  const bytes = Buffer.allocUnsafe(counts.length * 5);
  let size = 0;
  let before = 0;
  for (const count of counts) {
    const step = (count - before) | 0;
    before = count;
    let rest = ((step << 1) ^ (step >> 31)) >>> 0;
    for (; rest > 0x7f; rest >>>= 7) bytes[size++] = (rest & 0x7f) | 0x80;
    bytes[size++] = rest;
  }
  return bytes.subarray(0, size);
}

class CountReader {
  readonly #bytes: Buffer;
  #at: number;

  constructor(bytes: Buffer, at: number) {
    this.#bytes = bytes;
    this.#at = at;
  }

  next(length: number): Int32Array {
    if (!(length >= 0 && length <= this.#bytes.length - this.#at)) throw new DamagedEvidence('samples are missing');
    const counts = new Int32Array(length);
    let before = 0;
    for (let at = 0; at < length; at++) {
      const zigzag = this.#number();
      before = (before + ((zigzag >>> 1) ^ -(zigzag & 1))) | 0;
      counts[at] = before;
    }
    return counts;
  }

  #number(): number {
    let value = 0;
    for (let shift = 0; shift < 35; shift += 7) {
      if (this.#at >= this.#bytes.length) break;
      const byte = this.#bytes[this.#at++];
      value |= (byte & 0x7f) << shift;
      if (byte < 0x80) return value >>> 0;
    }
    throw new DamagedEvidence('samples are missing');
  }
}
