/**
 * What a tester reports of one test, gathered: the evidence in this program's own module, and a bench record.
 * Nothing here waits or sends; run-test.ts does.
 */
import { asBenchRecord } from '../files/bench-file.ts';
import type { BenchKind, BenchRecord, BenchResistance, BenchTester } from '../files/bench-record.ts';
import { FieldError } from '../files/field-walk.ts';
import { CAPTURE_WORDS, EntryKind, OVERRANGE } from '../logic/layout.generated.ts';
import type { Logic } from '../logic/module.ts';
import type { Entry, Samples } from '../transport/reports.ts';
import { countsChannel, loadCapture } from './capture.ts';
import { applyBytes, readEntry, shortFloat } from './entry.ts';
import { faultOfNote, isRefused, keepBegin, NOBODY_SENDS, READINGS, type List, type Refused, type Told } from './readings.ts';

/** What the person said of the pickup before the test. */
export interface BenchSetup {
  readonly clips: readonly { readonly clip: number; readonly colour?: string }[];
  readonly places: readonly string[];
  readonly kind?: BenchKind;
  /** Whether metal covers the coils; left out when nobody said. */
  readonly covered?: boolean;
}

/** Who measured. */
export interface MeasuredBy {
  readonly serial: string;
  readonly firmware: string;
  /** SHA-256 of the tester's module, hex. */
  readonly moduleHash: string;
}

/** What became of an entry; `incomplete`: samples of its touch did not arrive, and it was not taken. */
export type Taken = 'new' | 'repeated' | 'gap' | 'incomplete';

type Fields = ReturnType<typeof readEntry>;

/** One channel of a touch, in counts of 2^-20 V. */
interface Channel {
  readonly plus: number;
  readonly minus: number;
  readonly counts: Int32Array;
}

/** What arrived of one channel: a tester sends its samples in order, so that all before `whole` are there. */
interface Arrived {
  readonly counts: Int32Array;
  readonly whole: number;
}

const NOTHING: Arrived = { counts: new Int32Array(0), whole: 0 };

/** What an entry adds to a record: one reading in one of its lists, the temperature, the scale's uncertainty, or nothing. */
type Part = Partial<Pick<BenchRecord, 'temperature_C' | 'tester' | List>>;

/** Problems that are told one by one; of more only the number. */
const PROBLEMS_TOLD = 4;

/** One test as it arrives. */
export class Collector {
  private readonly logic: Logic;
  private readonly setup: BenchSetup;
  private readonly troubles: string[] = [];
  private entries = 0;
  private touches = 0;
  private ended = false;
  private tester: BenchTester = {};
  private temperature_C: number | undefined;
  /** The first entries of readings that take several. */
  private readonly begun = new Map<List, Told[]>();
  /** Of the next touch, by channel. */
  private readonly captures = new Map<number, Arrived>();
  private readonly lists = new Map<List, unknown[]>(READINGS.map(([list]) => [list, []]));

  /** @param logic - an instance of its own, whose evidence is filled */
  constructor(logic: Logic, setup: BenchSetup) {
    this.logic = logic;
    this.setup = setup;
    logic.calls.evidenceClear();
  }

  /** Entries taken so far; what is acknowledged. */
  get count(): number {
    return this.entries;
  }

  /** Touches that the tester has logged so far. */
  get touchCount(): number {
    return this.touches;
  }

  /** Why something could not be taken, in a few sentences for the user. */
  get problems(): readonly string[] {
    const rest = this.troubles.length - PROBLEMS_TOLD;
    return rest > 0 ? [...this.troubles.slice(0, PROBLEMS_TOLD), `and ${rest} more of the kind`] : this.troubles;
  }

  /** The tester has said that its test is over. */
  get isEnded(): boolean {
    return this.ended;
  }

  /** Readings of resistance so far, the newest last. */
  get readings(): readonly BenchResistance[] {
    return this.lists.get('resistances') as readonly BenchResistance[];
  }

