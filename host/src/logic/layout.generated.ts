// Generated from shared-logic/assembly/layout.ts by `npm run build:logic`. Do not edit.

export const LAYOUT_VERSION = 2;
export const CLIP_COUNT = 6;
export const PAIR_COUNT = 15;
export const NONE = 255;
export const CALIBRATION = 512;
export const CALIBRATION_bytes = 144;
export const CALIBRATION_NEW = 656;
export const BOARD = 1024;
export const REPORT_IN = 1280;
export const REPORT_OUT = 1344;
export const ENTRY = 1408;
export const EVIDENCE = 2048;
export const RESULT = 18432;
export const LOG = 24576;
export const LOG_ENTRIES = 384;
export const LISTEN = 36864;
export const LISTEN_BLOCK = 100;
export const LISTEN_RATE_Hz = 10000;
export const WORK = 37696;
export const WORK_bytes = 1216;
export const SOLVER = 38912;
export const SOLVER_bytes = 18432;
export const CAPTURE = 65536;
export const CAPTURE_WORDS = 20480;
export const SCRATCH = 147456;
export const SCRATCH_WORDS = 12288;
export const MEMORY_bytes = 196608;
export const BURST_SAMPLES = 3072;
export const BURST_X1 = 2147483648;
export const BURST_RATE_Hz = 120000;
export const BURST_A = 147456;
export const BURST_B = 159744;
export const CLIP_PATH_ohm = 1222.5;
export const SAMPLE_V = 9.5367431640625e-7;
export const OVERRANGE = -2147483648;
export const CALIBRATION_holds_days = 366;
export const CALIBRATION_worst_u = 0.5;
export const BOARD_STATE = 1144;
export const CAPTURE_HEAD = 1440;
export const MAX_CHANNELS = 6;
export const CAPTURE_PUSH = 1504;
export const READINGS_PER_PAIR = 4;
export const PAIR_bytes = 56;
export const TOUCH_bytes = 256;
export const MAX_POTENTIALS = 48;
export const MAX_INDUCTANCES = 24;
export const MAX_COUPLINGS = 48;
export const MAX_MAGNETS = 24;
export const MAX_OBSERVED = 48;
export const MAX_TOUCHES = 32;
export const MAX_RINGS = 12;
export const EVIDENCE_PAIRS = 2080;
export const EVIDENCE_POTENTIALS = 2920;
export const EVIDENCE_INDUCTANCES = 3496;
export const EVIDENCE_COUPLINGS = 3976;
export const EVIDENCE_MAGNETS = 4552;
export const EVIDENCE_OBSERVED = 4744;
export const EVIDENCE_LIVE = 5320;
export const EVIDENCE_TOUCHES = 5440;
export const EVIDENCE_RINGS = 13632;
export const EVIDENCE_bytes = 12112;
export const MAX_COILS = 15;
export const MAX_COIL_PAIRS = 15;
export const MAX_FINDINGS = 20;
export const MAX_UNKNOWNS = 20;
export const RESULT_HEAD_bytes = 32;
export const RESULT_COILS = 18464;
export const RESULT_PAIRS = 19604;
export const RESULT_FINDINGS = 19784;
export const RESULT_UNKNOWNS = 20424;
export const RESULT_bytes = 2152;
export const MAX_PLACES = 8;
export const RANGES = 4;
export const MAX_STEP_COILS = 6;
export const MAX_STEP_BURSTS = 21;
export const ANSWER = 1648;
export const BURST_LOOK = 1664;
export const STEP_READING = 1672;
export const ASK = 1688;
export const ASK_end = 1696;
export const WORK_PAIRS = 37696;
export const WORK_STEPS = 37936;
export const WORK_REFERENCES = 38608;
export const WORK_ASKS = 38624;
export const WORK_GROUPS = 38632;
export const WORK_TOUCH = 38640;
export const WORK_RING = 37936;
export const WORK_end = 38896;
export const REPORT_bytes = 64;
export const REPORT_VERSION = 1;
export const SAMPLES_PER_REPORT = 16;
export const SAMPLE_24_bytes = 3;
export const BLOCK_bytes_max = 48;
export const TRACE_BLOCKS_max = 6;
export const SURVEY_LEAD = 16;
export const SURVEY_CLIP_SAMPLES = 128;
export const SURVEY_bytes = 12292;

export const Input = {
  port: 0,
  wand: 1,
  boardTemperature: 2,
  railPositive: 3,
  railNegative: 4,
} as const;

