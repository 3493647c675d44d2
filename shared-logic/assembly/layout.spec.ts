import {
  BOARD, REPORT_IN, EVIDENCE, EVIDENCE_bytes, RESULT, RESULT_bytes, LOG, LOG_ENTRIES, LogEntry, LISTEN, LISTEN_BLOCK,
  SOLVER, SOLVER_bytes, CAPTURE, CAPTURE_WORDS, SCRATCH, SCRATCH_WORDS, MEMORY_bytes, BURST_B, BURST_SAMPLES, Board,
  CAPTURE_HEAD, CaptureHead, ChannelEvidence, CoilResult, FindingResult, TouchEvidence, TOUCH_bytes, MAX_CHANNELS, ENTRY,
  WORK, WORK_bytes, WORK_end, PairWork, StepWork,
} from './layout';

describe('layout of the memory', () => {
  it('keeps every block inside its place', () => {
    expect<bool>(BOARD + offsetof<Board>() <= REPORT_IN).toBe(true);
    expect<bool>(ENTRY + offsetof<LogEntry>() <= CAPTURE_HEAD).toBe(true);
    expect<bool>(CAPTURE_HEAD + offsetof<CaptureHead>() <= EVIDENCE).toBe(true);
    expect<bool>(EVIDENCE + EVIDENCE_bytes <= RESULT).toBe(true);
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
  it('has the sizes that the arrays are strided by', () => {
    expect<u32>(offsetof<LogEntry>()).toBe(32);
    expect<u32>(offsetof<PairWork>()).toBe(16);
    expect<u32>(offsetof<StepWork>()).toBe(32);
    expect<u32>(offsetof<ChannelEvidence>()).toBe(40);
    expect<u32>(offsetof<TouchEvidence>() + MAX_CHANNELS * offsetof<ChannelEvidence>()).toBe(TOUCH_bytes);
    expect<u32>(offsetof<CoilResult>()).toBe(72);
    expect<u32>(offsetof<FindingResult>()).toBe(32);
  });
});
