/** A bench record: what one test saw, enough to solve it again anywhere (`*.bench.json`, format `bench/1`). */

/** Two clips as a meter's leads. */
export interface ClipPair {
  readonly plus: number;
  readonly minus: number;
}

export interface BenchClip {
  /** 1 to 6. */
  readonly clip: number;
  /** IEC 60757 code or `BARE`. */
  readonly colour?: string;
}

/** Resistance of a pair of clips, all others open. */
export interface BenchResistance {
  readonly a: number;
  readonly b: number;
  /** Null: more than `above_ohm`. */
  readonly ohm: number | null;
  readonly above_ohm?: number;
  /** Standard uncertainty against the other readings of the record. */
  readonly u_ohm?: number;
}

export interface BenchChannel extends ClipPair {
  /** Plus relative to minus; null where the converter was over range. */
  readonly volts_V: readonly (number | null)[];
}

export interface BenchTouch {
  /** Where the person was asked to touch. */
  readonly at?: string;
  readonly rate_Hz: number;
  /** Sample 0, relative to the trigger. */
  readonly start_s: number;
  readonly channels: readonly BenchChannel[];
}

export interface BenchInductance extends ClipPair {
  readonly henry_H: number;
  readonly u_H: number;
  /** Eddy loss across the inductance; ours, not every record has it. */
  readonly loss_ohm?: number;
  readonly u_loss_ohm?: number;
}

/** What a coil does after a small current is cut (hardware-notes/rings.md). */
export interface BenchRing extends ClipPair {
  /** Clips that were at 0 V besides minus. */
  readonly grounded?: readonly number[];
  /** w0 / 2 pi with the fixture on the coil; defined where nothing swings too. */
  readonly natural_Hz: number;
  readonly u_Hz?: number;
  /** 1/(Q w0) with the fixture on the coil. */
  readonly loss_s: number;
  readonly u_s?: number;
  /** All capacitance across the coil; null where the start was over range. */
  readonly total_F?: number | null;
  readonly u_F?: number | null;
  /** The fixture's own part of it. */
  readonly fixture_F?: number | null;
  readonly u_fixture_F?: number | null;
  /** Of the path to the clip. */
  readonly series_ohm?: number;
  /** What the fit leaves, rms over the peak. */
  readonly misfit?: number;
}

export interface BenchCoupling {
  readonly drive: ClipPair;
  readonly sense: ClipPair;
  readonly mutual_H: number;
  readonly u_H: number;
}

export interface BenchMagnet {
  readonly at?: string;
  readonly pole: 'N' | 'S';
  /** Magnitude; missing with a compass. */
  readonly field_T?: number;
}

export interface BenchObserved extends ClipPair {
  readonly at?: string;
  readonly swing: 'positive' | 'negative' | 'none';
  readonly peak_V?: number;
}

export interface BenchLive {
  readonly a: number;
  readonly b: number;
  readonly volt_V: number;
}

/** Where a clip that floats sits between two that are driven: places a leak. Ours, not every record has it. */
export interface BenchPotential {
  readonly driven: ClipPair;
  readonly sensed: number;
  /** (sensed - minus) / (plus - minus). */
  readonly ratio: number;
  readonly u_ratio: number;
}

/** What a test noted beside its measurements. Ours, not every record has it. */
export const BENCH_NOTES = [
  'cancelled',
  'timed_out',
  'asks_exhausted',
  'converter_failed',
  'capture_overrun',
  'self_test_failed',
] as const;
export type BenchNote = (typeof BENCH_NOTES)[number];

/** What kind of pickup the person said lies there. Ours, not every record has it. */
export type BenchKind = 'single' | 'side_by_side' | 'three' | 'stacked';

export const BENCH_CALIBRATIONS = ['good', 'missing', 'corrupt', 'old'] as const;
export type BenchCalibration = (typeof BENCH_CALIBRATIONS)[number];
export const BENCH_CONVERTER_FAULTS = ['not_ready', 'other_part', 'not_set', 'silent', 'disturbed'] as const;
export type BenchConverterFault = (typeof BENCH_CONVERTER_FAULTS)[number];

/** Where the two clips of a reading at a harness are: names of its nodes, or `SLOT clip N` for a lead that is lifted. */
export interface BenchPoints {
  readonly plus: string;
  readonly minus: string;
}

export interface BenchTester {
  readonly serial?: string;
  readonly firmware?: string;
  readonly solver?: string;
  /** Relative standard uncertainty of the scale that all resistances share. */
  readonly scale_u?: number;
  /** What the tester's own calibration was like; missing when nobody said. */
  readonly calibration?: BenchCalibration;
  /** Why the converter failed, in a test that ended by it. */
  readonly converter_fault?: BenchConverterFault;
}

/** A whole record. Fields that are not listed here are kept when it is rewritten and ignored otherwise. */
export interface BenchRecord {
  readonly format: 'bench/1';
  readonly taken?: string;
  readonly tester?: BenchTester;
  readonly temperature_C?: number;
  readonly kind?: BenchKind;
  /** Whether metal covers the coils; missing when nobody said. */
  readonly covered?: boolean;
  /** Names of the places in the order in which they are asked for. */
  readonly places?: readonly string[];
  readonly clips: readonly BenchClip[];
  readonly resistances: readonly BenchResistance[];
  readonly potentials?: readonly BenchPotential[];
  readonly touches?: readonly BenchTouch[];
  readonly inductances?: readonly BenchInductance[];
  readonly couplings?: readonly BenchCoupling[];
  readonly rings?: readonly BenchRing[];
  readonly magnets?: readonly BenchMagnet[];
  readonly observed?: readonly BenchObserved[];
  readonly live?: readonly BenchLive[];
  readonly notes?: readonly BenchNote[];
  /** Name of the harness file, when the clips are at a harness and not at a pickup. */
  readonly harness?: string;
  /** Position of each of its switches. The first clip that is listed is at hot of the output, the second at its ground. */
  readonly setting?: Readonly<Record<string, string>>;
  /** Where the two clips are, when not at the output. */
  readonly between?: BenchPoints;
  /** Leads that were off their joints meanwhile, `SLOT clip N`. */
  readonly lifted?: readonly string[];
}