export const Rate = {
  precise: 0,
  quick: 1,
} as const;

export const Status = {
  ok: 0,
  silent: 1,
  bad: 2,
  overrange: 3,
  overrun: 4,
} as const;

export const Button = {
  press: 1,
  long: 2,
} as const;

export const Light = {
  off: 0,
  ready: 1,
  busy: 2,
  touch: 3,
  lift: 4,
  magnet: 5,
  good: 6,
  fault: 7,
  unsure: 8,
  trap: 9,
  waiting: 10,
} as const;

export const Link = {
  detached: 0,
  attached: 1,
  suspended: 2,
} as const;

export const Kind = {
  unknown: 0,
  single: 1,
  sideBySide: 2,
  three: 3,
  stacked: 4,
} as const;

export const Pole = {
  unknown: 0,
  north: 1,
  south: 2,
} as const;

export const Winding = {
  unknown: 0,
  cw: 1,
  ccw: 2,
} as const;

export const Verdict = {
  none: 0,
  good: 1,
  fault: 2,
  unsure: 3,
} as const;

export const Severity = {
  note: 0,
  warning: 1,
  fault: 2,
} as const;

export const Finding = {
  none: 0,
  bridge: 1,
  leak: 2,
  open: 3,
  shortedTurns: 4,
  intermittent: 5,
  live: 6,
  joined: 7,
  mismatch: 8,
  contradiction: 9,
  overrange: 10,
  weakTouch: 11,
  outOfPhase: 12,
} as const;

export const Swing = {
  none: 0,
  positive: 1,
  negative: 2,
} as const;

export const EntryKind = {
  none: 0,
  begin: 1,
  resistance: 2,
  live: 3,
  potential: 4,
  inductance: 5,
  coupling: 6,
  touch: 7,
  magnet: 8,
  observed: 9,
  note: 10,
  end: 11,
  ring: 12,
  ringCapacitance: 13,
} as const;

export const EntryFlag = {
  open: 1,
  fieldKnown: 2,
  temperatureKnown: 4,
  uncertaintyKnown: 8,
  lossKnown: 16,
  peakKnown: 32,
  clipsAssumed: 64,
  totalKnown: 128,
  typed: 128,
} as const;

export const Cover = {
  unknown: 0,
  none: 1,
  metal: 2,
} as const;

export const ConverterFault = {
  none: 0,
  notReady: 1,
  otherPart: 2,
  notSet: 3,
  silent: 4,
  disturbed: 5,
} as const;

export const Calibrated = {
  untold: 0,
  good: 1,
  missing: 2,
  corrupt: 3,
  old: 4,
} as const;

export const Note = {
  none: 0,
  cancelled: 1,
  timedOut: 2,
  asksExhausted: 3,
  converterFailed: 4,
  captureOverrun: 5,
  selfTestFailed: 6,
  selfTestPassed: 7,
} as const;

export const Check = {
  none: 0,
  railPositive: 1,
  railNegative: 2,
  converterZero: 3,
  openInput: 4,
  reference: 5,
  temperature: 6,
  fixture: 7,
} as const;

export const EvidenceFlag = {
  temperatureKnown: 1,
  ended: 2,
  cancelled: 4,
  full: 8,
  clipsAssumed: 16,
  typed: 32,
} as const;

export const TouchFlag = {
  overrange: 1,
  weak: 2,
  none: 4,
  lateLift: 8,
  bounced: 16,
  noDeparture: 32,
  stays: 64,
  noFlux: 128,
  burst: 256,
  missed: 512,
} as const;

export const CoilFlag = {
  hidden: 1,
  tapped: 4,
  ohm20C: 8,
} as const;

export const CoilText = {
  none: 0,
  hiddenInPhase: 1,
  hiddenOutOfPhase: 2,
  hiddenUnknown: 3,
  tappedSection: 4,
  networkEdge: 6,
  stackedInner: 7,
} as const;

export const Witness = {
  coupling: 1,
  magnet: 2,
  oneWinding: 4,
} as const;

