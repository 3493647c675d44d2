/** Each list of a record beside the entries that tell it: one row keeps what a tester sent and loads what a file holds. */
import type {
  BenchCalibration,
  BenchConverterFault,
  BenchKind,
  BenchNote,
  BenchRecord,
  BenchResistance,
  BenchTester,
} from '../files/bench-record.ts';
import { Calibrated, ConverterFault, Cover, EntryFlag, EntryKind, Kind, NONE, Note, Pole, Swing } from '../logic/layout.generated.ts';
import { BARE } from '../wiremap/colours.ts';
import { voltsOf } from './capture.ts';
import type { EntryFields } from './entry.ts';
import { typedUncertainty_ohm } from './hand-meter.ts';

/** A list of readings in a record. */
export type List =
  | 'live' | 'resistances' | 'potentials' | 'inductances' | 'couplings' | 'rings' | 'touches' | 'magnets' | 'observed' | 'notes';

/** An entry as a tester sent it, its numbers as short as single precision allows. */
export type Told = Required<EntryFields>;

/** What keeping a reading needs besides its entries. */
export interface Keeping {
  /** Names of the places, by number. */
  readonly places: readonly string[];
  /** Channels of a touch, in counts of 2^-20 V. */
  readonly channels: readonly { readonly plus: number; readonly minus: number; readonly counts: Int32Array }[];
}

/** What loading a reading needs besides itself. */
export interface Loading {
  /** Numbers of the places, by name. */
  readonly places: ReadonlyMap<string, number>;
  /** Who measured; without one a person typed what a meter showed. */
  readonly tester: BenchTester | undefined;
}

/** Why an entry is not taken. */
export interface Refused {
  readonly refused: string;
}

/** Whether something is a refusal and no reading. */
export function isRefused(kept: unknown): kept is Refused {
  return typeof kept === 'object' && kept !== null && 'refused' in kept;
}

interface Row<R> {
  /** Kinds of the entries that tell one reading, in their order: one entry holds five numbers. */
  readonly kinds: readonly number[];
  /** @param told - one entry of each kind @returns the reading, or null where the entries say nothing that a record holds */
  keep(told: readonly Told[], context: Keeping): R | Refused | null;
  /** @returns the entries' fields, for each kind in its order */
  load(reading: R, context: Loading): readonly Omit<EntryFields, 'kind'>[];
}

/** A row whose readings are told by one entry each. */
function row<R>(
  kind: number,
  keep: (told: Told, context: Keeping) => NoInfer<R> | Refused | null,
  load: (reading: R, context: Loading) => Omit<EntryFields, 'kind'>,
): Row<R> {
  return { kinds: [kind], keep: ([told], context) => keep(told!, context), load: (reading, context) => [load(reading, context)] };
}

/** The module's code of what the person said lies there. */
const KIND_CODE = {
  single: Kind.single,
  side_by_side: Kind.sideBySide,
  three: Kind.three,
  stacked: Kind.stacked,
} as const;
/** The module's code of a note. */
const NOTE_CODE: Record<BenchNote, number> = {
  cancelled: Note.cancelled,
  timed_out: Note.timedOut,
  asks_exhausted: Note.asksExhausted,
  converter_failed: Note.converterFailed,
  capture_overrun: Note.captureOverrun,
  self_test_failed: Note.selfTestFailed,
};
/** The module's code of what a tester's calibration was like. */
const CALIBRATED_CODE: Record<BenchCalibration, number> = {
  good: Calibrated.good,
  missing: Calibrated.missing,
  corrupt: Calibrated.corrupt,
  old: Calibrated.old,
};
/** The module's code of what was wrong with a tester's converter. */
const CONVERTER_FAULT_CODE: Record<BenchConverterFault, number> = {
  not_ready: ConverterFault.notReady,
  other_part: ConverterFault.otherPart,
  not_set: ConverterFault.notSet,
  silent: ConverterFault.silent,
  disturbed: ConverterFault.disturbed,
};
const SWING_CODE = { none: Swing.none, positive: Swing.positive, negative: Swing.negative } as const;
const POLE_CODE = { N: Pole.north, S: Pole.south } as const;

/** The module's code of a kind of pickup. */
export function kindCode(kind: BenchKind | undefined): number {
  return kind === undefined ? Kind.unknown : KIND_CODE[kind];
}

/** The module's code of what the person said of a metal cover. */
export function coverCode(covered: boolean | undefined): number {
  return covered === undefined ? Cover.unknown : covered ? Cover.metal : Cover.none;
}

/** Why an entry is not taken that speaks of what only people see. */
export const NOBODY_SENDS: Refused = { refused: 'an entry of a kind that no tester sends' };

const isSet = (flags: number, flag: number): boolean => (flags & flag) !== 0;
const placeName = (place: number, { places }: Keeping): { at?: string } =>
  place === NONE ? {} : { at: places[place] ?? `place ${place + 1}` };
