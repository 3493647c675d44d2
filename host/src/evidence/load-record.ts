/** A bench record into the module's evidence, as the very entries that a tester would have sent. */
import type { BenchNote, BenchRecord, BenchRing, BenchTouch } from '../files/bench-record.ts';
import { Cover, EntryFlag, EntryKind, Kind, NONE, Note, Pole, Swing } from '../logic/layout.generated.ts';
import type { Logic } from '../logic/module.ts';
import { BARE } from '../wiremap/colours.ts';
import { loadCapture, voltsChannel } from './capture.ts';
import { typedUncertainty_ohm } from './hand-meter.ts';
import { applyFields, type EntryFields } from './entry.ts';

/** The module's code of what the person said lies there. */
export const KIND_CODE = {
  single: Kind.single,
  side_by_side: Kind.sideBySide,
  three: Kind.three,
  stacked: Kind.stacked,
} as const;
const SWING_CODE = {
  none: Swing.none,
  positive: Swing.positive,
  negative: Swing.negative,
} as const;
/** The module's code of a note. */
export const NOTE_CODE: Record<BenchNote, number> = {
  cancelled: Note.cancelled,
  timed_out: Note.timedOut,
  asks_exhausted: Note.asksExhausted,
  converter_failed: Note.converterFailed,
  capture_overrun: Note.captureOverrun,
  self_test_failed: Note.selfTestFailed,
};

/** The module's code of what the person said of a metal cover. */
export function coverCode(covered: boolean | undefined): number {
  return covered === undefined ? Cover.unknown : covered ? Cover.metal : Cover.none;
}

/** Places that the module knows by number; readings at any further one count as readings without a place. */
const PLACES_most = 32;

/** A field of a record that the module does not take although its form is right. */
export class RefusedEvidence extends Error {
  constructor(path: string) {
    super(`${path}: the solver has no room or no use for this; expected evidence of one pickup`);
    this.name = 'RefusedEvidence';
  }
}

/** Fills the evidence block from a record.
 * @param record - checked by `asBenchRecord`
 * @returns the names of the places, by the index that the module knows them by
 * @throws RefusedEvidence
 */
export function loadRecord(logic: Logic, record: BenchRecord): readonly string[] {
  logic.calls.evidenceClear();
  const places = placesOf(record);
  new Loader(logic, places).load(record);
  return places;
}

/** Places in the order in which they were asked for: as listed, else as they first occur. */
export function placesOf(record: BenchRecord): readonly string[] {
  const names = new Set(record.places);
  for (const list of [record.touches, record.magnets, record.observed]) {
    for (const { at } of list ?? []) if (at !== undefined) names.add(at);
  }
  return [...names];
}

class Loader {
  private readonly logic: Logic;
  private readonly places: ReadonlyMap<string, number>;
  private readonly placeCount: number;
  private number = 0;

  constructor(logic: Logic, places: readonly string[]) {
    this.logic = logic;
    this.places = new Map(places.slice(0, PLACES_most).map((name, index) => [name, index]));
    this.placeCount = Math.min(places.length, PLACES_most);
  }

  load(record: BenchRecord): void {
    this.begin(record);
    this.live(record);
    this.resistances(record);
    record.potentials?.forEach(({ driven, sensed, ratio, u_ratio }, index) =>
      this.apply('potentials', index, {
        kind: EntryKind.potential,
        a: driven.plus,
        b: driven.minus,
        c: sensed,
        v0: ratio,
        v1: u_ratio,
      }),
    );
    record.inductances?.forEach(({ plus, minus, henry_H, u_H, loss_ohm, u_loss_ohm }, index) =>
      this.apply('inductances', index, {
        kind: EntryKind.inductance,
        flags: loss_ohm === undefined ? 0 : EntryFlag.lossKnown,
        a: plus,
        b: minus,
        v0: henry_H,
        v1: u_H,
        v2: loss_ohm ?? 0,
        v3: u_loss_ohm ?? 0,
      }),
    );
    record.couplings?.forEach(({ drive, sense, mutual_H, u_H }, index) =>
      this.apply('couplings', index, {
        kind: EntryKind.coupling,
        a: drive.plus,
        b: drive.minus,
        c: sense.plus,
        d: sense.minus,
        v0: mutual_H,
        v1: u_H,
      }),
    );
    record.rings?.forEach((ring, index) => this.ring(ring, index));
    record.touches?.forEach((touch, index) => this.touch(touch, index));
    record.magnets?.forEach(({ at, pole, field_T }, index) =>
      this.apply('magnets', index, {
        kind: EntryKind.magnet,
        flags: field_T === undefined ? 0 : EntryFlag.fieldKnown,
        a: pole === 'N' ? Pole.north : Pole.south,
        place: this.place(at),
        v0: field_T ?? 0,
      }),
    );
    record.observed?.forEach(({ at, plus, minus, swing, peak_V }, index) =>
      this.apply('observed', index, {
        kind: EntryKind.observed,
        flags: peak_V === undefined ? 0 : EntryFlag.peakKnown,
        a: plus,
        b: minus,
        c: SWING_CODE[swing],
        place: this.place(at),
        v0: peak_V ?? 0,
      }),
    );
    record.notes?.forEach((note, index) =>
      this.apply('notes', index, { kind: EntryKind.note, a: NOTE_CODE[note] }),
    );
    this.apply('', 0, { kind: EntryKind.end });
  }