export const FindingText = {
  none: 0,
  bridgeToChassis: 1,
  bridgeToClip: 2,
  bridgeAtEnd: 3,
  bridgeBetweenCoils: 4,
  bridgeUnplaced: 5,
  leakToChassis: 6,
  leakBetween: 7,
  openPeaks: 8,
  openNoCoil: 9,
  shortedTurns: 10,
  contactLost: 11,
  readingsApart: 12,
  liveVoltage: 13,
  joinedClips: 14,
  chassisTied: 15,
  resistanceDiffers: 16,
  inductanceDiffers: 17,
  lossDiffers: 18,
  polesEqual: 19,
  triangleBroken: 20,
  networkImpossible: 21,
  openInside: 22,
  signsDisagree: 23,
  placesDisagree: 24,
  polesDisagree: 25,
  magnetsDisagree: 26,
  couplingImpossible: 27,
  inductanceDisagree: 28,
  overrangeTouch: 29,
  weakTouch: 30,
  noTouch: 31,
  hiddenOutOfPhase: 32,
  linkOutOfPhase: 33,
  contactBurst: 34,
  lossAlone: 35,
  joinedApart: 36,
  swingMisplaced: 37,
} as const;

export const UnknownText = {
  none: 0,
  polarityNoTouch: 1,
  polarityFaint: 2,
  poleUnknown: 3,
  placeUnknown: 4,
  isolatedClips: 5,
  pairNotRead: 6,
  readingsMissing: 7,
  starOrDelta: 8,
  deltaOrStar: 9,
  tapOrLink: 10,
  bridgeOrLink: 11,
  linkOrBridge: 12,
  bridgeOrTap: 13,
  hiddenOrSingle: 14,
  polesDiffer: 15,
  stackedOrSide: 16,
  stackedInner: 17,
  openLimitLow: 18,
  pairingUnknown: 19,
  placeNoCoil: 20,
  networkUnsolved: 21,
  noResistances: 22,
  evidenceFull: 23,
  testCancelled: 24,
  networkLoop: 25,
  heardUnread: 26,
  coverOrTurns: 27,
  turnsUnderCover: 28,
  ringNotSimple: 29,
  ringHeavy: 30,
  ohmsOrKilohms: 31,
  kilohmsTaken: 32,
  polarityNeighbour: 33,
  polarityUnread: 34,
  polarityDisagrees: 35,
  readingsOdd: 36,
  oppositeSwings: 37,
  polarityUnlistened: 38,
  polarityShared: 39,
  polarityOpposed: 40,
} as const;

export const Survey = {
  clip: 0,
  common: 1,
  rampDown: 2,
  rampUp: 3,
  zero: 4,
  current: 5,
  bleed: 6,
} as const;

export const Report = {
  none: 0,
  identity: 1,
  state: 2,
  entry: 3,
  samples: 4,
  block: 5,
  refused: 6,
  trace: 7,
  calibrated: 8,
  hello: 128,
  setup: 129,
  button: 130,
  acknowledge: 131,
  read: 132,
  selfTest: 133,
  calibrate: 134,
  survey: 135,
} as const;

export const Refusal = {
  none: 0,
  version: 1,
  type: 2,
  length: 3,
  order: 4,
  content: 5,
  busy: 6,
} as const;

export const Step = {
  idle: 0,
  guard: 1,
  reference: 2,
  quickScan: 3,
  resistance: 4,
  leak: 5,
  potential: 6,
  inductance: 7,
  coupling: 8,
  askTouch: 9,
  listening: 10,
  lift: 11,
  magnet: 12,
  solve: 13,
  done: 14,
  cancelled: 15,
  failed: 16,
  waitHost: 17,
  ring: 18,
  asleep: 19,
  storing: 20,
} as const;

/** Byte offset and type of each field; `size` is the end of the last field, rounded to 4. */

export const BoardLayout = {
  size: 80,
  reference_ohm: { at: 0, type: 'f32' },
  reference_u: { at: 4, type: 'f32' },
  wand_T_per_V: { at: 8, type: 'f32' },
  step_V: { at: 12, type: 'f32' },
  code_V: { at: 16, type: 'f32' },
  temperature_V25: { at: 20, type: 'f32' },
  temperature_V_per_K: { at: 24, type: 'f32' },
  resetReason: { at: 28, type: 'u8' },
  firmwareMajor: { at: 29, type: 'u8' },
  firmwareMinor: { at: 30, type: 'u8' },
  firmwarePatch: { at: 31, type: 'u8' },
  serialLow: { at: 32, type: 'u64' },
  serialHigh: { at: 40, type: 'u64' },
  hash0: { at: 48, type: 'u64' },
  hash1: { at: 56, type: 'u64' },
  hash2: { at: 64, type: 'u64' },
  hash3: { at: 72, type: 'u64' },
} as const;