  /** Part of the capture of the next touch; its entry comes later. What belongs to another touch is repeated, or lost with it. */
  samples({ touch, channel, offset, samples }: Samples): void {
    if (touch !== (this.touches & 0xff)) return;
    const end = offset + samples.length;
    let { counts, whole } = this.captures.get(channel) ?? NOTHING;
    if (counts.length < end) {
      const longer = new Int32Array(Math.max(end, Math.min(Math.max(2 * counts.length, 2048), CAPTURE_WORDS))).fill(OVERRANGE);
      longer.set(counts);
      counts = longer;
    }
    for (let at = offset; at < end; at++) counts[at] = samples[at - offset] ?? OVERRANGE;
    if (offset <= whole) whole = Math.max(whole, end);
    this.captures.set(channel, { counts, whole });
  }

  /** The next thing measured.
   * @param asItIs - a touch is taken without the samples that did not arrive, which count as over range
   * @returns `repeated` for one that is here already, `gap` when one is missing before it
   */
  entry(entry: Entry, asItIs = false): Taken {
    if (entry.number < this.entries) return 'repeated';
    if (entry.number > this.entries) return 'gap';
    const fields = readEntry(entry.bytes);
    if (!asItIs && this.lacksSamples(fields)) return 'incomplete';
    const refusal = this.take(fields, entry.bytes);
    if (refusal !== null) {
      this.troubles.push(`entry ${entry.number} of the tester (kind ${fields.kind}) is not taken: ${refusal}`);
    }
    if (fields.kind === EntryKind.touch) {
      this.captures.clear();
      this.touches += 1;
    }
    if (fields.kind === EntryKind.end) this.ended = true;
    this.entries += 1;
    return 'new';
  }

  /** An entry into the evidence and the record, or into neither. @returns why not, or null */
  private take(fields: Fields, bytes: Uint8Array): string | null {
    const channels = fields.kind === EntryKind.touch ? this.channelsOf(fields) : [];
    if (isRefused(channels)) return channels.refused;
    const part = this.partOf(fields, channels);
    if (isRefused(part)) return part.refused;
    const fault = this.faultOf(part);
    if (fault !== null) return fault;
    if (channels.length > 0) {
      const loaded = channels.map(({ plus, minus, counts }) => countsChannel(plus, minus, counts));
      loadCapture(this.logic, loaded, fields.v1, fields.v0);
    }
    const refusal = applyBytes(this.logic, bytes);
    if (refusal !== 0) return `this program's solver refuses it (refusal ${refusal})`;
    this.add(part);
    return null;
  }

  /** A record has to hold what is taken, so that it can be solved again. @returns what is wrong with a part, or null */
  private faultOf(part: Part): string | null {
    try {
      asBenchRecord({ format: 'bench/1', clips: this.setup.clips, resistances: [], ...part });
      return null;
    } catch (error) {
      if (error instanceof FieldError) return error.message;
      throw error;
    }
  }

  /** Whether reports with samples of a touch were lost on the way: a computer that is busy keeps the last 64 only. */
  private lacksSamples(fields: Fields): boolean {
    if (fields.kind !== EntryKind.touch) return false;
    const clips = clipsOf(fields);
    // What no tester can hold is refused, and not asked for again.
    if (fields.count > CAPTURE_WORDS / clips.length) return false;
    return clips.some((_, channel) => (this.captures.get(channel)?.whole ?? 0) < fields.count);
  }

  /** The channels of a touch with the samples that came for them, or why there are none. */
  private channelsOf(fields: Fields): Channel[] | Refused {
    const { count } = fields;
    const clips = clipsOf(fields);
    if (clips.length === 0) return { refused: 'a touch of no channel; expected one or two' };
    const most = Math.floor(CAPTURE_WORDS / clips.length);
    if (count < 1 || count > most) return { refused: `a touch of ${count} samples a channel; expected 1 to ${most}` };
    return clips.map(([plus, minus], channel) => {
      const counts = new Int32Array(count).fill(OVERRANGE);
      const { counts: there, whole } = this.captures.get(channel) ?? NOTHING;
      counts.set(there.subarray(0, count));
      if (whole < count) {
        this.troubles.push(`touch ${this.touches + 1}: ${whole === 0 ? 'no' : 'not all'} samples of channel ${channel + 1} arrived`);
      }
      return { plus, minus, counts };
    });
  }

