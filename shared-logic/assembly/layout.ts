/**
 * Every byte of the module's memory, declared once. The host's view (`host/src/logic/layout.generated.ts`)
 * is generated from this file by `npm run build:logic`; nothing here may be typed again elsewhere.
 *
 *        0  reserved (address 0 is never used)
 *      512  CALIBRATION what the board's flash holds, and the one that a host hands over
 *     1024  Board       what the board says of itself, written before start(); behind it BOARD_STATE
 *     1280  REPORT_IN, REPORT_OUT, ENTRY, CAPTURE_HEAD
 *     1648  ANSWER      records that one file of the sequence hands to another
 *     2048  EVIDENCE    everything measured
 *    18432  RESULT      the wire map in numbers
 *    24576  LOG         the evidence as events, kept until the host has it
 *    36864  LISTEN      one block of both channels at 10 kHz
 *    37696  WORK        what the running test remembers between two events
 *    38912  SOLVER      scratch of the solver
 *    57344  static data of the module (--memoryBase)
 *    65536  CAPTURE     one touch, or the sums of a step
 *   147456  SCRATCH     analysis grid of a touch; also the board's raw burst, and the host's staging
 *   196608  end (three pages)
 *
 * Rules: little-endian, every field at a multiple of its size, reserved bytes 0, no NaN.
 */

/** Raised whenever a byte of evidence, result, log or reports changes its meaning. */
export const LAYOUT_VERSION: u32 = 2;

export const CLIP_COUNT: u32 = 6;
export const PAIR_COUNT: u32 = 15;
/** Value of a u8 field that names a place or coil when none is known. */
export const NONE: u32 = 255;

// ---------------------------------------------------------------- addresses

/**
 * The `Calibration` in use as it lies in the flash, written by the board before start() and by `boardStore`. Without its magic there
 * is none, and its values are the nominal ones of the parts.
 */
export const CALIBRATION: u32 = 512;
export const CALIBRATION_bytes: u32 = 144;
/** The next one, as the host hands it over. */
export const CALIBRATION_NEW: u32 = CALIBRATION + CALIBRATION_bytes;
export const BOARD: u32 = 1024;
export const REPORT_IN: u32 = 1280;
export const REPORT_OUT: u32 = 1344;
/** The log entry that `applyEntry` takes. */
export const ENTRY: u32 = 1408;
export const EVIDENCE: u32 = 2048;
export const RESULT: u32 = 18432;
export const LOG: u32 = 24576;
export const LOG_ENTRIES: u32 = 384;
export const LISTEN: u32 = 36864;
/** Samples per channel in one block of listening: 10 ms at 10 kHz. Channel A first, then channel B. */
export const LISTEN_BLOCK: u32 = 100;
export const LISTEN_RATE_Hz: u32 = 10000;
export const WORK: u32 = 37696;
export const WORK_bytes: u32 = 1216;
export const SOLVER: u32 = 38912;
export const SOLVER_bytes: u32 = 18432;
export const CAPTURE: u32 = 65536;
/** 32-bit samples that a capture may hold, all channels together; channel c starts at c * (CAPTURE_WORDS / channels). */
export const CAPTURE_WORDS: u32 = 20480;
export const SCRATCH: u32 = 147456;
export const SCRATCH_WORDS: u32 = 12288;
export const MEMORY_bytes: u32 = 196608;

/** Samples per channel of a raw burst at 120 kS/s (25.6 ms); i32 in SAMPLE_V units, like a capture. */
export const BURST_SAMPLES: u32 = 3072;
/** Bit of a burst's lead: the x1 inputs alone, whose samples are evenly spaced (x8 comes 4.2 us later). */
export const BURST_X1: u32 = 0x80000000;
export const BURST_RATE_Hz: u32 = 120000;
export const BURST_A: u32 = SCRATCH;
export const BURST_B: u32 = SCRATCH + BURST_SAMPLES * 4;

/**
 * Ohms from a clip to a common: 1 kilohm and 220 ohm of the clip's protection (hardware-notes/board/netlist) and 2.5 ohm of a closed
 * switch (from memory of its data sheet).
 */
export const CLIP_PATH_ohm: f32 = 1222.5;

/** Volts of one unit of a listening sample: 2^-20 V, so that a record's numbers come back bit for bit. */
export const SAMPLE_V: f32 = 9.5367431640625e-7;
/** A sample that the converter could not take (over range). Never a number. */
export const OVERRANGE: i32 = -2147483648;

// ---------------------------------------------------------------- enumerations (they grow at the end only)

/** Inputs of the 24-bit converter. */
export enum Input { port = 0, wand = 1, boardTemperature = 2, railPositive = 3, railNegative = 4 }
/** Rates of the converter: 20 SPS with 50/60 Hz notches, or 400 SPS. */
export enum Rate { precise = 0, quick = 1 }
/** How a conversion or capture ended. */
export enum Status { ok = 0, silent = 1, bad = 2, overrange = 3, overrun = 4 }
/** What the person does with the one button. */
export enum Button { press = 1, long = 2 }
export enum Light {
  off = 0, ready = 1, busy = 2, touch = 3, lift = 4, magnet = 5, good = 6, fault = 7, unsure = 8, trap = 9, waiting = 10,
}
export enum Link { detached = 0, attached = 1, suspended = 2 }

/** What kind of pickup lies there; asked once per lot. */
export enum Kind { unknown = 0, single = 1, sideBySide = 2, three = 3, stacked = 4 }
export enum Pole { unknown = 0, north = 1, south = 2 }
export enum Winding { unknown = 0, cw = 1, ccw = 2 }
export enum Verdict { none = 0, good = 1, fault = 2, unsure = 3 }
export enum Severity { note = 0, warning = 1, fault = 2 }
export enum Finding {
  none = 0, bridge = 1, leak = 2, open = 3, shortedTurns = 4, intermittent = 5, live = 6, joined = 7, mismatch = 8,
  contradiction = 9, overrange = 10, weakTouch = 11, outOfPhase = 12,
}
export enum Swing { none = 0, positive = 1, negative = 2 }

/** Kinds of log entry. */
export enum EntryKind {
  none = 0, begin = 1, resistance = 2, live = 3, potential = 4, inductance = 5, coupling = 6, touch = 7, magnet = 8,
  observed = 9, note = 10, end = 11, ring = 12, ringCapacitance = 13,
}