export const CalibrationLayout = {
  size: 144,
  magic: { at: 0, type: 'u32' },
  version: { at: 4, type: 'u32' },
  writes: { at: 8, type: 'u32' },
  date: { at: 12, type: 'u32' },
  serialLow: { at: 16, type: 'u64' },
  serialHigh: { at: 24, type: 'u64' },
  reference_ohm: { at: 32, type: 'f32' },
  reference_u: { at: 36, type: 'f32' },
  wand_T_per_V: { at: 40, type: 'f32' },
  step_V: { at: 44, type: 'f32' },
  code_V: { at: 48, type: 'f32' },
  temperature_V25: { at: 52, type: 'f32' },
  temperature_V_per_K: { at: 56, type: 'f32' },
  zero1_ohm: { at: 60, type: 'f32' },
  zero2_ohm: { at: 64, type: 'f32' },
  zero3_ohm: { at: 68, type: 'f32' },
  zero4_ohm: { at: 72, type: 'f32' },
  zero5_ohm: { at: 76, type: 'f32' },
  zero6_ohm: { at: 80, type: 'f32' },
  zero_u_ohm: { at: 84, type: 'f32' },
  fixture1_F: { at: 88, type: 'f32' },
  fixture2_F: { at: 92, type: 'f32' },
  fixture3_F: { at: 96, type: 'f32' },
  fixture4_F: { at: 100, type: 'f32' },
  fixture5_F: { at: 104, type: 'f32' },
  fixture6_F: { at: 108, type: 'f32' },
  fixture_u_F: { at: 112, type: 'f32' },
  wide1: { at: 116, type: 'f32' },
  wide2: { at: 120, type: 'f32' },
  wide3: { at: 124, type: 'f32' },
  wide4: { at: 128, type: 'f32' },
  ohmDay: { at: 132, type: 'u16' },
  zeroDay: { at: 134, type: 'u16' },
  fixtureDay: { at: 136, type: 'u16' },
  codesDay: { at: 138, type: 'u16' },
  crc32: { at: 140, type: 'u32' },
} as const;

export const BoardStateLayout = {
  size: 8,
  converterFault: { at: 0, type: 'u8' },
  calibrated: { at: 1, type: 'u8' },
  reserved: { at: 2, type: 'u16' },
  reserved2: { at: 4, type: 'u32' },
} as const;

export const LogEntryLayout = {
  size: 32,
  number: { at: 0, type: 'u16' },
  kind: { at: 2, type: 'u8' },
  flags: { at: 3, type: 'u8' },
  a: { at: 4, type: 'u8' },
  b: { at: 5, type: 'u8' },
  c: { at: 6, type: 'u8' },
  d: { at: 7, type: 'u8' },
  place: { at: 8, type: 'u8' },
  reserved: { at: 9, type: 'u8' },
  count: { at: 10, type: 'u16' },
  extra: { at: 12, type: 'f32' },
  v0: { at: 16, type: 'f32' },
  v1: { at: 20, type: 'f32' },
  v2: { at: 24, type: 'f32' },
  v3: { at: 28, type: 'f32' },
} as const;

export const CaptureHeadLayout = {
  size: 52,
  rate_Hz: { at: 0, type: 'f32' },
  start_s: { at: 4, type: 'f32' },
  channelCount: { at: 8, type: 'u32' },
  sampleCount: { at: 12, type: 'u32' },
  stride: { at: 16, type: 'u32' },
  decimation: { at: 20, type: 'u32' },
  plus0: { at: 24, type: 'u8' },
  minus0: { at: 25, type: 'u8' },
  plus1: { at: 26, type: 'u8' },
  minus1: { at: 27, type: 'u8' },
  plus2: { at: 28, type: 'u8' },
  minus2: { at: 29, type: 'u8' },
  plus3: { at: 30, type: 'u8' },
  minus3: { at: 31, type: 'u8' },
  plus4: { at: 32, type: 'u8' },
  minus4: { at: 33, type: 'u8' },
  plus5: { at: 34, type: 'u8' },
  minus5: { at: 35, type: 'u8' },
  focusFirst: { at: 36, type: 'u32' },
  focusCount: { at: 40, type: 'u32' },
  sourceCount: { at: 44, type: 'u32' },
  analysedAt: { at: 48, type: 'u32' },
} as const;

