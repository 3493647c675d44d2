/**
 * What a tester reports of one test, gathered: the evidence in this program's own module, and a bench record.
 * Nothing here waits or sends; run-test.ts does.
 */
import { asBenchRecord } from '../files/bench-file.ts';
import {
  BENCH_NOTES,
  type BenchKind,
  type BenchRecord,
  type BenchResistance,
  type BenchTester,
  type BenchRing,
} from '../files/bench-record.ts';
import { FieldError } from '../files/field-walk.ts';
import { CAPTURE_WORDS, EntryFlag, EntryKind, NONE, OVERRANGE, Pole } from '../logic/layout.generated.ts';
import type { Logic } from '../logic/module.ts';
import type { Entry, Samples } from '../transport/reports.ts';
import { countsChannel, loadCapture, voltsOf } from './capture.ts';
import { applyBytes, readEntry, shortFloat } from './entry.ts';
import { CALIBRATED_CODE, CONVERTER_FAULT_CODE, KIND_CODE, NOTE_CODE } from './load-record.ts';

/** A field of a record by its code in the module, where there is a word for it. */
function wordOf<K extends string, W extends string>(key: K, codes: Readonly<Record<W, number>>, code: number): { readonly [key in K]?: W } {
  const word = (Object.keys(codes) as W[]).find((one) => codes[one] === code);
  return (word === undefined ? {} : { [key]: word }) as { readonly [key in K]?: W };
}

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

/** What became of an entry. */
export type Taken = 'new' | 'repeated' | 'gap';

type Fields = ReturnType<typeof readEntry>;

/** One channel of a touch, in counts of 2^-20 V. */
interface Channel {
  readonly plus: number;
  readonly minus: number;
  readonly counts: Int32Array;
}