/** Bits of LogEntry.flags. */
export enum EntryFlag {
  open = 1, fieldKnown = 2, temperatureKnown = 4, uncertaintyKnown = 8, lossKnown = 16, peakKnown = 32,
  /** Of begin: nobody said which clips are in use; some may hold no lead. */
  clipsAssumed = 64,
  /** Of ringCapacitance: the start was seen, so v0 and v1 are known. */
  totalKnown = 128,
  /** Of begin: a person typed what meters of their own showed. */
  typed = 128,
}
/** Whether metal lies over the coils, said by a person: a cover loses as shorted turns do. */
export enum Cover { unknown = 0, none = 1, metal = 2 }

// ---------------------------------------------------------------- blocks

/** What the board says of itself; written by the board (or the twin) before start(). 128 bytes. */
@unmanaged export class Board {
  /** Reference resistor, ohms, by the factor that calibrating gave. */
  reference_ohm: f32;
  /** Relative standard uncertainty of the reference: a scale error common to all resistances. */
  reference_u: f32;
  /** Wand scale, tesla per volt; positive output for a south pole at the marked face. */
  wand_T_per_V: f32;
  /** Volts of the drives DRV S2 and S3 (magnitude). */
  step_V: f32;
  /** Converter: volts per code. */
  code_V: f32;
  /** Board temperature: volts at 25 C and volts per kelvin of the board's sensor. */
  temperature_V25: f32;
  temperature_V_per_K: f32;
  /** Why the board last started: 0 power, 1 watchdog, 2 wasm trap, 3 hard fault, 4 stack overrun, 5 brown-out. */
  resetReason: u8;
  firmwareMajor: u8;
  firmwareMinor: u8;
  firmwarePatch: u8;
  /** ASCII, zero-filled, 16 bytes as two u64. */
  serialLow: u64;
  serialHigh: u64;
  /** SHA-256 of the module as 4 u64, bytes in order. */
  hash0: u64;
  hash1: u64;
  hash2: u64;
  hash3: u64;
}

/**
 * A calibration as it lies in the flash; firmware/drivers/identity.h has the same. Dates of its steps are days since the 1st of
 * January 2020, from 1; 0: the step was never taken. 144 bytes.
 */
@unmanaged export class Calibration {
  magic: u32;
  version: u32;
  /** How often the board was calibrated, this time included; from 1. */
  writes: u32;
  /** Of the last write: year * 10000 + month * 100 + day. */
  date: u32;
  serialLow: u64; serialHigh: u64;
  reference_ohm: f32; reference_u: f32;
  wand_T_per_V: f32;
  step_V: f32;
  code_V: f32;
  temperature_V25: f32; temperature_V_per_K: f32;
  /** Ohms of the lead of each clip, from the terminal to the clip, and the standard uncertainty of two of them together. */
  zero1_ohm: f32; zero2_ohm: f32; zero3_ohm: f32; zero4_ohm: f32; zero5_ohm: f32; zero6_ohm: f32;
  zero_u_ohm: f32;
  /** Farads of each open clip on the A+ common with the wires beside it at 0 V, and their standard uncertainty; 0: not known. */
  fixture1_F: f32; fixture2_F: f32; fixture3_F: f32; fixture4_F: f32; fixture5_F: f32; fixture6_F: f32;
  fixture_u_F: f32;
  /** By how many codes the ADC's codes 512, 1536, 2560 and 3584 are wider than the others (erratum RP2040-E11). */
  wide1: f32; wide2: f32; wide3: f32; wide4: f32;
  /** When the known resistor, joined clips, open clips and the ramp were read. */
  ohmDay: u16; zeroDay: u16; fixtureDay: u16; codesDay: u16;
  /** CRC-32/MPEG-2 over all before it. */
  crc32: u32;
}

/** A year is what a workshop's calibration of an instrument usually holds: common practice, no published source. */
export const CALIBRATION_holds_days: u32 = 366;
/** Most that a scale of ohms may be off, as a relative standard uncertainty. */
export const CALIBRATION_worst_u: f32 = 0.5;
/** What was wrong with the converter when it failed last. */
export enum ConverterFault { none = 0, notReady = 1, otherPart = 2, notSet = 3, silent = 4, disturbed = 5 }
/** What the board's flash holds: a calibration, nothing, or something that its checksum does not fit. */
export enum Calibrated {
  untold = 0, good = 1, missing = 2, corrupt = 3,
  /** Of a test alone: its scale of ohms was read longer ago than it holds. */
  old = 4,
}
/** What the board found of its own parts: the converter before the event that tells of it, `Calibrated` before start(). 8 bytes. */
@unmanaged export class BoardState { converterFault: u8; calibrated: u8; reserved: u16; reserved2: u32; }
export const BOARD_STATE: u32 = BOARD + 120;

/**
 * One measured thing, 32 bytes: what a tester logs and reports, and what a record is turned into.
 *
 * kind         clips a b c d                   place      values
 * begin        a clip mask, b bare mask,       places     v0 temperature_C (flag temperatureKnown)
 *              c kind of pickup, d Cover                     v1 Calibrated, v2 scale_u
 * resistance   a b                                        v0 ohm, v1 u_ohm; flag open: v0 is above_ohm
 * live         a b                                        v0 volt_V (a relative to b)
 * potential    a b driven (a +), c sensed                 v0 ratio of (c - b) to (a - b), v1 u of it
 * inductance   a plus, b minus                            v0 henry, v1 u, v2 loss_ohm (flag lossKnown), v3 u of it
 * coupling     a b drive plus minus, c d sense            v0 mutual_H, v1 u
 * touch        (channels in the capture)       place      v0 start_s; the capture is in CAPTURE
 * magnet       a pole                          place      v0 field_T (flag fieldKnown)
 * observed     a plus, b minus, c swing        place      v0 peak_V (flag peakKnown)
 * note         a Note, b of converterFailed    place
 *              ConverterFault
 * end          (the test is over)
 * ring         a plus, b minus, c mask of the              v0 natural_Hz, v1 u, v2 loss_s, v3 u, extra misfit
 *              clips at 0 V besides minus
 * ringCapacitance  a plus, b minus: of the last ring       v0 total_F, v1 u (flag totalKnown), v2 fixture_F, v3 u, extra series_ohm
 */
