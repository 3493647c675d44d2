import {
  ANSWER, ASK_end, BOARD, BURST_B, BURST_SAMPLES, Board, CAPTURE, CAPTURE_HEAD, CAPTURE_PUSH, CAPTURE_WORDS, CaptureHead,
  CapturePush, ChannelEvidence, CoilPairResult, CoilResult, CouplingEvidence, ENTRY, EVIDENCE, EVIDENCE_bytes, FindingResult,
  InductanceEvidence, LISTEN, LISTEN_BLOCK, LOG, LOG_ENTRIES, LiveEvidence, LogEntry, MAX_CHANNELS, MEMORY_bytes,
  MagnetEvidence, ObservedEvidence, PairEvidence, PairWork, PotentialEvidence, REPORT_IN, RESULT, RESULT_HEAD_bytes,
  RESULT_bytes, Reading, Result, SCRATCH, SCRATCH_WORDS, SOLVER, SOLVER_bytes, StepWork, TouchEvidence, UnknownResult, WORK,
  WORK_bytes, WORK_end,
} from './layout';

describe('layout of the memory', () => {
  it('keeps every block inside its place', () => {
    expect<bool>(BOARD + offsetof<Board>() <= REPORT_IN).toBe(true);
    expect<bool>(ENTRY + offsetof<LogEntry>() <= CAPTURE_HEAD).toBe(true);
    expect<bool>(CAPTURE_HEAD + offsetof<CaptureHead>() <= CAPTURE_PUSH).toBe(true);
    expect<bool>(CAPTURE_PUSH + MAX_CHANNELS * offsetof<CapturePush>() <= ANSWER).toBe(true);
    expect<bool>(ASK_end <= EVIDENCE).toBe(true);
    expect<bool>(EVIDENCE + EVIDENCE_bytes <= RESULT).toBe(true);
    expect<bool>(offsetof<Result>() <= RESULT_HEAD_bytes).toBe(true);
    expect<bool>(RESULT + RESULT_bytes <= LOG).toBe(true);
    expect<bool>(LOG + LOG_ENTRIES * offsetof<LogEntry>() <= LISTEN).toBe(true);
    expect<bool>(LISTEN + 2 * LISTEN_BLOCK * 4 <= WORK).toBe(true);
    expect<bool>(WORK_end <= WORK + WORK_bytes).toBe(true);
    expect<bool>(WORK + WORK_bytes <= SOLVER).toBe(true);
    expect<bool>(SOLVER + SOLVER_bytes <= 57344).toBe(true);
    expect<u32>(CAPTURE + CAPTURE_WORDS * 4).toBe(SCRATCH);
    expect<u32>(SCRATCH + SCRATCH_WORDS * 4).toBe(MEMORY_bytes);
    expect<bool>(BURST_B + BURST_SAMPLES * 4 <= MEMORY_bytes).toBe(true);
  });
  it('has whole words in every thing of which there are many', () => {
    expect<usize>(offsetof<LogEntry>() % 4).toBe(0);
    expect<usize>(offsetof<Reading>() % 4).toBe(0);
    expect<usize>(offsetof<PairEvidence>() % 4).toBe(0);
    expect<usize>(offsetof<PotentialEvidence>() % 4).toBe(0);
    expect<usize>(offsetof<InductanceEvidence>() % 4).toBe(0);
    expect<usize>(offsetof<CouplingEvidence>() % 4).toBe(0);
    expect<usize>(offsetof<MagnetEvidence>() % 4).toBe(0);
    expect<usize>(offsetof<ObservedEvidence>() % 4).toBe(0);
    expect<usize>(offsetof<LiveEvidence>() % 4).toBe(0);
    expect<usize>(offsetof<TouchEvidence>() % 4).toBe(0);
    expect<usize>(offsetof<ChannelEvidence>() % 4).toBe(0);
    expect<usize>(offsetof<CoilResult>() % 4).toBe(0);
    expect<usize>(offsetof<CoilPairResult>() % 4).toBe(0);
    expect<usize>(offsetof<FindingResult>() % 4).toBe(0);
    expect<usize>(offsetof<UnknownResult>() % 4).toBe(0);
    expect<usize>(offsetof<PairWork>() % 4).toBe(0);
    expect<usize>(offsetof<StepWork>() % 4).toBe(0);
  });
});
