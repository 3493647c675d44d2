/**
 * The 64-byte reports, both ways (drawn in hardware-notes/usb-reports.md): numbered per direction, evidence kept
 * until it is acknowledged, anything that is not understood refused with a reason and never acted on.
 */
import { boardSend, boardStore, boardWand } from '../../board';
import { board, captureHead, captureSample, evidence, listenSample, logEntry, result } from '../../blocks';
import {
  AcknowledgeReport, BLOCK_bytes_max, BOARD, BlockReport, Board, Button, ButtonReport, CALIBRATION, CALIBRATION_NEW, CALIBRATION_bytes,
  CAPTURE, CLIP_COUNT, CalibrateReport, CalibratedReport, CaptureHead, EVIDENCE, EVIDENCE_bytes,
  EntryKind, HelloReport, IdentityReport, LAYOUT_VERSION, LISTEN_BLOCK, Light, Link, LogEntry, OVERRANGE, REPORT_IN, REPORT_OUT,
  REPORT_VERSION, REPORT_bytes, RESULT, RESULT_bytes, ReadReport, Refusal, RefusedReport, Report, ReportHead,
  SAMPLES_PER_REPORT, SAMPLE_24_bytes, SURVEY_bytes, SamplesReport, SetupReport, StateReport, Step, Survey, SurveyReport,
  TRACE_BLOCKS_max, TraceBlock, TraceReport,
} from '../../layout';
import {
  isIdle, light, lightAsk, lightPlace, markState, progress_permille, setStep, showLight, stateDue, stateTold, step, workA, workB,
} from './status';
import {
  acknowledge, acknowledged, captureEntry, entrySent, logCount, rewindLog, sent, testNumber,
} from './log';
import { setupDone, takeSetup } from './setup';

const HEAD: u32 = offsetof<ReportHead>();
const PAYLOAD: u32 = REPORT_bytes - HEAD;
const IN: u32 = REPORT_IN + HEAD;
const OUT: u32 = REPORT_OUT + HEAD;

/** What a report of the host asks of the test. */
export enum Request { none, press, longPress, acknowledged, selfTest, survey }

let link: u32 = Link.detached;
/** A host has said hello since it was attached. */
let session: bool = false;
/** A host has said hello, whether it is still there or not. */
let known: bool = false;
/** The last report handed over is still on its way. */
let busy: bool = false;
let numberOut: u32 = 0;
let numberIn: u32 = 0;

let identityDue: bool = false;
let refusalDue: u32 = 0;
let refusedType: u32 = 0;
let refusedNumber: u32 = 0;
let refusedCount: u32 = 0;
let readDue: bool = false;
let readRegion: u32 = 0;
let readCount: u32 = 0;
let readOffset: u32 = 0;
/** Bytes of the next calibration that are here, from the first on. */
let calibrationTaken: u32 = 0;
/** It is here whole, and is written once the host has been told. */
let storeDue: bool = false;
/** What was shown before, and comes again. */
let stepBefore: u32 = 0;
let lightBefore: u32 = 0;
/** The survey that was asked for last, `Survey`, and its clip. */
export let surveyWhat: u32 = 0;
export let surveyClip: u32 = 0;
/** What has become of it is to be told. */
let calibratedDue: bool = false;
let calibrationStored: u32 = 0;
/** Next sample of the touch that goes out, channel by channel. */
let sampleChannel: u32 = 0;
let sampleOffset: u32 = 0;
let traceBlocks: u32 = 0;
let traceFirst: u32 = 0;
/** The blocks of trace waiting, as they lie in the report. */
const TRACE: usize = memory.data(TRACE_BLOCKS_max * offsetof<TraceBlock>());

/** As after power-on: nobody is attached, nothing is due. */
export function resetReports(): void {
  link = Link.detached;
  session = false;
  known = false;
  busy = false;
  numberOut = 0;
  identityDue = false;
  stateTold();
  refusalDue = 0;
  refusedCount = 0;
  readDue = false;
  calibrationTaken = 0;
  storeDue = false;
  calibratedDue = false;
  traceBlocks = 0;
  rewindSamples();
}

/** Whether a host is there and listening to us. */
function hostPresent(): bool { return session && link == Link.attached; }

/** Whether a host spoke since the start, and nobody has gone on without it: what it has not got is kept. */
export function hostKnown(): bool { return known; }

/** The person goes on without the host, until it says hello again. */
export function forgetHost(): void { known = false; }

/** The touches' samples start again from the first. */
export function rewindSamples(): void {
  sampleChannel = 0;
  sampleOffset = 0;
}

/** A cable was plugged or pulled, or the bus sleeps. @param state - `Link` */
export function onLink(state: u32): void {
  if (state == Link.detached) {
    session = false;
    if (storeDue) storeEnds();
  }
  link = state;
  busy = false;
  pump();
}