export const CapturePushLayout = {
  size: 24,
  sum: { at: 0, type: 'i64' },
  filled: { at: 8, type: 'u32' },
  overrange: { at: 12, type: 'u32' },
  written: { at: 16, type: 'u32' },
  reserved: { at: 20, type: 'u32' },
} as const;

export const ReadingLayout = {
  size: 12,
  ohm: { at: 0, type: 'f32' },
  weight: { at: 4, type: 'f32' },
  count: { at: 8, type: 'u32' },
} as const;

export const PairEvidenceLayout = {
  size: 8,
  openCount: { at: 0, type: 'u16' },
  groupCount: { at: 2, type: 'u8' },
  overflow: { at: 3, type: 'u8' },
  above_ohm: { at: 4, type: 'f32' },
} as const;

export const PotentialEvidenceLayout = {
  size: 12,
  a: { at: 0, type: 'u8' },
  b: { at: 1, type: 'u8' },
  c: { at: 2, type: 'u8' },
  reserved: { at: 3, type: 'u8' },
  ratio: { at: 4, type: 'f32' },
  u: { at: 8, type: 'f32' },
} as const;

export const InductanceEvidenceLayout = {
  size: 20,
  plus: { at: 0, type: 'u8' },
  minus: { at: 1, type: 'u8' },
  flags: { at: 2, type: 'u16' },
  henry_H: { at: 4, type: 'f32' },
  u_H: { at: 8, type: 'f32' },
  loss_ohm: { at: 12, type: 'f32' },
  u_loss_ohm: { at: 16, type: 'f32' },
} as const;

export const CouplingEvidenceLayout = {
  size: 12,
  drivePlus: { at: 0, type: 'u8' },
  driveMinus: { at: 1, type: 'u8' },
  sensePlus: { at: 2, type: 'u8' },
  senseMinus: { at: 3, type: 'u8' },
  mutual_H: { at: 4, type: 'f32' },
  u_H: { at: 8, type: 'f32' },
} as const;

export const MagnetEvidenceLayout = {
  size: 8,
  place: { at: 0, type: 'u8' },
  pole: { at: 1, type: 'u8' },
  flags: { at: 2, type: 'u16' },
  field_T: { at: 4, type: 'f32' },
} as const;

export const ObservedEvidenceLayout = {
  size: 12,
  place: { at: 0, type: 'u8' },
  plus: { at: 1, type: 'u8' },
  minus: { at: 2, type: 'u8' },
  swing: { at: 3, type: 'u8' },
  flags: { at: 4, type: 'u32' },
  peak_V: { at: 8, type: 'f32' },
} as const;

export const RingEvidenceLayout = {
  size: 44,
  plus: { at: 0, type: 'u8' },
  minus: { at: 1, type: 'u8' },
  groundedMask: { at: 2, type: 'u8' },
  flags: { at: 3, type: 'u8' },
  natural_Hz: { at: 4, type: 'f32' },
  u_Hz: { at: 8, type: 'f32' },
  loss_s: { at: 12, type: 'f32' },
  u_s: { at: 16, type: 'f32' },
  total_F: { at: 20, type: 'f32' },
  u_F: { at: 24, type: 'f32' },
  fixture_F: { at: 28, type: 'f32' },
  u_fixture_F: { at: 32, type: 'f32' },
  series_ohm: { at: 36, type: 'f32' },
  misfit: { at: 40, type: 'f32' },
} as const;

export const LiveEvidenceLayout = {
  size: 8,
  a: { at: 0, type: 'u8' },
  b: { at: 1, type: 'u8' },
  reserved: { at: 2, type: 'u16' },
  volt_V: { at: 4, type: 'f32' },
} as const;

export const ChannelEvidenceLayout = {
  size: 40,
  plus: { at: 0, type: 'u8' },
  minus: { at: 1, type: 'u8' },
  flags: { at: 2, type: 'u16' },
  flux_Wb: { at: 4, type: 'f32' },
  u_flux_Wb: { at: 8, type: 'f32' },
  signLogOdds: { at: 12, type: 'f32' },
  touchLogOdds: { at: 16, type: 'f32' },
  departure_Wb: { at: 20, type: 'f32' },
  peak_V: { at: 24, type: 'f32' },
  noise_V: { at: 28, type: 'f32' },
  matched_d: { at: 32, type: 'f32' },
  hum_V: { at: 36, type: 'f32' },
} as const;