@unmanaged export class LogEntry {
  number: u16;
  kind: u8;
  flags: u8;
  a: u8;
  b: u8;
  c: u8;
  d: u8;
  place: u8;
  reserved: u8;
  count: u16;
  /** A fifth value. */
  extra: f32;
  v0: f32;
  v1: f32;
  v2: f32;
  v3: f32;
}

/** What a test noted beside its measurements. */
export enum Note {
  none = 0, cancelled = 1, timedOut = 2, asksExhausted = 3, converterFailed = 4, captureOverrun = 5, selfTestFailed = 6, selfTestPassed = 7,
}
/** What a self-test looked at: field b of its note, the measured value in v0 and what was expected in v1. */
export enum Check {
  none = 0, railPositive = 1, railNegative = 2, converterZero = 3, openInput = 4, reference = 5, temperature = 6, fixture = 7,
}

/** Description of the capture in CAPTURE, set by captureBegin and the sequence. 64 bytes at CAPTURE_HEAD. */
export const CAPTURE_HEAD: u32 = 1440;
export const MAX_CHANNELS: u32 = 6;
@unmanaged export class CaptureHead {
  rate_Hz: f32;
  start_s: f32;
  channelCount: u32;
  /** Samples per channel now in CAPTURE (after decimation). */
  sampleCount: u32;
  /** Words between channels. */
  stride: u32;
  /** Source samples averaged into one. */
  decimation: u32;
  /** Clip numbers, 1 to 6: plus and minus of channels 0 to 5. */
  plus0: u8; minus0: u8; plus1: u8; minus1: u8; plus2: u8; minus2: u8;
  plus3: u8; minus3: u8; plus4: u8; minus4: u8; plus5: u8; minus5: u8;
  /** Written by captureFocus: first source sample and number of source samples of the window to push again. */
  focusFirst: u32;
  focusCount: u32;
  /** Source samples per channel that captureBegin announced. */
  sourceCount: u32;
  /** Address of the TouchEvidence that says what this capture holds; 0 = not yet analysed. */
  analysedAt: u32;
}
/** Progress of capturePush: MAX_CHANNELS * CapturePush. */
export const CAPTURE_PUSH: u32 = 1504;
@unmanaged export class CapturePush {
  /** Sum of the source samples of the block that is being filled. */
  sum: i64;
  /** Source samples in it, and how many of them were over range. */
  filled: u32;
  overrange: u32;
  /** Blocks written to CAPTURE. */
  written: u32;
  reserved: u32;
}

/** A group of agreeing readings of one pair. */
@unmanaged export class Reading {
  ohm: f32;
  /** Sum of 1/u^2, 1/ohm^2. */
  weight: f32;
  count: u32;
}
export const READINGS_PER_PAIR: u32 = 4;

/** All readings of one pair of clips; pairs in the order 12 13 14 15 16 23 24 ... 56. */
@unmanaged export class PairEvidence {
  openCount: u16;
  groupCount: u8;
  /** More disagreeing readings than READINGS_PER_PAIR. */
  overflow: u8;
  above_ohm: f32;
  // followed by READINGS_PER_PAIR * Reading
}
export const PAIR_bytes: u32 = <u32>offsetof<PairEvidence>() + READINGS_PER_PAIR * <u32>offsetof<Reading>();

@unmanaged export class PotentialEvidence { a: u8; b: u8; c: u8; reserved: u8; ratio: f32; u: f32; }
@unmanaged export class InductanceEvidence { plus: u8; minus: u8; flags: u16; henry_H: f32; u_H: f32; loss_ohm: f32; u_loss_ohm: f32; }
@unmanaged export class CouplingEvidence { drivePlus: u8; driveMinus: u8; sensePlus: u8; senseMinus: u8; mutual_H: f32; u_H: f32; }
@unmanaged export class MagnetEvidence { place: u8; pole: u8; flags: u16; field_T: f32; }
@unmanaged export class ObservedEvidence { place: u8; plus: u8; minus: u8; swing: u8; flags: u32; peak_V: f32; }
/** What a coil does after a small current is cut. 44 bytes. */
@unmanaged export class RingEvidence {
  plus: u8; minus: u8;
  /** Clips held at 0 V besides minus, bit per clip index. */
  groundedMask: u8;
  /** `EntryFlag.totalKnown`. */
  flags: u8;
  /** w0 / 2 pi, fixture included. */
  natural_Hz: f32;
  u_Hz: f32;
  /** 1/(Q w0), fixture included. */
  loss_s: f32;
  u_s: f32;
  /** All capacitance across the coil, and the fixture's part of it; 0 when not known. */
  total_F: f32;
  u_F: f32;
  fixture_F: f32;
  u_fixture_F: f32;
  /** Of the path to the clip. */
  series_ohm: f32;
  /** What the fit leaves, rms over the peak. */
  misfit: f32;
}
@unmanaged export class LiveEvidence { a: u8; b: u8; reserved: u16; volt_V: f32; }

/** What one channel of a touch says (touch.ts). Signs: plus relative to minus. */
@unmanaged export class ChannelEvidence {
  plus: u8;
  minus: u8;
  flags: u16;
  /** Flux linkage change at the arrival, webers; the departure's size when that is larger. A lower bound with overrange. */
  flux_Wb: f32;
  /** Its standard uncertainty, model error (1 to 2 %) included; a slow approach that was lost is not. */
  u_flux_Wb: f32;
  /**
   * ln of P(positive arrival) / P(negative arrival), given that the touch was on this channel's coil; within +-9.21 (0.9999).
   * 0: open (no flux, or a first lobe that was over range from its first sample).
   */
  signLogOdds: f32;
  /** ln of the likelihood of a flux step against none, this channel alone, within +-9.21; -3 for peaks without flux. */
  touchLogOdds: f32;
  /** Flux of the departure; 0 when none was seen. */
  departure_Wb: f32;
  /** Largest sample of the arrival, with sign, hum taken out. */
  peak_V: f32;
  /** Noise of a sample of the grid of about 2.5 kHz (half of that of a 10 kHz sample), hum taken out. */
  noise_V: f32;
  /** Largest output of the filter bank in its standard deviations; on a channel that follows a stronger one, its share's. */
  matched_d: f32;
  /** Amplitude of the mains fundamental. */
  hum_V: f32;
}
/** One touch: head, then MAX_CHANNELS * ChannelEvidence. Times count from the trigger. */
@unmanaged export class TouchEvidence {
  place: u8;
  channelCount: u8;
  flags: u16;
  /** Middle of the arrival on the channel with the most flux; the capture's start when it was made before. */
  arrival_s: f32;
  /** Middle of the departure; 0 with noDeparture. */
  departure_s: f32;
  /** Number of contacts seen. */
  contacts: u16;
  /** Length of the longest burst, milliseconds; 0 with none. */
  burst_ms: u16;
}
/**
 * Flags of a touch: none nothing was touched; weak judged near the noise (d below 40); lateLift a contact made before the
 * capture was lifted in it; noDeparture; stays steel lay there at the end, of the first contact or of a later one. Flags of a
 * channel: noFlux peaks that leave no flux (an open coil).
 * Of both: overrange, bounced (the arrival fell back by 15 % or more), burst (a lead of the channel had no contact for a
 * while: hum and noise many times those of the rest, which were left out). `missed`: the capture began after its trigger.
 */