/** What an entry adds to a record: one reading in one of its lists, the temperature, the scale's uncertainty, or nothing. */
type Part = Partial<Pick<BenchRecord, 'temperature_C' | 'tester' | List>>;
const LISTS = ['resistances', 'potentials', 'touches', 'inductances', 'couplings', 'rings', 'magnets', 'live', 'notes'] as const;
type List = (typeof LISTS)[number];

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
  /** A ring whose capacitances come with the next entry. */
  private ring: BenchRing | undefined;
  /** Of the next touch, by channel. */
  private readonly captures = new Map<number, Int32Array>();
  private readonly lists: { [list in List]: NonNullable<BenchRecord[list]>[number][] } = {
    resistances: [], potentials: [], touches: [], inductances: [], couplings: [], rings: [], magnets: [], live: [], notes: [],
  };

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
    return this.lists.resistances as readonly BenchResistance[];
  }

  /** Part of the capture of the next touch; its entry comes later. What belongs to another touch is repeated, or lost with it. */
  samples({ touch, channel, offset, samples }: Samples): void {
    if (touch !== (this.touches & 0xff)) return;
    const end = offset + samples.length;
    let counts = this.captures.get(channel);
    if (counts === undefined || counts.length < end) {
      const longer = new Int32Array(
        Math.max(end, Math.min(2 * (counts?.length ?? 2048), CAPTURE_WORDS)),
      ).fill(OVERRANGE);
      if (counts !== undefined) longer.set(counts);
      counts = longer;
      this.captures.set(channel, counts);
    }
    for (let at = offset; at < end; at++) counts[at] = samples[at - offset] ?? OVERRANGE;
  }

  /** The next thing measured.
   * @returns `repeated` for one that is here already, `gap` when one is missing before it
   */
  entry(entry: Entry): Taken {
    if (entry.number < this.entries) return 'repeated';
    if (entry.number > this.entries) return 'gap';
    const fields = readEntry(entry.bytes);
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
    if (typeof channels === 'string') return channels;
    const part = this.partOf(fields, channels);
    if (typeof part === 'string') return part;
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

  /** The channels of a touch with the samples that came for them, or why there are none. */
  private channelsOf({ a, b, c, d, count }: Fields): Channel[] | string {
    const clips = [
      [a, b],
      [c, d],
    ].filter(([plus]) => plus !== 0) as [number, number][];
    if (clips.length === 0) return 'a touch of no channel; expected one or two';
    const most = Math.floor(CAPTURE_WORDS / clips.length);
    if (count < 1 || count > most) return `a touch of ${count} samples a channel; expected 1 to ${most}`;
    return clips.map(([plus, minus], channel) => {
      const counts = new Int32Array(count).fill(OVERRANGE);
      const arrived = this.captures.get(channel);
      if (arrived === undefined)
        this.troubles.push(`touch ${this.touches + 1}: no samples of channel ${channel + 1} arrived`);
      else counts.set(arrived.subarray(0, count));
      return { plus, minus, counts };
    });
  }

  private at(place: number): { at?: string } {
    return place === NONE ? {} : { at: this.setup.places[place] ?? `place ${place + 1}` };
  }

  /** An entry in a record's own words, or why it has none. */
  private partOf(fields: Fields, channels: readonly Channel[]): Part | string {
    const { kind, flags, a, b, c, d, place } = fields;
    const [v0, v1, v2, v3] = [fields.v0, fields.v1, fields.v2, fields.v3].map(shortFloat) as [
      number,
      number,
      number,
      number,
    ];
    switch (kind) {
      case EntryKind.begin:
        // A second one would empty the evidence and not the record.
        if (this.entries > 0) return 'a test begins once, with its first entry';
        return {
          ...((flags & EntryFlag.temperatureKnown) !== 0 ? { temperature_C: v0 } : {}),
          tester: {
            ...(v2 === 0 ? {} : { scale_u: v2 }),
            ...wordOf('calibration', CALIBRATED_CODE, v1),
          },
        };
      case EntryKind.resistance:
        return {
          resistances: [
            (flags & EntryFlag.open) !== 0
              ? { a, b, ohm: null, above_ohm: v0 }
              : { a, b, ohm: v0, ...((flags & EntryFlag.uncertaintyKnown) !== 0 ? { u_ohm: v1 } : {}) },
          ],
        };
      case EntryKind.live:
        return { live: [{ a, b, volt_V: v0 }] };
      case EntryKind.potential:
        return { potentials: [{ driven: { plus: a, minus: b }, sensed: c, ratio: v0, u_ratio: v1 }] };
      case EntryKind.inductance:
        return {
          inductances: [
            {
              plus: a,
              minus: b,
              henry_H: v0,
              u_H: v1,
              ...((flags & EntryFlag.lossKnown) !== 0 ? { loss_ohm: v2, u_loss_ohm: v3 } : {}),
            },
          ],
        };
      case EntryKind.coupling:
        return {
          couplings: [{ drive: { plus: a, minus: b }, sense: { plus: c, minus: d }, mutual_H: v0, u_H: v1 }],
        };
      case EntryKind.ring:
        this.ring = {
          plus: a,
          minus: b,
          grounded: [1, 2, 3, 4, 5, 6].filter((clip) => (c & (1 << (clip - 1))) !== 0),
          natural_Hz: v0,
          u_Hz: v1,
          loss_s: v2,
          u_s: v3,
          misfit: shortFloat(fields.extra),
        };
        return {};
      case EntryKind.ringCapacitance: {
        if (this.ring === undefined) return 'the capacitances of a ring that did not come';
        const knowsTotal = (flags & EntryFlag.totalKnown) !== 0;
        const ring: BenchRing = {
          ...this.ring,
          total_F: knowsTotal ? v0 : null,
          ...(knowsTotal ? { u_F: v1 } : {}),
          fixture_F: v2,
          u_fixture_F: v3,
          series_ohm: shortFloat(fields.extra),
        };
        this.ring = undefined;
        return { rings: [ring] };
      }
      case EntryKind.touch:
        return {
          touches: [
            {
              ...this.at(place),
              rate_Hz: v1,
              start_s: v0,
              channels: channels.map(({ plus, minus, counts }) => ({
                plus,
                minus,
                volts_V: Array.from(counts, voltsOf),
              })),
            },
          ],
        };
      case EntryKind.magnet:
        if (a !== Pole.north && a !== Pole.south) return `a pole of code ${a}; expected ${Pole.north} or ${Pole.south}`;
        return {
          magnets: [
            {
              ...this.at(place),
              pole: a === Pole.north ? 'N' : 'S',
              ...((flags & EntryFlag.fieldKnown) !== 0 ? { field_T: v0 } : {}),
            },
          ],
        };
      case EntryKind.note: {
        const note = BENCH_NOTES.find((word) => NOTE_CODE[word] === a);
        const fault = note === 'converter_failed' ? wordOf('converter_fault', CONVERTER_FAULT_CODE, b) : {};
        return note === undefined ? {} : { notes: [note], tester: fault };
      }
      case EntryKind.end:
        return {};
      default:
        return 'an entry of a kind that no tester sends';
    }
  }

  private add(part: Part): void {
    if (part.temperature_C !== undefined) this.temperature_C = part.temperature_C;
    this.tester = { ...this.tester, ...part.tester };
    for (const name of LISTS) (this.lists[name] as unknown[]).push(...(part[name] ?? []));
  }

  /** The record of what arrived so far: a whole `bench/1` document.
   * @param taken - time of day, UTC, such as `2026-03-14T10:22:31Z`
   */
  record(taken: string, by: MeasuredBy): BenchRecord {
    const { resistances, ...others } = this.lists;
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
      resistances,
      ...Object.fromEntries(Object.entries(others).filter(([, list]) => list.length > 0)),
    };
  }
}

/** The setup report's code of a kind. */
export function kindCode(kind: BenchKind | undefined): number {
  return kind === undefined ? 0 : KIND_CODE[kind];
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