  private begin(record: BenchRecord): void {
    let [clipMask, bareMask] = [0, 0];
    for (const { clip, colour } of record.clips) {
      clipMask |= 1 << (clip - 1);
      if (colour === BARE) bareMask |= 1 << (clip - 1);
    }
    const isWarm = record.temperature_C !== undefined;
    this.apply('clips', 0, {
      kind: EntryKind.begin,
      flags: (isWarm ? EntryFlag.temperatureKnown : 0) | (record.tester === undefined ? EntryFlag.typed : 0),
      a: clipMask,
      b: bareMask,
      c: record.kind === undefined ? Kind.unknown : KIND_CODE[record.kind],
      d: coverCode(record.covered),
      place: this.placeCount,
      v0: record.temperature_C ?? 0,
      v2: record.tester?.scale_u ?? 0,
    });
  }

  private live(record: BenchRecord): void {
    record.live?.forEach(({ a, b, volt_V }, index) =>
      this.apply('live', index, { kind: EntryKind.live, a, b, v0: volt_V }),
    );
  }

  private resistances(record: BenchRecord): void {
    record.resistances.forEach(({ a, b, ohm, above_ohm, u_ohm }, index) => {
      // Without a tester it was typed in; of a tester's reading without one the module assumes the usual.
      const typed = record.tester === undefined && ohm !== null ? typedUncertainty_ohm(ohm) : undefined;
      const u = u_ohm ?? typed;
      this.apply('resistances', index, {
        kind: EntryKind.resistance,
        flags: (ohm === null ? EntryFlag.open : 0) | (u === undefined ? 0 : EntryFlag.uncertaintyKnown),
        a,
        b,
        v0: ohm ?? above_ohm ?? 0,
        v1: u ?? 0,
      });
    });
  }

  /** Two entries, since one holds five numbers. */
  private ring(ring: BenchRing, index: number): void {
    const { plus: a, minus: b, grounded = [], total_F } = ring;
    const knowsTotal = typeof total_F === 'number';
    this.apply('rings', index, {
      kind: EntryKind.ring,
      a,
      b,
      c: grounded.reduce((mask, clip) => mask | (1 << (clip - 1)), 0),
      v0: ring.natural_Hz,
      v1: ring.u_Hz ?? 0,
      v2: ring.loss_s,
      v3: ring.u_s ?? 0,
      extra: ring.misfit ?? 0,
    });
    this.apply('rings', index, {
      kind: EntryKind.ringCapacitance,
      flags: knowsTotal ? EntryFlag.totalKnown : 0,
      a,
      b,
      v0: knowsTotal ? total_F : 0,
      v1: knowsTotal ? (ring.u_F ?? 0) : 0,
      v2: ring.fixture_F ?? 0,
      v3: ring.u_fixture_F ?? 0,
      extra: ring.series_ohm ?? 0,
    });
  }

  private touch(touch: BenchTouch, index: number): void {
    const { channels, rate_Hz, start_s } = touch;
    loadCapture(
      this.logic,
      channels.map(({ plus, minus, volts_V }) => voltsChannel(plus, minus, volts_V)),
      rate_Hz,
      start_s,
    );
    const [first, second] = channels;
    this.apply('touches', index, {
      kind: EntryKind.touch,
      place: this.place(touch.at),
      count: first?.volts_V.length ?? 0,
      a: first?.plus ?? 0,
      b: first?.minus ?? 0,
      c: second?.plus ?? 0,
      d: second?.minus ?? 0,
      v0: start_s,
      v1: rate_Hz,
    });
  }

  private place(name: string | undefined): number {
    return name === undefined ? NONE : (this.places.get(name) ?? NONE);
  }

  private apply(list: string, index: number, fields: EntryFields): void {
    const refusal = applyFields(this.logic, this.number, fields);
    this.number += 1;
    if (refusal !== 0) throw new RefusedEvidence(list === '' ? 'record' : `${list}[${index}]`);
  }
}