/** The last report has gone out. */
export function onReportSent(): void {
  busy = false;
  pump();
}

/** Sends what is due, the most urgent first, until the wire is busy. */
export function pump(): void {
  if (busy || link != Link.attached) return;
  for (let i = 0; i < 64; i++) {
    const type = fillNext();
    if (type == Report.none) {
      if (!storeDue) return;
      // The host knows by now why nothing comes for a while.
      calibrationStored = boardStore();
      calibratedDue = true;
      storeEnds();
      continue;
    }
    const head = changetype<ReportHead>(<usize>REPORT_OUT);
    head.version = <u8>REPORT_VERSION;
    head.type = <u8>type;
    head.number = <u16>numberOut;
    head.test = <u16>testNumber;
    if (boardSend() == 0) {
      busy = true;
      return;
    }
    numberOut = (numberOut + 1) & 0xffff;
    taken(type);
  }
}

/** Fills the payload of the next report. @returns its type, or `Report.none` */
function fillNext(): u32 {
  memory.fill(REPORT_OUT, 0, REPORT_bytes);
  if (refusalDue != 0) return fillRefused();
  if (identityDue) return fillIdentity();
  if (!session) return Report.none;
  if (readDue) return fillBlock();
  if (calibratedDue) return fillCalibrated();
  if (stateDue) return fillState();
  if (sent < logCount) return fillLog();
  return traceBlocks > 0 ? fillTrace() : Report.none;
}

/** The report of this type has been taken: what it told is no longer due. */
function taken(type: u32): void {
  switch (type) {
    case Report.refused: refusalDue = 0; break;
    case Report.identity: identityDue = false; break;
    case Report.block: readDue = false; break;
    case Report.calibrated: calibratedDue = false; break;
    case Report.state: stateTold(); break;
    case Report.samples: {
      const head = captureHead();
      sampleOffset += SAMPLES_PER_REPORT;
      if (sampleOffset >= head.sampleCount) {
        sampleOffset = 0;
        sampleChannel++;
      }
      break;
    }
    case Report.entry: {
      entrySent();
      rewindSamples();
      break;
    }
    default: traceBlocks = 0;
  }
}

function fillRefused(): u32 {
  const report = changetype<RefusedReport>(<usize>OUT);
  report.reason = <u8>refusalDue;
  report.type = <u8>refusedType;
  report.number = <u16>refusedNumber;
  return Report.refused;
}

function fillIdentity(): u32 {
  const report = changetype<IdentityReport>(<usize>OUT);
  report.layout = <u8>LAYOUT_VERSION;
  report.firmwareMajor = board().firmwareMajor;
  report.firmwareMinor = board().firmwareMinor;
  report.firmwarePatch = board().firmwarePatch;
  report.resetReason = board().resetReason;
  report.flags = <u8>((boardWand() != 0 ? 1 : 0) | (setupDone ? 0 : 2));
  report.test = <u16>testNumber;
  // Serial number and hash lie in the same order in both.
  const serial: u32 = offsetof<Board>('serialLow');
  memory.copy(OUT + offsetof<IdentityReport>('serialLow'), BOARD + serial, offsetof<Board>() - serial);
  return Report.identity;
}

function fillState(): u32 {
  const report = changetype<StateReport>(<usize>OUT);
  report.step = <u8>step;
  report.light = <u8>light;
  report.place = <u8>lightPlace;
  report.ask = <u8>lightAsk;
  report.clipA = <u8>workA;
  report.clipB = <u8>workB;
  report.verdict = result().verdict;
  report.flags = isIdle() ? 1 : 0;
  report.logCount = <u16>logCount;
  report.acknowledged = <u16>acknowledged;
  report.touchCount = evidence().touchCount;
  report.refusedCount = <u8>refusedCount;
  report.progress_permille = <u16>progress_permille;
  return Report.state;
}

/** An entry, or the samples that must come before it. */
function fillLog(): u32 {
  const entry = logEntry(sent);
  if (sent == captureEntry && <u32>entry.kind == EntryKind.touch) {
    const head = captureHead();
    if (sampleChannel < head.channelCount) return fillSamples(head);
  }
  memory.copy(OUT, changetype<usize>(entry), offsetof<LogEntry>());
  return Report.entry;
}

function fillSamples(head: CaptureHead): u32 {
  const count = min<u32>(SAMPLES_PER_REPORT, head.sampleCount - sampleOffset);
  const report = changetype<SamplesReport>(<usize>OUT);
  report.touch = touchNumberOf(sent);
  report.channel = <u8>sampleChannel;
  report.offset = <u16>sampleOffset;
  report.count = <u8>count;
  for (let i: u32 = 0; i < count; i++) {
    const sample = load<i32>(captureSample(sampleChannel, head.stride, sampleOffset + i));
    const code = sample == OVERRANGE ? 0x800000 : sample;
    const at = OUT + offsetof<SamplesReport>() + SAMPLE_24_bytes * i;
    store<u8>(at, <u8>code);
    store<u8>(at + 1, <u8>(code >> 8));
    store<u8>(at + 2, <u8>(code >> 16));
  }
  return Report.samples;
}