export const TouchEvidenceLayout = {
  size: 16,
  place: { at: 0, type: 'u8' },
  channelCount: { at: 1, type: 'u8' },
  flags: { at: 2, type: 'u16' },
  arrival_s: { at: 4, type: 'f32' },
  departure_s: { at: 8, type: 'f32' },
  contacts: { at: 12, type: 'u16' },
  burst_ms: { at: 14, type: 'u16' },
} as const;

export const EvidenceLayout = {
  size: 32,
  layout: { at: 0, type: 'u32' },
  clipMask: { at: 4, type: 'u8' },
  bareMask: { at: 5, type: 'u8' },
  kind: { at: 6, type: 'u8' },
  placeCount: { at: 7, type: 'u8' },
  flags: { at: 8, type: 'u32' },
  temperature_C: { at: 12, type: 'f32' },
  potentialCount: { at: 16, type: 'u8' },
  inductanceCount: { at: 17, type: 'u8' },
  couplingCount: { at: 18, type: 'u8' },
  magnetCount: { at: 19, type: 'u8' },
  observedCount: { at: 20, type: 'u8' },
  touchCount: { at: 21, type: 'u8' },
  liveCount: { at: 22, type: 'u8' },
  noteMask: { at: 23, type: 'u8' },
  scale_u: { at: 24, type: 'f32' },
  ringCount: { at: 28, type: 'u8' },
  cover: { at: 29, type: 'u8' },
  calibrated: { at: 30, type: 'u8' },
  converterFault: { at: 31, type: 'u8' },
} as const;

export const CoilResultLayout = {
  size: 76,
  endA: { at: 0, type: 'u8' },
  endB: { at: 1, type: 'u8' },
  plus: { at: 2, type: 'u8' },
  minus: { at: 3, type: 'u8' },
  place: { at: 4, type: 'u8' },
  pole: { at: 5, type: 'u8' },
  winding: { at: 6, type: 'u8' },
  text: { at: 7, type: 'u8' },
  ohm: { at: 8, type: 'f32' },
  ohm_20C: { at: 12, type: 'f32' },
  u_ohm: { at: 16, type: 'f32' },
  inductance_H: { at: 20, type: 'f32' },
  u_inductance_H: { at: 24, type: 'f32' },
  confidence: { at: 28, type: 'f32' },
  flags: { at: 32, type: 'u32' },
  placeMask: { at: 36, type: 'u32' },
  liftsMask: { at: 40, type: 'u8' },
  lowersMask: { at: 41, type: 'u8' },
  northMask: { at: 42, type: 'u8' },
  southMask: { at: 43, type: 'u8' },
  capacitance_F: { at: 44, type: 'f32' },
  u_capacitance_F: { at: 48, type: 'f32' },
  loss_ohm: { at: 52, type: 'f32' },
  u_loss_ohm: { at: 56, type: 'f32' },
  loss_s: { at: 60, type: 'f32' },
  u_loss_s: { at: 64, type: 'f32' },
  resonance_Hz: { at: 68, type: 'f32' },
  q: { at: 72, type: 'f32' },
} as const;

export const CoilPairResultLayout = {
  size: 12,
  a: { at: 0, type: 'u8' },
  b: { at: 1, type: 'u8' },
  polesDiffer: { at: 2, type: 'u8' },
  witnesses: { at: 3, type: 'u8' },
  mutual_H: { at: 4, type: 'f32' },
  u_mutual_H: { at: 8, type: 'f32' },
} as const;

export const FindingResultLayout = {
  size: 32,
  kind: { at: 0, type: 'u8' },
  severity: { at: 1, type: 'u8' },
  text: { at: 2, type: 'u8' },
  coil: { at: 3, type: 'u8' },
  clip0: { at: 4, type: 'u8' },
  clip1: { at: 5, type: 'u8' },
  clip2: { at: 6, type: 'u8' },
  clip3: { at: 7, type: 'u8' },
  clip4: { at: 8, type: 'u8' },
  clip5: { at: 9, type: 'u8' },
  place: { at: 10, type: 'u8' },
  otherCoil: { at: 11, type: 'u8' },
  fraction: { at: 12, type: 'f32' },
  value: { at: 16, type: 'f32' },
  value2: { at: 20, type: 'f32' },
  value3: { at: 24, type: 'f32' },
  reserved: { at: 28, type: 'u32' },
} as const;