  /** An entry in a record's own words, or why it has none. */
  private partOf(fields: Fields, channels: readonly Channel[]): Part | Refused {
    const { kind, v0, v1, v2, v3, extra } = fields;
    const [s0, s1, s2, s3, sExtra] = [v0, v1, v2, v3, extra].map(shortFloat) as [number, number, number, number, number];
    const told: Told = { ...fields, v0: s0, v1: s1, v2: s2, v3: s3, extra: sExtra };
    // A second beginning would empty the evidence and not the record.
    if (kind === EntryKind.begin) return this.entries > 0 ? { refused: 'a test begins once, with its first entry' } : keepBegin(told);
    if (kind === EntryKind.end) return {};
    const row = READINGS.find(([, { kinds }]) => kinds.includes(kind));
    if (row === undefined) return NOBODY_SENDS;
    const [list, { kinds, keep }] = row;
    const at = kinds.indexOf(kind);
    const before = at === 0 ? [] : this.begun.get(list);
    if (before?.length !== at) return { refused: `the end of one of the ${list}, of which the beginning did not come` };
    const all = [...before, told];
    this.begun.set(list, all);
    if (all.length < kinds.length) return {};
    this.begun.delete(list);
    const reading = keep(all, { places: this.setup.places, channels });
    if (reading === null) return {};
    if (isRefused(reading)) return reading;
    return { [list]: [reading], ...(list === 'notes' ? faultOfNote(told) : {}) };
  }

  private add(part: Part): void {
    if (part.temperature_C !== undefined) this.temperature_C = part.temperature_C;
    this.tester = { ...this.tester, ...part.tester };
    for (const [list, readings] of this.lists) readings.push(...(part[list] ?? []));
  }

  /** The record of what arrived so far: a whole `bench/1` document.
   * @param taken - time of day, UTC, such as `2026-03-14T10:22:31Z`
   */
  record(taken: string, by: MeasuredBy): BenchRecord {
    const filled = [...this.lists].filter(([list, readings]) => readings.length > 0 || list === 'resistances');
    return {
      format: 'bench/1',
      taken,
      tester: {
        serial: by.serial,
        firmware: by.firmware,
        solver: `sha256:${by.moduleHash}`,
        ...this.tester,
      },
      ...(this.temperature_C === undefined ? {} : { temperature_C: this.temperature_C }),
      ...(this.setup.kind === undefined ? {} : { kind: this.setup.kind }),
      ...(this.setup.covered === undefined ? {} : { covered: this.setup.covered }),
      places: this.setup.places,
      clips: this.setup.clips.map(({ clip, colour }) => ({
        clip,
        ...(colour === undefined ? {} : { colour }),
      })),
      ...(Object.fromEntries(filled) as { resistances: BenchResistance[] }),
    };
  }
}

/** Plus and minus of each channel of a touch's entry. */
function clipsOf({ a, b, c, d }: Fields): [number, number][] {
  const channels: [number, number][] = [[a, b], [c, d]];
  return channels.filter(([plus]) => plus !== 0);
}

/** The first bytes in which two blocks differ, as a sentence, or null when they are equal.
 * @param ours - what this program made @param theirs - what the tester holds
 */
export function blockDifference(what: string, ours: Uint8Array, theirs: Uint8Array): string | null {
  if (ours.length !== theirs.length)
    return `${what}: the tester's has ${theirs.length} bytes, this program's ${ours.length}`;
  let differing = 0;
  let first = -1;
  for (let at = 0; at < ours.length; at++) {
    if (ours[at] === theirs[at]) continue;
    differing += 1;
    if (first < 0) first = at;
  }
  if (first < 0) return null;
  return (
    `${what}: the tester's and this program's differ in ${differing} of ${ours.length} bytes, first at ${first} ` +
    `(tester ${theirs[first]}, program ${ours[first]}); do not rely on either`
  );
}