/** Bits of Evidence.flags; `full`: more came than fits; `clipsAssumed`: nobody said which clips are in use; `typed`: by a person. */
export enum EvidenceFlag { temperatureKnown = 1, ended = 2, cancelled = 4, full = 8, clipsAssumed = 16, typed = 32 }
/** Bits of TouchEvidence.flags and ChannelEvidence.flags. */
export enum TouchFlag {
  overrange = 1, weak = 2, none = 4, lateLift = 8, bounced = 16, noDeparture = 32, stays = 64, noFlux = 128, burst = 256, missed = 512,
}
export const TOUCH_bytes: u32 = <u32>offsetof<TouchEvidence>() + MAX_CHANNELS * <u32>offsetof<ChannelEvidence>();

export const MAX_POTENTIALS: u32 = 48;
export const MAX_INDUCTANCES: u32 = 24;
export const MAX_COUPLINGS: u32 = 48;
export const MAX_MAGNETS: u32 = 24;
export const MAX_OBSERVED: u32 = 48;
export const MAX_TOUCHES: u32 = 32;
export const MAX_RINGS: u32 = 12;

/** The evidence block. Counts say how much of each array is used; unused bytes are 0. */
@unmanaged export class Evidence {
  layout: u32;
  clipMask: u8;
  bareMask: u8;
  kind: u8;
  placeCount: u8;
  /** `EvidenceFlag`. */
  flags: u32;
  temperature_C: f32;
  potentialCount: u8; inductanceCount: u8; couplingCount: u8; magnetCount: u8;
  observedCount: u8; touchCount: u8; liveCount: u8; noteMask: u8;
  /** Relative standard uncertainty of the scale that all resistances share. */
  scale_u: f32;
  ringCount: u8;
  /** `Cover`. */
  cover: u8;
  /** `Calibrated`. */
  calibrated: u8;
  /** `ConverterFault` of the note that said that the converter failed. */
  converterFault: u8;
}
export const EVIDENCE_PAIRS: u32 = EVIDENCE + <u32>offsetof<Evidence>();
export const EVIDENCE_POTENTIALS: u32 = EVIDENCE_PAIRS + PAIR_COUNT * PAIR_bytes;
export const EVIDENCE_INDUCTANCES: u32 = EVIDENCE_POTENTIALS + MAX_POTENTIALS * <u32>offsetof<PotentialEvidence>();
export const EVIDENCE_COUPLINGS: u32 = EVIDENCE_INDUCTANCES + MAX_INDUCTANCES * <u32>offsetof<InductanceEvidence>();
export const EVIDENCE_MAGNETS: u32 = EVIDENCE_COUPLINGS + MAX_COUPLINGS * <u32>offsetof<CouplingEvidence>();
export const EVIDENCE_OBSERVED: u32 = EVIDENCE_MAGNETS + MAX_MAGNETS * <u32>offsetof<MagnetEvidence>();
export const EVIDENCE_LIVE: u32 = EVIDENCE_OBSERVED + MAX_OBSERVED * <u32>offsetof<ObservedEvidence>();
export const EVIDENCE_TOUCHES: u32 = EVIDENCE_LIVE + PAIR_COUNT * <u32>offsetof<LiveEvidence>();
export const EVIDENCE_RINGS: u32 = EVIDENCE_TOUCHES + MAX_TOUCHES * TOUCH_bytes;
export const EVIDENCE_bytes: u32 = EVIDENCE_RINGS + MAX_RINGS * <u32>offsetof<RingEvidence>() - EVIDENCE;

// ---------------------------------------------------------------- result

export const MAX_COILS: u32 = 15;
export const MAX_COIL_PAIRS: u32 = 15;
export const MAX_FINDINGS: u32 = 20;
export const MAX_UNKNOWNS: u32 = 20;

/** One coil of the wire map. Clips are numbers 1 to 6, 0 = not known. 72 bytes. */
@unmanaged export class CoilResult {
  /** Ends in rising order. */
  endA: u8; endB: u8;
  plus: u8; minus: u8;
  /** Place index or NONE. */
  place: u8;
  pole: u8;
  /** From minus to plus. */
  winding: u8;
  /** CoilText: why something is null, or what kind of stretch this is. */
  text: u8;
  ohm: f32;
  ohm_20C: f32;
  u_ohm: f32;
  /** 0 when not measured. */
  inductance_H: f32;
  u_inductance_H: f32;
  /** Probability that plus and minus are right; 0 when plus is not known. */
  confidence: f32;
  /** `CoilFlag`. */
  flags: u32;
  /** Places that drive this coil, bit per place index. */
  placeMask: u32;
  /**
   * Of a hidden junction, places whose touch lifts plus (the higher end where plus is not known), and those whose touch
   * lowers it; places that drive the coil and show a north, and a south face: a bit per place index each.
   */
  liftsMask: u8;
  lowersMask: u8;
  northMask: u8;
  southMask: u8;
  /** Of the winding alone, from its ring; 0 when not known. A capacitance may come out below 0. */
  capacitance_F: f32;
  u_capacitance_F: f32;
  /** Eddy loss as a resistance across the inductance, and as the time L/R_E. */
  loss_ohm: f32;
  u_loss_ohm: f32;
  loss_s: f32;
  u_loss_s: f32;
  /** Of the coil with nothing on it; q below 1/2 does not swing. */
  resonance_Hz: f32;
  q: f32;
}
/** Bits of CoilResult.flags: several places drive it, part of a tapped winding, ohm_20C is known. */
export enum CoilFlag { hidden = 1, tapped = 4, ohm20C = 8 }
/** Remarks that the host turns into a sentence beside a coil. */
export enum CoilText {
  none = 0, hiddenInPhase = 1, hiddenOutOfPhase = 2, hiddenUnknown = 3, tappedSection = 4, networkEdge = 6, stackedInner = 7,
}