export const UnknownResultLayout = {
  size: 8,
  text: { at: 0, type: 'u8' },
  coil: { at: 1, type: 'u8' },
  place: { at: 2, type: 'u8' },
  clipMask: { at: 3, type: 'u8' },
  otherCoil: { at: 4, type: 'u8' },
  clipMask2: { at: 5, type: 'u8' },
  reserved: { at: 6, type: 'u16' },
} as const;

export const ResultLayout = {
  size: 20,
  layout: { at: 0, type: 'u32' },
  verdict: { at: 4, type: 'u8' },
  coilCount: { at: 5, type: 'u8' },
  pairCount: { at: 6, type: 'u8' },
  findingCount: { at: 7, type: 'u8' },
  unknownCount: { at: 8, type: 'u8' },
  chassisMask: { at: 9, type: 'u8' },
  joined0: { at: 10, type: 'u8' },
  joined1: { at: 11, type: 'u8' },
  joined2: { at: 12, type: 'u8' },
  isolatedMask: { at: 13, type: 'u8' },
  reserved: { at: 14, type: 'u16' },
  reserved2: { at: 16, type: 'u32' },
} as const;

export const PairWorkLayout = {
  size: 16,
  state: { at: 0, type: 'u8' },
  range: { at: 1, type: 'u8' },
  repeats: { at: 2, type: 'u8' },
  reserved: { at: 3, type: 'u8' },
  quick_ohm: { at: 4, type: 'f32' },
  ohm: { at: 8, type: 'f32' },
  span_V: { at: 12, type: 'f32' },
} as const;

export const StepWorkLayout = {
  size: 32,
  a: { at: 0, type: 'u8' },
  b: { at: 1, type: 'u8' },
  c: { at: 2, type: 'u8' },
  d: { at: 3, type: 'u8' },
  window: { at: 4, type: 'u32' },
  end_V: { at: 8, type: 'f32' },
  sum_V: { at: 12, type: 'f32' },
  first_V: { at: 16, type: 'f32' },
  second_V: { at: 20, type: 'f32' },
  third_V: { at: 24, type: 'f32' },
  tail_V: { at: 28, type: 'f32' },
} as const;

export const AnswerLayout = {
  size: 16,
  volt_V: { at: 0, type: 'f32' },
  live_V: { at: 4, type: 'f32' },
  hum_V: { at: 8, type: 'f32' },
  plus: { at: 12, type: 'u8' },
  minus: { at: 13, type: 'u8' },
  over: { at: 14, type: 'u8' },
  reserved: { at: 15, type: 'u8' },
} as const;

export const BurstLookLayout = {
  size: 8,
  mean_V: { at: 0, type: 'f32' },
  peak_V: { at: 4, type: 'f32' },
} as const;

export const StepReadingLayout = {
  size: 16,
  value_H: { at: 0, type: 'f32' },
  u_H: { at: 4, type: 'f32' },
  loss_ohm: { at: 8, type: 'f32' },
  u_loss_ohm: { at: 12, type: 'f32' },
} as const;

export const AskLayout = {
  size: 8,
  place: { at: 0, type: 'u8' },
  plusA: { at: 1, type: 'u8' },
  minusA: { at: 2, type: 'u8' },
  plusB: { at: 3, type: 'u8' },
  minusB: { at: 4, type: 'u8' },
  reserved: { at: 5, type: 'u8' },
  reserved2: { at: 6, type: 'u16' },
} as const;

export const RingWorkLayout = {
  size: 68,
  bursts: { at: 0, type: 'u32' },
  clearFrom: { at: 4, type: 'u16' },
  first: { at: 6, type: 'u16' },
  width: { at: 8, type: 'u16' },
  count: { at: 10, type: 'u16' },
  rest_V: { at: 12, type: 'f32' },
  tail_V: { at: 16, type: 'f32' },
  peak_V: { at: 20, type: 'f32' },
  w: { at: 24, type: 'f32' },
  g: { at: 28, type: 'f32' },
  a_V: { at: 32, type: 'f32' },
  b_V: { at: 36, type: 'f32' },
  k_V: { at: 40, type: 'f32' },
  squares_V2: { at: 44, type: 'f32' },
  u_natural: { at: 48, type: 'f32' },
  u_loss: { at: 52, type: 'f32' },
  misfit: { at: 56, type: 'f32' },
  total_F: { at: 60, type: 'f32' },
  u_F: { at: 64, type: 'f32' },
} as const;