/** Which touch of the test an entry is, from 0. */
function touchNumberOf(index: u32): u8 {
  let touches: u8 = 0;
  for (let i: u32 = 0; i < index; i++) {
    if (<u32>logEntry(i).kind == EntryKind.touch) touches++;
  }
  return touches;
}

function fillBlock(): u32 {
  const report = changetype<BlockReport>(<usize>OUT);
  report.region = <u8>readRegion;
  report.count = <u8>readCount;
  report.offset = <u16>readOffset;
  memory.copy(OUT + offsetof<BlockReport>(), regionAt(readRegion) + readOffset, readCount);
  return Report.block;
}

function regionAt(region: u32): u32 { return region == 0 ? EVIDENCE : region == 1 ? RESULT : region == 2 ? CALIBRATION : CAPTURE; }
function regionBytes(region: u32): u32 {
  return region == 0 ? EVIDENCE_bytes : region == 1 ? RESULT_bytes : region == 2 ? CALIBRATION_bytes : SURVEY_bytes;
}

function fillCalibrated(): u32 {
  changetype<CalibratedReport>(<usize>OUT).stored = <u8>calibrationStored;
  return Report.calibrated;
}

function fillTrace(): u32 {
  const report = changetype<TraceReport>(<usize>OUT);
  report.blocks = <u8>traceBlocks;
  report.place = <u8>lightPlace;
  report.firstBlock = <u16>traceFirst;
  memory.copy(OUT + offsetof<TraceReport>(), TRACE, traceBlocks * offsetof<TraceBlock>());
  return Report.trace;
}

/** Adds one block of listening to the live picture; the oldest is dropped when the host does not keep up. */
export function traceBlock(index: u32, channels: u32): void {
  if (!hostPresent()) return;
  if (traceBlocks == TRACE_BLOCKS_max) {
    memory.copy(TRACE, TRACE + offsetof<TraceBlock>(), (TRACE_BLOCKS_max - 1) * offsetof<TraceBlock>());
    traceBlocks--;
    traceFirst++;
  }
  if (traceBlocks == 0) traceFirst = index;
  const at = TRACE + traceBlocks * offsetof<TraceBlock>();
  traceChannel(at + offsetof<TraceBlock>('lowA'), listenSample(0, 0));
  if (channels > 1) traceChannel(at + offsetof<TraceBlock>('lowB'), listenSample(1, 0));
  else store<u32>(at, 0, offsetof<TraceBlock>('lowB'));
  traceBlocks++;
}

/** Lowest and highest sample of a block, side by side. @param samples - address of the first one */
function traceChannel(at: usize, samples: usize): void {
  let low: i32 = i32.MAX_VALUE;
  let high: i32 = i32.MIN_VALUE;
  for (let i: u32 = 0; i < LISTEN_BLOCK; i++) {
    const sample = load<i32>(samples + i * sizeof<i32>());
    if (sample < low) low = sample;
    if (sample > high) high = sample;
  }
  store<i16>(at, <i16>max<i32>(low >> 8, i16.MIN_VALUE));
  store<i16>(at, <i16>min<i32>(max<i32>(high >> 8, i16.MIN_VALUE), i16.MAX_VALUE), sizeof<i16>());
}

/** Takes a report of the host. @param length - bytes received at REPORT_IN @returns `Request` that it makes of the test */
export function takeReport(length: u32): u32 {
  link = Link.attached;
  if (length != REPORT_bytes) {
    refuse(Refusal.length, 0, 0);
    return Request.none;
  }
  const head = changetype<ReportHead>(<usize>REPORT_IN);
  const type = <u32>head.type;
  const number = <u32>head.number;
  if (<u32>head.version != REPORT_VERSION) {
    refuse(Refusal.version, type, number);
  } else if (type == Report.hello) {
    openSession(number);
  } else if (!session || number != numberIn) {
    refuse(Refusal.order, type, number);
  } else {
    numberIn = (number + 1) & 0xffff;
    const refusal = head.reserved != 0 ? <u32>Refusal.content : act(type);
    if (refusal == Refusal.none) return requestOf(type);
    refuse(refusal, type, number);
  }
  return Request.none;
}

/** What a report that was not refused asks of the test. @param type - `Report` */
function requestOf(type: u32): u32 {
  switch (type) {
    case Report.button: {
      return <u32>changetype<ButtonReport>(<usize>IN).kind == Button.press ? Request.press : Request.longPress;
    }
    case Report.acknowledge: return Request.acknowledged;
    case Report.selfTest: return Request.selfTest;
    case Report.survey: return Request.survey;
    default: return Request.none;
  }
}