const placeNumber = (name: string | undefined, { places }: Loading): number =>
  name === undefined ? NONE : (places.get(name) ?? NONE);
const clipsIn = (mask: number): number[] => [1, 2, 3, 4, 5, 6].filter((clip) => isSet(mask, 1 << (clip - 1)));
const maskOf = (clips: readonly number[]): number => clips.reduce((mask, clip) => mask | (1 << (clip - 1)), 0);

/** The word of a code, where there is one. */
function wordOf<W extends string>(codes: Readonly<Record<W, number>>, code: number): W | undefined {
  return (Object.keys(codes) as W[]).find((word) => codes[word] === code);
}

function converterFaultCode(tester: BenchTester | undefined): number {
  return tester?.converter_fault === undefined ? ConverterFault.none : CONVERTER_FAULT_CODE[tester.converter_fault];
}

/** What a note of a broken converter says of the tester. */
export function faultOfNote({ a, b }: Told): Pick<BenchRecord, 'tester'> {
  const fault = a === Note.converterFailed ? wordOf(CONVERTER_FAULT_CODE, b) : undefined;
  return fault === undefined ? {} : { tester: { converter_fault: fault } };
}

/** Of a tester's reading without an uncertainty the module assumes the usual; a typed one has that of its meter. */
function uncertainty_ohm({ ohm, u_ohm }: BenchResistance, { tester }: Loading): number | undefined {
  return u_ohm ?? (tester === undefined && ohm !== null ? typedUncertainty_ohm(ohm) : undefined);
}

/** The table, in the order in which a record is loaded. */
const ROWS: { readonly [L in List]: Row<NonNullable<BenchRecord[L]>[number]> } = {
  live: row(
    EntryKind.live,
    ({ a, b, v0 }) => ({ a, b, volt_V: v0 }),
    ({ a, b, volt_V }) => ({ a, b, v0: volt_V }),
  ),
  resistances: row(
    EntryKind.resistance,
    ({ a, b, flags, v0, v1 }) =>
      isSet(flags, EntryFlag.open)
        ? { a, b, ohm: null, above_ohm: v0 }
        : { a, b, ohm: v0, ...(isSet(flags, EntryFlag.uncertaintyKnown) ? { u_ohm: v1 } : {}) },
    (reading, context) => {
      const { a, b, ohm, above_ohm } = reading;
      const u_ohm = uncertainty_ohm(reading, context);
      return {
        a,
        b,
        flags: (ohm === null ? EntryFlag.open : 0) | (u_ohm === undefined ? 0 : EntryFlag.uncertaintyKnown),
        v0: ohm ?? above_ohm ?? 0,
        v1: u_ohm ?? 0,
      };
    },
  ),
  potentials: row(
    EntryKind.potential,
    ({ a, b, c, v0, v1 }) => ({ driven: { plus: a, minus: b }, sensed: c, ratio: v0, u_ratio: v1 }),
    ({ driven, sensed, ratio, u_ratio }) => ({ a: driven.plus, b: driven.minus, c: sensed, v0: ratio, v1: u_ratio }),
  ),
  inductances: row(
    EntryKind.inductance,
    ({ a, b, flags, v0, v1, v2, v3 }) => ({
      plus: a,
      minus: b,
      henry_H: v0,
      u_H: v1,
      ...(isSet(flags, EntryFlag.lossKnown) ? { loss_ohm: v2, u_loss_ohm: v3 } : {}),
    }),
    ({ plus, minus, henry_H, u_H, loss_ohm, u_loss_ohm }) => ({
      a: plus,
      b: minus,
      flags: loss_ohm === undefined ? 0 : EntryFlag.lossKnown,
      v0: henry_H,
      v1: u_H,
      v2: loss_ohm ?? 0,
      v3: u_loss_ohm ?? 0,
    }),
  ),
  couplings: row(
    EntryKind.coupling,
    ({ a, b, c, d, v0, v1 }) => ({ drive: { plus: a, minus: b }, sense: { plus: c, minus: d }, mutual_H: v0, u_H: v1 }),
    ({ drive, sense, mutual_H, u_H }) => ({
      a: drive.plus,
      b: drive.minus,
      c: sense.plus,
      d: sense.minus,
      v0: mutual_H,
      v1: u_H,
    }),
  ),
  rings: {
    kinds: [EntryKind.ring, EntryKind.ringCapacitance],
    keep([told, capacitance]) {
      const { a, b, c, v0, v1, v2, v3, extra } = told!;
      const knowsTotal = isSet(capacitance!.flags, EntryFlag.totalKnown);
      return {
        plus: a,
        minus: b,
        grounded: clipsIn(c),
        natural_Hz: v0,
        u_Hz: v1,
        loss_s: v2,
        u_s: v3,
        misfit: extra,
        total_F: knowsTotal ? capacitance!.v0 : null,
        ...(knowsTotal ? { u_F: capacitance!.v1 } : {}),
        fixture_F: capacitance!.v2,
        u_fixture_F: capacitance!.v3,
        series_ohm: capacitance!.extra,
      };
    },
    load(ring) {
      const { plus: a, minus: b, total_F } = ring;
      const knowsTotal = typeof total_F === 'number';
      return [
        {
          a,
          b,
          c: maskOf(ring.grounded ?? []),
          v0: ring.natural_Hz,
          v1: ring.u_Hz ?? 0,
          v2: ring.loss_s,
          v3: ring.u_s ?? 0,
          extra: ring.misfit ?? 0,
        },
        {
          a,
          b,
          flags: knowsTotal ? EntryFlag.totalKnown : 0,
          v0: knowsTotal ? total_F : 0,
          v1: knowsTotal ? (ring.u_F ?? 0) : 0,
          v2: ring.fixture_F ?? 0,
          v3: ring.u_fixture_F ?? 0,
          extra: ring.series_ohm ?? 0,
        },
      ];
    },
  },
  touches: row(
    EntryKind.touch,
    ({ place, v0, v1 }, context) => ({
      ...placeName(place, context),
      rate_Hz: v1,
      start_s: v0,
      channels: context.channels.map(({ plus, minus, counts }) => ({ plus, minus, volts_V: Array.from(counts, voltsOf) })),
    }),
    ({ at, channels: [first, second], start_s, rate_Hz }, context) => ({
      place: placeNumber(at, context),
      count: first?.volts_V.length ?? 0,
      a: first?.plus ?? 0,
      b: first?.minus ?? 0,
      c: second?.plus ?? 0,
      d: second?.minus ?? 0,
      v0: start_s,
      v1: rate_Hz,
    }),
  ),
  magnets: row(
    EntryKind.magnet,
    ({ a, place, flags, v0 }, context) => {
      if (a !== Pole.north && a !== Pole.south) return { refused: `a pole of code ${a}; expected ${Pole.north} or ${Pole.south}` };
      return { ...placeName(place, context), pole: a === Pole.north ? 'N' : 'S', ...(isSet(flags, EntryFlag.fieldKnown) ? { field_T: v0 } : {}) };
    },
    ({ at, pole, field_T }, context) => ({
      a: POLE_CODE[pole],
      flags: field_T === undefined ? 0 : EntryFlag.fieldKnown,
      place: placeNumber(at, context),
      v0: field_T ?? 0,
    }),
  ),
  observed: row(
    EntryKind.observed,
    () => NOBODY_SENDS,
    ({ at, plus, minus, swing, peak_V }, context) => ({
      a: plus,
      b: minus,
      c: SWING_CODE[swing],
      flags: peak_V === undefined ? 0 : EntryFlag.peakKnown,
      place: placeNumber(at, context),
      v0: peak_V ?? 0,
    }),
  ),
  notes: row(
    EntryKind.note,
    ({ a }) => wordOf(NOTE_CODE, a) ?? null,
    (note, { tester }) => ({ a: NOTE_CODE[note], b: note === 'converter_failed' ? converterFaultCode(tester) : 0 }),
  ),
};

