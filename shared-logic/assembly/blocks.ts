/**
 * Where the n-th of each thing of layout.ts lies. The only place that multiplies an index by a size; the sizes are the
 * compiler's own (`offsetof`), so that a field that is added moves everything behind it.
 */
import { pairOf } from './clip-pairs';
import {
  BOARD, BOARD_STATE, Board, BoardState, CALIBRATION, CAPTURE, Calibration, CAPTURE_HEAD, CaptureHead, ChannelEvidence,
  CoilPairResult, CoilResult, CouplingEvidence, ENTRY, EVIDENCE,
  EVIDENCE_COUPLINGS, EVIDENCE_INDUCTANCES, EVIDENCE_LIVE, EVIDENCE_MAGNETS, EVIDENCE_OBSERVED, EVIDENCE_PAIRS,
  EVIDENCE_POTENTIALS, EVIDENCE_RINGS, EVIDENCE_TOUCHES, Evidence, FindingResult, InductanceEvidence, LISTEN, LISTEN_BLOCK, LOG, LogEntry,
  LiveEvidence, MagnetEvidence, ObservedEvidence, PAIR_COUNT, PAIR_bytes, PairEvidence, PairWork,
  PotentialEvidence, RESULT, RESULT_COILS, RESULT_FINDINGS, RESULT_PAIRS, RESULT_UNKNOWNS, Reading, Result, RingEvidence, StepWork,
  TOUCH_bytes, TouchEvidence, UnknownResult, WORK_PAIRS, WORK_STEPS,
} from './layout';

/** Bytes of a sample, and of a capture's pair of clip numbers. */
const SAMPLE_bytes: u32 = sizeof<i32>();
const LEADS_bytes: u32 = 2;

@inline export function board(): Board { return changetype<Board>(<usize>BOARD); }
@inline export function boardState(): BoardState { return changetype<BoardState>(<usize>BOARD_STATE); }
@inline export function calibration(): Calibration { return changetype<Calibration>(<usize>CALIBRATION); }

// ---------------------------------------------------------------- evidence

@inline export function evidence(): Evidence { return changetype<Evidence>(<usize>EVIDENCE); }

/** All readings of one pair. @param pair - index, 0 to 14 */
@inline export function pairEvidence(pair: u32): PairEvidence {
  return changetype<PairEvidence>(<usize>(EVIDENCE_PAIRS + pair * PAIR_bytes));
}
/** Address of all readings of a pair. @param a - clip, 1 to 6 @param b - another clip */
@inline export function pairAddress(a: u32, b: u32): usize { return changetype<usize>(pairEvidence(pairOf(a, b))); }
/** A group of agreeing readings of a pair. @param n - below READINGS_PER_PAIR */
@inline export function readingOf(pair: PairEvidence, n: u32): Reading {
  return changetype<Reading>(changetype<usize>(pair) + offsetof<PairEvidence>() + n * offsetof<Reading>());
}
@inline export function potentialEvidence(n: u32): PotentialEvidence {
  return changetype<PotentialEvidence>(<usize>EVIDENCE_POTENTIALS + n * offsetof<PotentialEvidence>());
}
@inline export function inductanceEvidence(n: u32): InductanceEvidence {
  return changetype<InductanceEvidence>(<usize>EVIDENCE_INDUCTANCES + n * offsetof<InductanceEvidence>());
}
@inline export function couplingEvidence(n: u32): CouplingEvidence {
  return changetype<CouplingEvidence>(<usize>EVIDENCE_COUPLINGS + n * offsetof<CouplingEvidence>());
}
@inline export function magnetEvidence(n: u32): MagnetEvidence {
  return changetype<MagnetEvidence>(<usize>EVIDENCE_MAGNETS + n * offsetof<MagnetEvidence>());
}
@inline export function observedEvidence(n: u32): ObservedEvidence {
  return changetype<ObservedEvidence>(<usize>EVIDENCE_OBSERVED + n * offsetof<ObservedEvidence>());
}
@inline export function liveEvidence(n: u32): LiveEvidence {
  return changetype<LiveEvidence>(<usize>EVIDENCE_LIVE + n * offsetof<LiveEvidence>());
}
@inline export function ringEvidence(n: u32): RingEvidence {
  return changetype<RingEvidence>(<usize>EVIDENCE_RINGS + n * offsetof<RingEvidence>());
}
@inline export function touchEvidence(n: u32): TouchEvidence {
  return changetype<TouchEvidence>(<usize>(EVIDENCE_TOUCHES + n * TOUCH_bytes));
}
/** What one channel of a touch says. @param n - below MAX_CHANNELS */
@inline export function channelOf(touch: TouchEvidence, n: u32): ChannelEvidence {
  return changetype<ChannelEvidence>(changetype<usize>(touch) + offsetof<TouchEvidence>() + n * offsetof<ChannelEvidence>());
}

// ---------------------------------------------------------------- result

@inline export function result(): Result { return changetype<Result>(<usize>RESULT); }
@inline export function coilResult(n: u32): CoilResult {
  return changetype<CoilResult>(<usize>RESULT_COILS + n * offsetof<CoilResult>());
}
@inline export function coilPairResult(n: u32): CoilPairResult {
  return changetype<CoilPairResult>(<usize>RESULT_PAIRS + n * offsetof<CoilPairResult>());
}
@inline export function findingResult(n: u32): FindingResult {
  return changetype<FindingResult>(<usize>RESULT_FINDINGS + n * offsetof<FindingResult>());
}
@inline export function unknownResult(n: u32): UnknownResult {
  return changetype<UnknownResult>(<usize>RESULT_UNKNOWNS + n * offsetof<UnknownResult>());
}

// ---------------------------------------------------------------- log, capture, work of the running test

/** The entry that is made up, and applied by `applyEntry`. */
@inline export function draft(): LogEntry { return changetype<LogEntry>(<usize>ENTRY); }
@inline export function logEntry(n: u32): LogEntry { return changetype<LogEntry>(<usize>LOG + n * offsetof<LogEntry>()); }

@inline export function captureHead(): CaptureHead { return changetype<CaptureHead>(<usize>CAPTURE_HEAD); }
/** Clip that is the plus, and the minus, of a channel of the capture. @param n - below MAX_CHANNELS */
@inline export function capturePlus(n: u32): u32 { return load<u8>(CAPTURE_HEAD + n * LEADS_bytes, offsetof<CaptureHead>('plus0')); }
@inline export function captureMinus(n: u32): u32 { return load<u8>(CAPTURE_HEAD + n * LEADS_bytes, offsetof<CaptureHead>('minus0')); }
/** Address of a sample of the capture. @param stride - samples from one channel to the next */
@inline export function captureSample(channel: u32, stride: u32, sample: u32): usize {
  return <usize>(CAPTURE + (channel * stride + sample) * SAMPLE_bytes);
}
/** Address of a sample of the block of listening. @param channel - 0 or 1 */
@inline export function listenSample(channel: u32, sample: u32): usize {
  return <usize>(LISTEN + (channel * LISTEN_BLOCK + sample) * SAMPLE_bytes);
}

/** What is known of a pair while the test runs. @param pair - index, 0 to 14 */
export function pairWork(pair: u32): PairWork {
  assert(pair < PAIR_COUNT);
  return changetype<PairWork>(<usize>WORK_PAIRS + pair * offsetof<PairWork>());
}
@inline export function stepWork(n: u32): StepWork { return changetype<StepWork>(<usize>WORK_STEPS + n * offsetof<StepWork>()); }