/** Bits of CoilPairResult.witnesses: what shows whether poles differ, or that both are parts of one winding. */
export enum Witness { coupling = 1, magnet = 2, oneWinding = 4 }

@unmanaged export class CoilPairResult {
  /** Coil indices. */
  a: u8; b: u8;
  /** 0 not known, 1 poles differ, 2 poles equal. */
  polesDiffer: u8;
  /** `Witness`. */
  witnesses: u8;
  /** Mutual inductance, current into one plus and the other plus measured (its higher end where plus is not known), and its u; u 0: not measured. */
  mutual_H: f32;
  u_mutual_H: f32;
}

/**
 * Which sentence a finding is. Clips are in clip0.. (0 = none); a field that is not named is 0, NONE (coil, otherCoil,
 * place) or, for fraction, below 0. "hangs on coil" means: coil is an index into the coils of the result.
 *
 * kind          text                severity  meaning of the fields
 * bridge        bridgeToChassis     fault     coil touches the frame inside: fraction from coil.minus (from endA when minus is
 *                                             not known); clip0 chassis clip, clip1 nearer end; value contact ohm, value2 ohm
 *                                             from the touching point to that end
 *               bridgeToClip        fault     as above, but clip0 is a lead that is not BARE and hangs on the winding by value ohm
 *               bridgeAtEnd         fault     clip0 and clip1 connected by value ohm (2 ohm or more, no winding); clip0 the
 *                                             chassis clip when one is; coil the one whose end clip1 is, fraction 0 or 1, or NONE
 *               bridgeBetweenCoils  fault     coil at fraction touches otherCoil at value3 (fraction, below 0 not placed); clip0
 *                                             and clip1 the ends of otherCoil, clip2 the nearer end of coil; value contact ohm
 *               bridgeUnplaced      fault     the clips clip0 to clip3 belong together by a bridge that cannot be placed; value ohm
 * leak          leakToChassis       note 10 Mohm up, else warning   value ohm between clip0 (chassis) and clip1 (a clip of the
 *                                             other group; the nearer end when coil and fraction are known)
 *               leakBetween         same      value ohm between clip0 and clip1, neither BARE; coil, otherCoil when on coils
 * open          openPeaks           fault     clip0, clip1: a touch is heard where nothing conducts: the wire is broken
 *               openNoCoil          fault     touches at place (NONE: at one of the places) drive no coil, and clip0.. hang on nothing:
 *                                             a broken coil; value the number of windings that were found
 * shortedTurns  shortedTurns        fault     coil against otherCoil: value estimated fraction of turns, value2 L / L of the
 *                                             sibling, value3 loss ohm of coil
 *               lossAlone           fault or warning (cover not known)   coil has no sibling and loses more than a bare one: value
 *                                             estimated fraction, value3 loss ohm
 * intermittent  contactLost         fault     clip0, clip1 once read value ohm and once open
 *               contactBurst        warning   clip0 (and clip1: one of them) lost contact during a touch at place
 *               readingsApart       fault or warning (below 2 %)   clip0, clip1 read value and value2 ohm
 * live          liveVoltage         fault     value volts of clip0 relative to clip1 before anything was driven
 * joined        joinedClips         note      clip0.. are one node
 *               chassisTied         note      clip0 chassis clip is one node with clip1, an end of coil
 * mismatch      resistanceDiffers   warning   coil has the larger ohm: value = ratio to otherCoil, 1 or more
 *               inductanceDiffers   warning   L/R^2: coil has the larger, value = ratio to otherCoil
 *               lossDiffers         warning   coil has the lower loss: value loss ohm, value2 that of otherCoil (0 not told), value3 share
 *                                             of shorted turns that would lose as much (by the rings; else 0)
 *               polesEqual          warning   coil and otherCoil (none: the two inside coil) show the same pole: a pickup that does not cancel hum
 * contradiction triangleBroken      warning   clip0-clip1 reads value ohm, more than by way of clip2, value2 ohm
 *               networkImpossible   warning   no network of resistors gives the readings among clip0..; value worst error / u
 *               openInside          warning   clip0-clip1 read open above value ohm, but by way of clip2 it is value2 ohm
 *               signsDisagree       warning   touches or swings of coil contradict each other
 *               placesDisagree      warning   a touch asked at place was on coil, which another place has (value: that place + 1, 0 not known)
 *               polesDisagree       warning   coupling and magnet say different things of coil and otherCoil
 *               magnetsDisagree     warning   magnet readings at place contradict each other
 *               couplingImpossible  warning   couplings of coil, otherCoil (and a third) contradict each other
 *               inductanceDisagree  warning   readings of the inductance of coil: value and value2 henry
 *               joinedApart         warning   clip0 and clip1 are one node, but against clip2 they read value and value2 ohm (0: open)
 *               swingMisplaced      warning   a swing noted at place on coil does not fit the others: another place or coil
 * overrange     overrangeTouch      note      place (and coil): a touch went over the range; sign kept, size is a lower bound
 * weakTouch     weakTouch           warning   place (and coil): too faint to be sure of plus and minus
 *               noTouch             warning   place: nothing touched was seen
 * outOfPhase    hiddenOutOfPhase    fault     coil holds two coils that drive it opposite ways
 *               linkOutOfPhase      note      coil and otherCoil meet at clip0 with the same polarity
 */