function refuse(reason: u32, type: u32, number: u32): void {
  refusalDue = reason;
  refusedType = type;
  refusedNumber = number;
  if (refusedCount < 255) refusedCount++;
}

function openSession(number: u32): void {
  if (<u32>changetype<HelloReport>(<usize>IN).layout != LAYOUT_VERSION) {
    // A host of another layout is told so and who we are, and nothing else.
    refuse(Refusal.version, Report.hello, number);
    session = false;
    identityDue = true;
    return;
  }
  if (!restIsZero(offsetof<HelloReport>())) {
    refuse(Refusal.content, Report.hello, number);
    return;
  }
  session = true;
  known = true;
  numberIn = (number + 1) & 0xffff;
  numberOut = 0;
  identityDue = true;
  markState();
  readDue = false;
  calibrationTaken = 0;
  calibratedDue = false;
  traceBlocks = 0;
  rewindLog();
  rewindSamples();
}

/** Whether the payload's bytes from `used` on are 0, as reserved bytes are. */
function restIsZero(used: u32): bool {
  for (let i = used; i < PAYLOAD; i++) if (load<u8>(IN + i) != 0) return false;
  return true;
}

/** Checks an in-order report, and does what it asks of anything but the test. @returns `Refusal` */
function act(type: u32): u32 {
  switch (type) {
    case Report.setup: {
      if (!restIsZero(offsetof<SetupReport>())) return Refusal.content;
      if (!isIdle()) return Refusal.busy;
      const refusal = takeSetup(changetype<SetupReport>(<usize>IN));
      if (refusal == Refusal.none) markState();
      return refusal;
    }
    case Report.button: {
      const button = <u32>changetype<ButtonReport>(<usize>IN).kind;
      if (button != Button.press && button != Button.long) return Refusal.content;
      return restIsZero(offsetof<ButtonReport>()) ? Refusal.none : Refusal.content;
    }
    case Report.acknowledge: {
      if (!restIsZero(offsetof<AcknowledgeReport>())) return Refusal.content;
      const report = changetype<AcknowledgeReport>(<usize>IN);
      return acknowledge(report.test, report.count) ? Refusal.none : Refusal.content;
    }
    case Report.read: return takeRead();
    case Report.calibrate: return takeCalibration();
    case Report.survey: {
      const report = changetype<SurveyReport>(<usize>IN);
      const isKnown = <u32>report.what <= <u32>Survey.bleed && report.clip != 0 && <u32>report.clip <= CLIP_COUNT;
      if (!restIsZero(offsetof<SurveyReport>()) || !isKnown) return Refusal.content;
      if (!isIdle()) return Refusal.busy;
      surveyWhat = report.what;
      surveyClip = report.clip;
      return Refusal.none;
    }
    case Report.selfTest: {
      if (!restIsZero(0)) return Refusal.content;
      return isIdle() ? Refusal.none : Refusal.busy;
    }
    default: return Refusal.type;
  }
}

function takeRead(): u32 {
  const report = changetype<ReadReport>(<usize>IN);
  const region = <u32>report.region;
  const count = <u32>report.count;
  const offset = <u32>report.offset;
  if (!restIsZero(offsetof<ReadReport>()) || region > 3 || count == 0 || count > BLOCK_bytes_max) return Refusal.content;
  if (offset + count > regionBytes(region)) return Refusal.content;
  if (readDue) return Refusal.busy;
  readDue = true;
  readRegion = region;
  readCount = count;
  readOffset = offset;
  return Refusal.none;
}

/** Takes the next part of a calibration; the last one makes it be written, once all that is due has been sent. */
function takeCalibration(): u32 {
  const report = changetype<CalibrateReport>(<usize>IN);
  const count = <u32>report.count;
  const offset = <u32>report.offset;
  if (report.reserved != 0 || count == 0 || count > BLOCK_bytes_max) return Refusal.content;
  if (!restIsZero(offsetof<CalibrateReport>() + count)) return Refusal.content;
  if (offset + count > CALIBRATION_bytes || offset != 0 && offset != calibrationTaken) return Refusal.content;
  if (!isIdle()) return Refusal.busy;
  memory.copy(CALIBRATION_NEW + offset, IN + offsetof<CalibrateReport>(), count);
  calibrationTaken = offset + count;
  if (calibrationTaken == CALIBRATION_bytes) {
    stepBefore = step;
    lightBefore = light;
    storeDue = true;
    setStep(Step.storing);
    showLight(Light.busy);
  }
  return Refusal.none;
}

/** The calibration was written, or is not going to be. */
function storeEnds(): void {
  storeDue = false;
  calibrationTaken = 0;
  setStep(stepBefore);
  showLight(lightBefore);
}
