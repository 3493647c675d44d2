import {
  SENT, SENT_most, idle, logged, obey, powerOn, press, reportsSent, setStore, setTouches, setWire, step, stores,
} from './fake-board';
import {
  Button, CALIBRATION_NEW, CALIBRATION_bytes, CAPTURE, EVIDENCE_bytes, EntryKind, LAYOUT_VERSION, Link, LogEntry,
  REPORT_IN, REPORT_VERSION, REPORT_bytes, Refusal, Report, ReportHead, Light, Step, Survey,
} from '../layout';
import { onLink, onReportSent } from './ground/reports';
import { isIdle, light, step as testStep } from './ground/status';
import { acknowledged, captureHeld, logCount, sent } from './ground/log';
import { onReport } from './sequence';
import { clipMask, placeCount } from './ground/setup';

let number: u32 = 0;
let read: u32 = 0;

/** Sends one report with up to 12 bytes of payload in three words. */
function send(type: u32, a: u32 = 0, b: u32 = 0, c: u32 = 0): void {
  memory.fill(REPORT_IN, 0, REPORT_bytes);
  const head = changetype<ReportHead>(<usize>REPORT_IN);
  head.version = <u8>REPORT_VERSION;
  head.type = <u8>type;
  if (type == Report.hello) number = 0;
  head.number = <u16>number;
  number++;
  store<u32>(REPORT_IN + 8, a);
  store<u32>(REPORT_IN + 12, b);
  store<u32>(REPORT_IN + 16, c);
  onReport(REPORT_bytes);
  obey();
}

function reportType(index: u32): u32 { return load<u8>(SENT + index * REPORT_bytes + 1); }

/** Index of the next report of a type from `read` on; lets time pass until it comes. */
function awaitReport(type: u32): u32 {
  for (let i = 0; i < 4000; i++) {
    while (read < reportsSent()) {
      if (reportType(read) == type) return read++;
      read++;
    }
    if (!step()) break;
  }
  return u32.MAX_VALUE;
}

function attach(): void {
  powerOn();
  read = 0;
  onLink(Link.attached);
  send(Report.hello, LAYOUT_VERSION);
}

/** The last refusal's reason. */
function refusal(): u32 {
  const at = awaitReport(Report.refused);
  return at == u32.MAX_VALUE ? 0 : <u32>load<u8>(SENT + at * REPORT_bytes + 8);
}

describe('a session', () => {
  beforeEach(() => { attach(); });

  it('opens with identity, then state, numbered from 0', () => {
    expect<u32>(awaitReport(Report.identity)).toBe(0);
    expect<u32>(awaitReport(Report.state)).toBe(1);
    expect<u16>(load<u16>(SENT + REPORT_bytes + 2)).toBe(1);
  });
  it('sends nothing before the hello', () => {
    powerOn();
    onLink(Link.attached);
    press(Button.press);
    idle(300);
    expect<u32>(reportsSent()).toBe(0);
  });
  it('takes a setup while idle, and not while a test runs', () => {
    send(Report.setup, 0x02_02_00_0f);
    expect<u32>(clipMask).toBe(15);
    expect<u32>(placeCount).toBe(2);
    send(Report.button, Button.press);
    idle(10);
    send(Report.setup, 0x02_02_00_03);
    expect<u32>(refusal()).toBe(Refusal.busy);
    expect<u32>(clipMask).toBe(15);
  });
  it('refuses clips that do not exist, and a bare wire that is no clip', () => {
    send(Report.setup, 0x02_02_00_4f);
    expect<u32>(refusal()).toBe(Refusal.content);
    send(Report.setup, 0x02_02_10_0f);
    expect<u32>(refusal()).toBe(Refusal.content);
    send(Report.setup, 0x02_02_00_0f, 0, 0x7fc00000);
    expect<u32>(refusal()).toBe(Refusal.content);
  });
  it('refuses a read beyond the end of the block', () => {
    send(Report.read, (EVIDENCE_bytes - 40) << 16 | 48 << 8);
    expect<u32>(refusal()).toBe(Refusal.content);
    send(Report.read, (EVIDENCE_bytes - 48) << 16 | 48 << 8);
    expect<bool>(awaitReport(Report.block) != u32.MAX_VALUE).toBe(true);
  });
  it('refuses to have more acknowledged than was sent', () => {
    send(Report.button, Button.press);
    idle(60);
    send(Report.acknowledge, 1 | 200 << 16);
    expect<u32>(refusal()).toBe(Refusal.content);
    expect<u32>(acknowledged).toBe(0);
  });
});