export enum FindingText {
  none = 0, bridgeToChassis = 1, bridgeToClip = 2, bridgeAtEnd = 3, bridgeBetweenCoils = 4, bridgeUnplaced = 5,
  leakToChassis = 6, leakBetween = 7, openPeaks = 8, openNoCoil = 9, shortedTurns = 10, contactLost = 11, readingsApart = 12,
  liveVoltage = 13, joinedClips = 14, chassisTied = 15, resistanceDiffers = 16, inductanceDiffers = 17, lossDiffers = 18,
  polesEqual = 19, triangleBroken = 20, networkImpossible = 21, openInside = 22, signsDisagree = 23, placesDisagree = 24,
  polesDisagree = 25, magnetsDisagree = 26, couplingImpossible = 27, inductanceDisagree = 28, overrangeTouch = 29,
  weakTouch = 30, noTouch = 31, hiddenOutOfPhase = 32, linkOutOfPhase = 33, contactBurst = 34, lossAlone = 35,
  joinedApart = 36, swingMisplaced = 37,
}

/**
 * Which sentence an unknown is. Fields not named are 0 or NONE.
 *
 * polarityNoTouch (coil)          no touch or swing drove this coil: plus and minus open
 * polarityFaint (coil)            what drove it was too faint, or the touches contradict each other
 * poleUnknown (coil)              no magnet reading at its place: pole and winding open
 * placeUnknown (coil)             which place the coil sits at
 * isolatedClips (clipMask)        clips connected to nothing: shield, spare or broken lead look the same
 * pairNotRead (clipMask, clipMask2)    nothing was read between these two groups: connected or not
 * readingsMissing (clipMask)      pairs among these connected clips were not read: simplest reading taken
 * starOrDelta (clipMask)          three coils in a ring, or in a star with a hidden middle (ring listed)
 * deltaOrStar (clipMask)          the same, star listed: ends are the clips, each coil's other end is hidden
 * tapOrLink (coil, otherCoil)     one tapped winding, or two coils with their link brought out
 * bridgeOrLink (coil, clipMask)   coil touching the frame inside (listed), or two coils that meet at the frame
 * linkOrBridge (coil, otherCoil)  the same, two coils listed
 * bridgeOrTap (coil, clipMask)    contact inside the winding, or a tap with resistance in its lead
 * hiddenOrSingle (coil)           one coil, or two with a hidden junction (series or parallel)
 * polesDiffer (coil, otherCoil)   whether the poles of the two coils differ
 * stackedOrSide (coil, otherCoil) coils stacked or side by side
 * stackedInner (coil)             an inner stacked coil cannot be touched: plus and minus open
 * openLimitLow (clipMask, clipMask2)   read as open only up to a low limit: a leak or even a coil may be there
 * pairingUnknown (clipMask)       which of these leads belong to one coil
 * placeNoCoil (place)             touches at place drove no coil
 * networkUnsolved (clipMask)      readings among these clips fit no network; coils not told
 * noResistances                   nothing was read
 * evidenceFull                    more was measured than fits
 * testCancelled                   the test was stopped before its end
 * heardUnread (coil)              its touches were heard by way of pairs that were not read: plus, minus and place open
 * coverOrTurns (coil)             alone: its loss is that of a metal cover, or of shorted turns
 * turnsUnderCover (coil)          alone under a metal cover: nothing tells whether turns are shorted
 * ringNotSimple (coil)            its ring is not that of one loss: capacitance to 20 pF, loss at this frequency only
 * ringHeavy (coil)                it loses too much to ring: no capacitance, no loss
 * ohmsOrKilohms (clipMask)        typed ohms that would be a coil's in kilohm: which
 * kilohmsTaken (clipMask)         the same, taken as kilohm since only so it fits the readings beside it
 * polarityNeighbour (coil, otherCoil, place, clipMask)    its swing at place may be a share: nothing was noted of otherCoil
 *                                 there, whose ends are clipMask
 * polarityUnread (coil, clipMask) its swing may belong to a coil among these clips, which were not read
 * polarityDisagrees (coil, clipMask)   its touches contradict each other; its ends are clipMask
 * polarityUnlistened (coil, place, clipMask)   nothing swung on it where it was listened to, and at place it was not; its ends are clipMask
 * polarityShared (coil, otherCoil, place)   both swung at place and no size was noted: whose touch it was
 * polarityOpposed (coil)          its places drive it opposite ways, by one swing each
 * readingsOdd (coil, clipMask)    its plus and minus hang on readings that contradict each other; its ends are clipMask
 * oppositeSwings (coil, otherCoil, clipMask)   swings on both sides of this clip go opposite ways: no tap of one winding
 * networkLoop (clipMask)          connections form a loop: each listed stretch is the simplest network with these readings
 */
export enum UnknownText {
  none = 0, polarityNoTouch = 1, polarityFaint = 2, poleUnknown = 3, placeUnknown = 4, isolatedClips = 5, pairNotRead = 6,
  readingsMissing = 7, starOrDelta = 8, deltaOrStar = 9, tapOrLink = 10, bridgeOrLink = 11, linkOrBridge = 12, bridgeOrTap = 13,
  hiddenOrSingle = 14, polesDiffer = 15, stackedOrSide = 16, stackedInner = 17, openLimitLow = 18, pairingUnknown = 19,
  placeNoCoil = 20, networkUnsolved = 21, noResistances = 22, evidenceFull = 23, testCancelled = 24, networkLoop = 25,
  heardUnread = 26, coverOrTurns = 27, turnsUnderCover = 28, ringNotSimple = 29, ringHeavy = 30,
  ohmsOrKilohms = 31, kilohmsTaken = 32, polarityNeighbour = 33, polarityUnread = 34, polarityDisagrees = 35, readingsOdd = 36,
  oppositeSwings = 37, polarityUnlistened = 38, polarityShared = 39, polarityOpposed = 40,
}

/** One finding: code and numbers; the host words it. 32 bytes. */
@unmanaged export class FindingResult {
  kind: u8; severity: u8;
  /** Which sentence. */
  text: u8;
  /** Coil index or NONE. */
  coil: u8;
  /** Clips in the order that file-formats.md asks, 0 filled. */
  clip0: u8; clip1: u8; clip2: u8; clip3: u8; clip4: u8; clip5: u8;
  place: u8;
  otherCoil: u8;
  /** Fraction from the coil's minus, or from its first end; below 0 when not placed. */
  fraction: f32;
  value: f32;
  value2: f32;
  value3: f32;
  reserved: u32;
}

