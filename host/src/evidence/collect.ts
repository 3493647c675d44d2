/**
 * What a tester reports of one test, gathered: the evidence in this program's own module, and a bench record.
 * Nothing here waits or sends; run-test.ts does.
 */
import {
  BENCH_NOTES,
  type BenchCoupling,
  type BenchInductance,
  type BenchKind,
  type BenchLive,
  type BenchMagnet,
  type BenchNote,
  type BenchPotential,
  type BenchRecord,
  type BenchResistance,
  type BenchRing,
  type BenchTouch,
} from '../files/bench-record.ts';
import { EntryFlag, EntryKind, NONE, OVERRANGE, Pole } from '../logic/layout.generated.ts';
import type { Logic } from '../logic/module.ts';
import type { Entry, Samples } from '../transport/reports.ts';
import { countsChannel, loadCapture, voltsOf } from './capture.ts';
import { applyBytes, readEntry, shortFloat } from './entry.ts';
import { KIND_CODE, NOTE_CODE } from './load-record.ts';

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

/** Touches that a test can hold come in captures of this many samples at most; more is nonsense on the wire. */
const CAPTURE_MOST = 0xffff;

/** One test as it arrives. */
export class Collector {
  /** Why something could not be taken, in sentences for the user. */
  readonly problems: string[] = [];
  private readonly logic: Logic;
  private readonly setup: BenchSetup;
  private entries = 0;
  private ended = false;
  private scale_u = 0;
  private temperature_C: number | undefined;
  private readonly captures = new Map<string, Int32Array>();
  /** Touches whose capture has come in. */
  touchCount = 0;
  private readonly resistances: BenchResistance[] = [];
  private readonly potentials: BenchPotential[] = [];
  private readonly inductances: BenchInductance[] = [];
  private readonly couplings: BenchCoupling[] = [];
  private readonly rings: BenchRing[] = [];
  private readonly touches: BenchTouch[] = [];
  private readonly magnets: BenchMagnet[] = [];
  private readonly live: BenchLive[] = [];
  private readonly notes: BenchNote[] = [];

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

  /** The tester has said that its test is over. */
  get isEnded(): boolean {
    return this.ended;
  }

  /** Readings of resistance so far, the newest last. */
  get readings(): readonly BenchResistance[] {
    return this.resistances;
  }