export const ReportHeadLayout = {
  size: 8,
  version: { at: 0, type: 'u8' },
  type: { at: 1, type: 'u8' },
  number: { at: 2, type: 'u16' },
  test: { at: 4, type: 'u16' },
  reserved: { at: 6, type: 'u16' },
} as const;

export const IdentityReportLayout = {
  size: 56,
  layout: { at: 0, type: 'u8' },
  firmwareMajor: { at: 1, type: 'u8' },
  firmwareMinor: { at: 2, type: 'u8' },
  firmwarePatch: { at: 3, type: 'u8' },
  resetReason: { at: 4, type: 'u8' },
  flags: { at: 5, type: 'u8' },
  test: { at: 6, type: 'u16' },
  serialLow: { at: 8, type: 'u64' },
  serialHigh: { at: 16, type: 'u64' },
  hash0: { at: 24, type: 'u64' },
  hash1: { at: 32, type: 'u64' },
  hash2: { at: 40, type: 'u64' },
  hash3: { at: 48, type: 'u64' },
} as const;

export const StateReportLayout = {
  size: 16,
  step: { at: 0, type: 'u8' },
  light: { at: 1, type: 'u8' },
  place: { at: 2, type: 'u8' },
  ask: { at: 3, type: 'u8' },
  clipA: { at: 4, type: 'u8' },
  clipB: { at: 5, type: 'u8' },
  verdict: { at: 6, type: 'u8' },
  flags: { at: 7, type: 'u8' },
  logCount: { at: 8, type: 'u16' },
  acknowledged: { at: 10, type: 'u16' },
  touchCount: { at: 12, type: 'u8' },
  refusedCount: { at: 13, type: 'u8' },
  progress_permille: { at: 14, type: 'u16' },
} as const;

export const SamplesReportLayout = {
  size: 8,
  touch: { at: 0, type: 'u8' },
  channel: { at: 1, type: 'u8' },
  offset: { at: 2, type: 'u16' },
  count: { at: 4, type: 'u8' },
  reserved: { at: 5, type: 'u8' },
  reserved2: { at: 6, type: 'u16' },
} as const;

export const BlockReportLayout = {
  size: 4,
  region: { at: 0, type: 'u8' },
  count: { at: 1, type: 'u8' },
  offset: { at: 2, type: 'u16' },
} as const;

export const RefusedReportLayout = {
  size: 4,
  reason: { at: 0, type: 'u8' },
  type: { at: 1, type: 'u8' },
  number: { at: 2, type: 'u16' },
} as const;

export const CalibratedReportLayout = {
  size: 4,
  stored: { at: 0, type: 'u8' },
} as const;

export const TraceReportLayout = {
  size: 4,
  blocks: { at: 0, type: 'u8' },
  place: { at: 1, type: 'u8' },
  firstBlock: { at: 2, type: 'u16' },
} as const;

export const TraceBlockLayout = {
  size: 8,
  lowA: { at: 0, type: 'i16' },
  highA: { at: 2, type: 'i16' },
  lowB: { at: 4, type: 'i16' },
  highB: { at: 6, type: 'i16' },
} as const;

export const HelloReportLayout = {
  size: 4,
  layout: { at: 0, type: 'u8' },
} as const;

export const SetupReportLayout = {
  size: 12,
  clipMask: { at: 0, type: 'u8' },
  bareMask: { at: 1, type: 'u8' },
  kind: { at: 2, type: 'u8' },
  placeCount: { at: 3, type: 'u8' },
  flags: { at: 4, type: 'u8' },
  cover: { at: 5, type: 'u8' },
  today: { at: 6, type: 'u16' },
  temperature_C: { at: 8, type: 'f32' },
} as const;

export const ButtonReportLayout = {
  size: 4,
  kind: { at: 0, type: 'u8' },
} as const;

export const AcknowledgeReportLayout = {
  size: 4,
  test: { at: 0, type: 'u16' },
  count: { at: 2, type: 'u16' },
} as const;

export const ReadReportLayout = {
  size: 4,
  region: { at: 0, type: 'u8' },
  count: { at: 1, type: 'u8' },
  offset: { at: 2, type: 'u16' },
} as const;

export const SurveyReportLayout = {
  size: 4,
  what: { at: 0, type: 'u8' },
  clip: { at: 1, type: 'u8' },
} as const;

export const CalibrateReportLayout = {
  size: 4,
  offset: { at: 0, type: 'u8' },
  count: { at: 1, type: 'u8' },
  reserved: { at: 2, type: 'u16' },
} as const;