/** Something that could not be told: code and what it concerns. 8 bytes. */
@unmanaged export class UnknownResult { text: u8; coil: u8; place: u8; clipMask: u8; otherCoil: u8; clipMask2: u8; reserved: u16; }

/** The result block; arrays follow at the addresses below. */
@unmanaged export class Result {
  layout: u32;
  verdict: u8;
  coilCount: u8;
  pairCount: u8;
  findingCount: u8;
  unknownCount: u8;
  chassisMask: u8;
  /** Groups of clips that are one node, at most three. */
  joined0: u8; joined1: u8; joined2: u8;
  isolatedMask: u8;
  reserved: u16;
  reserved2: u32;
}
/** The head has room to grow. */
export const RESULT_HEAD_bytes: u32 = 32;
export const RESULT_COILS: u32 = RESULT + RESULT_HEAD_bytes;
export const RESULT_PAIRS: u32 = RESULT_COILS + MAX_COILS * <u32>offsetof<CoilResult>();
export const RESULT_FINDINGS: u32 = RESULT_PAIRS + MAX_COIL_PAIRS * <u32>offsetof<CoilPairResult>();
export const RESULT_UNKNOWNS: u32 = RESULT_FINDINGS + MAX_FINDINGS * <u32>offsetof<FindingResult>();
export const RESULT_bytes: u32 = RESULT_UNKNOWNS + MAX_UNKNOWNS * <u32>offsetof<UnknownResult>() - RESULT;

// ---------------------------------------------------------------- what the running test remembers (never evidence)

/** Places that a person can be asked for, at most. */
export const MAX_PLACES: u32 = 8;
/** Currents of the converter's source. */
export const RANGES: u32 = 4;
/** Coils that are stepped, at most; bursts are each coil alone, then each two. */
export const MAX_STEP_COILS: u32 = 6;
export const MAX_STEP_BURSTS: u32 = 21;

/** One pair of clips between the quick scan and the end of the test. */
@unmanaged export class PairWork {
  /** 0 not known, 1 no path below 200 kilohm, 2 read with the current source. */
  state: u8;
  /** Index of the current range, 0 = 250 uA. */
  range: u8;
  /** Readings that disagreed. */
  repeats: u8;
  reserved: u8;
  quick_ohm: f32;
  /** Last precise reading. */
  ohm: f32;
  /** Volts across the pair at its range's current, both polarities halved; of an open pair, what the scan left at the leak return. */
  span_V: f32;
}
/** Sums over one burst, half the difference of both polarities, volts at the channel. 32 bytes. */
@unmanaged export class StepWork {
  a: u8; b: u8; c: u8; d: u8;
  /** Samples in each window; bit 31 = a polarity was lost. */
  window: u32;
  end_V: f32;
  sum_V: f32;
  /** Of a sensed coil: noise, and samples summed. */
  first_V: f32;
  second_V: f32;
  third_V: f32;
  /** Mean at the end as the channel itself told it. */
  tail_V: f32;
}
/** What the board answered to the operation that ended last, and what it says of the leads. 16 bytes at ANSWER. */
@unmanaged export class Answer {
  /** Converter's answer, volts. */
  volt_V: f32;
  /** Live voltage that ended the operation, clip plus relative to clip minus. */
  live_V: f32;
  /** Largest peak that the full looks of this test have seen and taken for hum, volts. */
  hum_V: f32;
  /** Clips that the live voltage was found in. */
  plus: u8; minus: u8;
  /** 1: volt_V was over the converter's range. */
  over: u8;
  reserved: u8;
}
/** One channel of a burst that nothing drives, volts. 8 bytes at BURST_LOOK. */
@unmanaged export class BurstLook {
  mean_V: f32;
  /** Largest distance from the mean; above any limit when a sample was over range. */
  peak_V: f32;
}
/** What a step gave: inductance or mutual inductance. 16 bytes at STEP_READING. */
@unmanaged export class StepReading {
  value_H: f32; u_H: f32;
  /** Of an inductance: eddy loss; its uncertainty is 0 when it could not be told. */
  loss_ohm: f32; u_loss_ohm: f32;
}
/** The next touch to ask for, and the clips to listen to; plusB 0: one channel. 8 bytes at ASK. */
@unmanaged export class Ask { place: u8; plusA: u8; minusA: u8; plusB: u8; minusB: u8; reserved: u8; reserved2: u16; }
export const ANSWER: u32 = 1648;
export const BURST_LOOK: u32 = ANSWER + <u32>offsetof<Answer>();
export const STEP_READING: u32 = BURST_LOOK + <u32>offsetof<BurstLook>();
export const ASK: u32 = STEP_READING + <u32>offsetof<StepReading>();
export const ASK_end: u32 = ASK + <u32>offsetof<Ask>();

/** One coil's ring on its way to evidence; its sums lie in CAPTURE. */
@unmanaged export class RingWork {
  /** Bursts added up. */
  bursts: u32;
  /** First sample from which on none was over range. */
  clearFrom: u16;
  /** The window: first sample, samples in one point, points. */
  first: u16;
  width: u16;
  count: u16;
  /** Before the cut, long after it, and the largest distance from that, volts. */
  rest_V: f32;
  tail_V: f32;
  peak_V: f32;
  /** s^2 + g s + w = 0, in points. */
  w: f32;
  g: f32;
  /** A c + B s + K at the first point. */
  a_V: f32;
  b_V: f32;
  k_V: f32;
  /** Squares of what the fit leaves, summed. */
  squares_V2: f32;
  /** Relative uncertainties of natural frequency and loss; what the fit leaves over the peak. */
  u_natural: f32;
  u_loss: f32;
  misfit: f32;
  /** All capacitance across the coil; 0 when not known. */
  total_F: f32;
  u_F: f32;
}
export const WORK_PAIRS: u32 = WORK;
export const WORK_STEPS: u32 = WORK_PAIRS + PAIR_COUNT * <u32>offsetof<PairWork>();
export const WORK_REFERENCES: u32 = WORK_STEPS + MAX_STEP_BURSTS * <u32>offsetof<StepWork>();
export const WORK_ASKS: u32 = WORK_REFERENCES + RANGES * <u32>sizeof<f32>();
/** Lowest clip that each clip 1 to 6 is connected to, one byte each. */
export const WORK_GROUPS: u32 = WORK_ASKS + MAX_PLACES;
/** A touch judged before it is logged, TOUCH_bytes. */
export const WORK_TOUCH: u32 = WORK_GROUPS + 8;
/** The ring in work; the steps are over by then. */
export const WORK_RING: u32 = WORK_STEPS;
export const WORK_end: u32 = WORK_TOUCH + TOUCH_bytes;