  /** Part of a capture; its entry comes later. */
  samples({ touch, channel, offset, samples }: Samples): void {
    const key = `${touch}.${channel}`;
    const end = Math.min(offset + samples.length, CAPTURE_MOST);
    let counts = this.captures.get(key);
    if (counts === undefined || counts.length < end) {
      const longer = new Int32Array(
        Math.max(end, Math.min(2 * (counts?.length ?? 2048), CAPTURE_MOST)),
      ).fill(OVERRANGE);
      if (counts !== undefined) longer.set(counts);
      counts = longer;
      this.captures.set(key, counts);
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
    if (fields.kind === EntryKind.touch) this.touch(fields);
    const refusal = applyBytes(this.logic, entry.bytes);
    if (refusal !== 0)
      this.problems.push(
        `entry ${entry.number} of the tester (kind ${fields.kind}) is not taken by this program's solver (refusal ${refusal})`,
      );
    else this.keep(fields);
    this.entries += 1;
    return 'new';
  }

  /** The capture of a touch goes to the module before the entry does. */
  private touch({ a, b, c, d, count, v0, v1, place }: Fields): void {
    const clips = [
      [a, b],
      [c, d],
    ].filter(([plus]) => plus !== 0) as [number, number][];
    const channels = clips.map(([plus, minus], channel) => {
      const counts = new Int32Array(count).fill(OVERRANGE);
      const arrived = this.captures.get(`${this.touchCount}.${channel}`);
      if (arrived === undefined)
        this.problems.push(
          `touch ${this.touchCount + 1}: no samples of channel ${channel + 1} arrived`,
        );
      else counts.set(arrived.subarray(0, count));
      return { plus, minus, counts };
    });
    loadCapture(
      this.logic,
      channels.map(({ plus, minus, counts }) => countsChannel(plus, minus, counts)),
      v1,
      v0,
    );
    this.touches.push({
      ...this.at(place),
      rate_Hz: shortFloat(v1),
      start_s: shortFloat(v0),
      channels: channels.map(({ plus, minus, counts }) => ({
        plus,
        minus,
        volts_V: Array.from(counts, voltsOf),
      })),
    });
    this.captures.clear();
    this.touchCount += 1;
  }

  private at(place: number): { at?: string } {
    return place === NONE ? {} : { at: this.setup.places[place] ?? `place ${place + 1}` };
  }

  /** Into the record, in its own words. */
  private keep(fields: Fields): void {
    const { kind, flags, a, b, c, d, place } = fields;
    const [v0, v1, v2, v3] = [fields.v0, fields.v1, fields.v2, fields.v3].map(shortFloat) as [
      number,
      number,
      number,
      number,
    ];
    switch (kind) {
      case EntryKind.begin:
        this.scale_u = v2;
        if ((flags & EntryFlag.temperatureKnown) !== 0) this.temperature_C = v0;
        return;
      case EntryKind.resistance:
        this.resistances.push(
          (flags & EntryFlag.open) !== 0
            ? { a, b, ohm: null, above_ohm: v0 }
            : {
                a,
                b,
                ohm: v0,
                ...((flags & EntryFlag.uncertaintyKnown) !== 0 ? { u_ohm: v1 } : {}),
              },
        );
        return;
      case EntryKind.live:
        this.live.push({ a, b, volt_V: v0 });
        return;
      case EntryKind.potential:
        this.potentials.push({ driven: { plus: a, minus: b }, sensed: c, ratio: v0, u_ratio: v1 });
        return;
      case EntryKind.inductance:
        this.inductances.push({
          plus: a,
          minus: b,
          henry_H: v0,
          u_H: v1,
          ...((flags & EntryFlag.lossKnown) !== 0 ? { loss_ohm: v2, u_loss_ohm: v3 } : {}),
        });
        return;
      case EntryKind.coupling:
        this.couplings.push({
          drive: { plus: a, minus: b },
          sense: { plus: c, minus: d },
          mutual_H: v0,
          u_H: v1,
        });
        return;
      case EntryKind.ring:
        this.rings.push({
          plus: a,
          minus: b,
          grounded: [1, 2, 3, 4, 5, 6].filter((clip) => (c & (1 << (clip - 1))) !== 0),
          natural_Hz: v0,
          u_Hz: v1,
          loss_s: v2,
          u_s: v3,
          misfit: shortFloat(fields.extra),
        });
        return;
      case EntryKind.ringCapacitance: {
        const knowsTotal = (flags & EntryFlag.totalKnown) !== 0;
        const ring = this.rings.pop()!;
        this.rings.push({
          ...ring,
          total_F: knowsTotal ? v0 : null,
          ...(knowsTotal ? { u_F: v1 } : {}),
          fixture_F: v2,
          u_fixture_F: v3,
          series_ohm: shortFloat(fields.extra),
        });
        return;
      }
      case EntryKind.magnet:
        this.magnets.push({
          ...this.at(place),
          pole: a === Pole.north ? 'N' : 'S',
          ...((flags & EntryFlag.fieldKnown) !== 0 ? { field_T: v0 } : {}),
        });
        return;
      case EntryKind.note: {
        const note = BENCH_NOTES.find((word) => NOTE_CODE[word] === a);
        if (note !== undefined) this.notes.push(note);
        return;
      }
      case EntryKind.end:
        this.ended = true;
    }
  }

  /** The record of what arrived so far: a whole `bench/1` document.
   * @param taken - time of day, UTC, such as `2026-03-14T10:22:31Z`
   */
  record(taken: string, by: MeasuredBy): BenchRecord {
    const listed = <T>(name: string, list: readonly T[]): Record<string, readonly T[]> =>
      list.length > 0 ? { [name]: list } : {};
    return {
      format: 'bench/1',
      taken,
      tester: {
        serial: by.serial,
        firmware: by.firmware,
        solver: `sha256:${by.moduleHash}`,
        ...(this.scale_u > 0 ? { scale_u: this.scale_u } : {}),
      },
      ...(this.temperature_C === undefined ? {} : { temperature_C: this.temperature_C }),
      ...(this.setup.kind === undefined ? {} : { kind: this.setup.kind }),
      ...(this.setup.covered === undefined ? {} : { covered: this.setup.covered }),
      places: this.setup.places,
      clips: this.setup.clips.map(({ clip, colour }) => ({
        clip,
        ...(colour === undefined ? {} : { colour }),
      })),
      resistances: this.resistances,
      ...listed('potentials', this.potentials),
      ...listed('touches', this.touches),
      ...listed('inductances', this.inductances),
      ...listed('couplings', this.couplings),
      ...listed('rings', this.rings),
      ...listed('magnets', this.magnets),
      ...listed('live', this.live),
      ...listed('notes', this.notes),
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