/** Sends a part of a calibration whose n-th byte is n. */
function sendPart(offset: u32, count: u32): void {
  memory.fill(REPORT_IN, 0, REPORT_bytes);
  const head = changetype<ReportHead>(<usize>REPORT_IN);
  head.version = <u8>REPORT_VERSION;
  head.type = <u8>Report.calibrate;
  head.number = <u16>number;
  number++;
  store<u8>(REPORT_IN + 8, <u8>offset);
  store<u8>(REPORT_IN + 9, <u8>count);
  for (let i: u32 = 0; i < count; i++) store<u8>(REPORT_IN + 12 + i, <u8>(offset + i));
  onReport(REPORT_bytes);
  obey();
}

describe('a calibration', () => {
  beforeEach(() => {
    attach();
    setStore(true);
    idle(10);
  });

  it('is written once it is here whole and the host has heard so, then told, then all is as before', () => {
    const before = light;
    sendPart(0, 48);
    sendPart(48, 48);
    expect<u32>(stores).toBe(0);
    setWire(false);
    sendPart(96, 48);
    idle(10);
    expect<u32>(stores).toBe(0);
    expect<bool>(isIdle()).toBe(false);
    press(Button.press);
    expect<u32>(logCount).toBe(0);
    setWire(true);
    onReportSent();
    obey();
    const told = awaitReport(Report.calibrated);
    expect<u8>(load<u8>(SENT + told * REPORT_bytes + 8)).toBe(1);
    expect<u32>(reportType(told - 1)).toBe(Report.state);
    expect<u32>(load<u8>(SENT + (told - 1) * REPORT_bytes + 8)).toBe(Step.storing);
    expect<u32>(stores).toBe(1);
    expect<u32>(light).toBe(before);
    expect<bool>(isIdle()).toBe(true);
    for (let i: u32 = 0; i < CALIBRATION_bytes; i++) expect<u8>(load<u8>(CALIBRATION_NEW + i)).toBe(<u8>i);
  });
  it('that the board does not take is told so', () => {
    setStore(false);
    sendPart(0, 48);
    sendPart(48, 48);
    sendPart(96, 48);
    const told = awaitReport(Report.calibrated);
    expect<u8>(load<u8>(SENT + told * REPORT_bytes + 8)).toBe(0);
    expect<u32>(testStep).toBe(Step.idle);
  });
  it('is refused in the wrong order, too long, or with bytes behind its end', () => {
    sendPart(48, 48);
    expect<u32>(refusal()).toBe(Refusal.content);
    sendPart(0, 49);
    expect<u32>(refusal()).toBe(Refusal.content);
    sendPart(0, 48);
    sendPart(48, 48);
    sendPart(96, 40);
    sendPart(136, 9);
    expect<u32>(refusal()).toBe(Refusal.content);
    sendPart(96, 0);
    expect<u32>(refusal()).toBe(Refusal.content);
    expect<u32>(stores).toBe(0);
  });
  it('is refused while a test runs', () => {
    send(Report.button, Button.press);
    idle(10);
    sendPart(0, 48);
    expect<u32>(refusal()).toBe(Refusal.busy);
    expect<u32>(stores).toBe(0);
  });
  it('is not written when the cable is pulled before, and the button works', () => {
    setWire(false);
    sendPart(0, 48);
    sendPart(48, 48);
    sendPart(96, 48);
    onLink(Link.detached);
    idle(10);
    expect<u32>(stores).toBe(0);
    expect<u32>(testStep).toBe(Step.idle);
    press(Button.press);
    expect<bool>(isIdle()).toBe(false);
  });
});

describe('a survey', () => {
  beforeEach(() => { attach(); });

  it('that is refused changes nothing of the one that runs', () => {
    const rampDown: u32 = Survey.rampDown | 1 << 8;
    send(Report.survey, rampDown);
    idle(40);
    send(Report.survey, Survey.zero | 1 << 8);
    expect<u32>(refusal()).toBe(Refusal.busy);
    send(Report.survey, 9 | 1 << 8);
    expect<u32>(refusal()).toBe(Refusal.content);
    while (!isIdle() && step()) continue;
    // Its 64 cuts, where one conversion would have left volts.
    expect<u32>(load<u32>(CAPTURE)).toBe(64);
  });
});