// ---------------------------------------------------------------- reports, 64 bytes each, drawn in hardware-notes/usb-reports.md

export const REPORT_bytes: u32 = 64;
export const REPORT_VERSION: u32 = 1;

/** Head of every report, 8 bytes; 56 bytes of payload follow. */
@unmanaged export class ReportHead {
  version: u8;
  type: u8;
  /** Counts the reports of one direction, so that a loss or a repeat is seen. */
  number: u16;
  /** Number of the test since the board started, 0 before the first. */
  test: u16;
  reserved: u16;
}
// Payloads: 56 bytes after the head; what a class does not name is 0.

/** Who the tester is: the answer to hello. */
@unmanaged export class IdentityReport {
  layout: u8;
  firmwareMajor: u8; firmwareMinor: u8; firmwarePatch: u8;
  /** As in Board. */
  resetReason: u8;
  /** 1 the magnet probe is plugged in, 2 nothing was set up yet. */
  flags: u8;
  test: u16;
  serialLow: u64; serialHigh: u64;
  hash0: u64; hash1: u64; hash2: u64; hash3: u64;
}
/** What the test is doing. */
@unmanaged export class StateReport {
  step: u8; light: u8;
  /** Place and ask of the light, NONE when it names none. */
  place: u8; ask: u8;
  /** Clips in work, 0 = none. */
  clipA: u8; clipB: u8;
  verdict: u8;
  /** 1 no test is running. */
  flags: u8;
  logCount: u16; acknowledged: u16;
  touchCount: u8;
  /** Reports refused since the start, at most 255. */
  refusedCount: u8;
  progress_permille: u16;
}
/** Part of a touch's capture; 24-bit samples follow, little-endian, 0x800000 = over range. */
@unmanaged export class SamplesReport { touch: u8; channel: u8; offset: u16; count: u8; reserved: u8; reserved2: u16; }
export const SAMPLES_PER_REPORT: u32 = 16;
export const SAMPLE_24_bytes: u32 = 3;
/** Bytes of the evidence (region 0), the result block (1), the calibration in use (2) or what a survey left (3); they follow. */
@unmanaged export class BlockReport { region: u8; count: u8; offset: u16; }
export const BLOCK_bytes_max: u32 = 48;
/** A report that was not acted on. */
@unmanaged export class RefusedReport { reason: u8; type: u8; number: u16; }
/** A calibration was handed over whole: 1 it is written and in use, 0 it was not taken. */
@unmanaged export class CalibratedReport { stored: u8; }
/** The live picture; a TraceBlock for each 10 ms follows. */
@unmanaged export class TraceReport { blocks: u8; place: u8; firstBlock: u16; }
/** Lowest and highest sample of each channel, in units of 2^-12 V; the ends of i16 stand for over range. */
@unmanaged export class TraceBlock { lowA: i16; highA: i16; lowB: i16; highB: i16; }
export const TRACE_BLOCKS_max: u32 = 6;
@unmanaged export class HelloReport { layout: u8; }
/** What lies on the bench. */
@unmanaged export class SetupReport {
  clipMask: u8; bareMask: u8;
  kind: u8;
  placeCount: u8;
  /** 1 no magnet readings, 2 temperature given, 4 ohms with the tester's own leads, as a calibration reads them. */
  flags: u8;
  /** `Cover`. */
  cover: u8;
  /** The day, as a calibration counts it; 0: not known, and no calibration is old. */
  today: u16;
  temperature_C: f32;
}
@unmanaged export class ButtonReport { kind: u8; }
@unmanaged export class AcknowledgeReport { test: u16; count: u16; }
@unmanaged export class ReadReport { region: u8; count: u8; offset: u16; }
/** A raw look for a calibration: `Survey`, and the clip. */
@unmanaged export class SurveyReport { what: u8; clip: u8; }
/**
 * What is looked at on a clip that nothing hangs on. Cut, to fall to 0 V: clip and both A commons through the bleed, the wires beside
 * it held at 0 V; the A- common alone through it; and through the leak path's megohm, from the positive and from the negative drive.
 * The port is then from the A- common to 0 V, on x1. Read once by the 24-bit converter: its zero; 10 uA at the reference; 10 uA at
 * the bleed.
 */
export enum Survey { clip = 0, common = 1, rampDown = 2, rampUp = 3, zero = 4, current = 5, bleed = 6 }
/**
 * What a survey left in CAPTURE: of cuts the bursts (u32), then the sum of each sample of channel B (i32, 2^-20 V), OVERRANGE where
 * one of them was; of a conversion the volts (f32).
 */
export const SURVEY_LEAD: u32 = 16;
export const SURVEY_CLIP_SAMPLES: u32 = 128;
export const SURVEY_bytes: u32 = 4 + BURST_SAMPLES * 4;
/** Part of a calibration, in order; its bytes follow. With the last byte it is written. */
@unmanaged export class CalibrateReport { offset: u8; count: u8; reserved: u16; }

/** Reports from the tester (1 to 127) and to the tester (128 and up). */
export enum Report {
  none = 0, identity = 1, state = 2, entry = 3, samples = 4, block = 5, refused = 6, trace = 7, calibrated = 8,
  hello = 128, setup = 129, button = 130, acknowledge = 131, read = 132, selfTest = 133, calibrate = 134, survey = 135,
}
export enum Refusal { none = 0, version = 1, type = 2, length = 3, order = 4, content = 5, busy = 6 }
/** What the test is doing; Report.state carries it. */
export enum Step {
  idle = 0, guard = 1, reference = 2, quickScan = 3, resistance = 4, leak = 5, potential = 6, inductance = 7, coupling = 8,
  askTouch = 9, listening = 10, lift = 11, magnet = 12, solve = 13, done = 14, cancelled = 15, failed = 16, waitHost = 17,
  ring = 18,
  /** Nobody came for a long time: the current is off and nothing listens until the button is pressed. */
  asleep = 19,
  /** The board writes its calibration and answers nothing, for half a second at most. */
  storing = 20,
}