/** Rows of the table: what is done to one list. */
export const READINGS = Object.entries(ROWS) as readonly (readonly [List, Row<unknown>])[];

/** What the first entry of a test says: the leads, what lies there, and under what conditions it is measured.
 * @param placeCount - places that the person is asked for
 */
export function loadBegin(record: BenchRecord, placeCount: number): EntryFields {
  const { clips, temperature_C, kind, covered, tester } = record;
  return {
    kind: EntryKind.begin,
    flags: (temperature_C === undefined ? 0 : EntryFlag.temperatureKnown) | (tester === undefined ? EntryFlag.typed : 0),
    a: maskOf(clips.map(({ clip }) => clip)),
    b: maskOf(clips.filter(({ colour }) => colour === BARE).map(({ clip }) => clip)),
    c: kindCode(kind),
    d: coverCode(covered),
    place: placeCount,
    v0: temperature_C ?? 0,
    v1: tester?.calibration === undefined ? Calibrated.untold : CALIBRATED_CODE[tester.calibration],
    v2: tester?.scale_u ?? 0,
  };
}

/** What of the first entry a record keeps; the rest is what this program told the tester. */
export function keepBegin({ flags, v0, v1, v2 }: Told): Pick<BenchRecord, 'temperature_C' | 'tester'> {
  const calibration = wordOf(CALIBRATED_CODE, v1);
  const tester = { ...(v2 === 0 ? {} : { scale_u: v2 }), ...(calibration === undefined ? {} : { calibration }) };
  return {
    ...(isSet(flags, EntryFlag.temperatureKnown) ? { temperature_C: v0 } : {}),
    ...(Object.keys(tester).length === 0 ? {} : { tester }),
  };
}