describe('evidence on the wire', () => {
  beforeEach(() => { attach(); });

  it('is every entry of the log, in order, the capture of a touch before its entry', () => {
    send(Report.button, Button.press);
    let next: u32 = 0;
    let samples: u32 = 0;
    for (let i = 0; i < 60000 && !(isIdle() && sent == logCount && next == logCount); i++) {
      while (read < reportsSent()) {
        const at = SENT + read * REPORT_bytes;
        if (read >= SENT_most) break;
        const type = <u32>load<u8>(at + 1);
        if (type == Report.samples) samples += load<u8>(at + 12);
        if (type == Report.entry) {
          const entry = changetype<LogEntry>(<usize>(at + 8));
          expect<u16>(entry.number).toBe(<u16>next);
          if (<u32>entry.kind == EntryKind.touch) expect<u32>(samples).toBe(2 * <u32>entry.count);
          next++;
          read++;
          send(Report.acknowledge, 1 | next << 16);
          continue;
        }
        read++;
      }
      // The record of the fake board holds 700 reports: one touch is enough here.
      if (read >= SENT_most - 40) break;
      step();
    }
    expect<bool>(next > 10).toBe(true);
    expect<u32>(acknowledged).toBe(next);
  });
  it('comes again after a new hello, from the first entry that was not acknowledged', () => {
    setTouches(false);
    send(Report.button, Button.press);
    idle(400);
    send(Report.acknowledge, 1 | 4 << 16);
    onLink(Link.detached);
    idle(100);
    onLink(Link.attached);
    read = reportsSent();
    send(Report.hello, LAYOUT_VERSION);
    const first = awaitReport(Report.entry);
    expect<u16>(load<u16>(SENT + first * REPORT_bytes + 8)).toBe(4);
  });
  it('of a touch is not overwritten before the host has it', () => {
    send(Report.button, Button.press);
    let events = 0;
    while (!captureHeld() && events++ < 20000) step();
    expect<bool>(captureHeld()).toBe(true);
    // The host takes everything but confirms nothing.
    for (let i = 0; i < 12000 && light != <u32>Light.waiting; i++) step();
    expect<u32>(light).toBe(Light.waiting);
    expect<bool>(captureHeld()).toBe(true);
    press(Button.press);
    idle(60);
    expect<bool>(captureHeld()).toBe(false);
  });
  it('of a touch outlives a pulled cable, and the test goes on when the host has it', () => {
    send(Report.button, Button.press);
    for (let i = 0; i < 20000 && !captureHeld(); i++) step();
    onLink(Link.detached);
    idle(3000);
    expect<u32>(light).toBe(Light.waiting);
    expect<bool>(captureHeld()).toBe(true);
    onLink(Link.attached);
    send(Report.hello, LAYOUT_VERSION);
    for (let i = 0; i < 20000 && sent < logCount; i++) step();
    send(Report.acknowledge, 1 | logCount << 16);
    idle(60);
    expect<bool>(captureHeld()).toBe(false);
    expect<bool>(isIdle()).toBe(false);
  });
  it('waits without loss while the wire takes nothing', () => {
    setWire(false);
    press(Button.press);
    idle(400);
    expect<u32>(logged(0).kind).toBe(EntryKind.begin);
    expect<u32>(sent).toBe(0);
    expect<bool>(logCount > 5).toBe(true);
  });
});

describe('a host that floods', () => {
  it('with 20000 reports of noise changes nothing', () => {
    attach();
    let seed: u32 = 0x1f2e3d;
    for (let i = 0; i < 20000; i++) {
      for (let at: u32 = 0; at < REPORT_bytes; at += 4) {
        seed = seed * 1664525 + 1013904223;
        store<u32>(REPORT_IN + at, seed ^ (seed >> 15));
      }
      // Half of them look like ours at first sight.
      if ((seed & 1) != 0) store<u8>(REPORT_IN, 1);
      if (load<u8>(REPORT_IN) == 1 && load<u8>(REPORT_IN + 1) == 128) continue;
      onReport((seed & 14) == 0 ? seed % 65 : REPORT_bytes);
      obey();
      if (i % 16 == 0) step();
    }
    expect<bool>(isIdle()).toBe(true);
    expect<u32>(logCount).toBe(0);
    send(Report.hello, LAYOUT_VERSION);
    read = min<u32>(reportsSent(), 600);
    expect<bool>(isIdle()).toBe(true);
  });
});
