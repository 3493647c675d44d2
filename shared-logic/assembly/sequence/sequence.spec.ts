import {
  answers, conversion_us, conversions, driveCommands, evidenceSum, hastyConversions, idle, isSafe, lastLight, logged, loseArrival,
  now_us, powerOn, press, runTest, setAnswers, setBurstStatus, setConvertStatus, setHold, setListenStatus, setLive, setLost, setOhm,
  setThermal, setTouches, step, unsafeMoves,
} from './fake-board';
import { boardState, calibration, coilResult, evidence, result } from '../blocks';
import {
  Button, Calibrated, EntryFlag, EntryKind, Light, LogEntry, Note, REPORT_IN, REPORT_bytes, ReportHead, SetupReport, Status, Step,
} from '../layout';
import { logCount } from './ground/log';
import { takeSetup } from './ground/setup';
import { isIdle, step as testStep } from './ground/status';

const EVENTS: u32 = 20000;

function countKind(kind: u32): u32 {
  let n: u32 = 0;
  for (let i: u32 = 0; i < logCount; i++) if (<u32>logged(i).kind == kind) n++;
  return n;
}

function hasNote(note: u32): bool {
  for (let i: u32 = 0; i < logCount; i++) if (<u32>logged(i).kind == EntryKind.note && <u32>logged(i).a == note) return true;
  return false;
}

function lastKind(): u32 { return logCount == 0 ? 0 : logged(logCount - 1).kind; }

/** First finite reading of a pair, ohms. */
function reading(a: u32, b: u32): f32 {
  for (let i: u32 = 0; i < logCount; i++) {
    const e = logged(i);
    if (<u32>e.kind == EntryKind.resistance && <u32>e.a == a && <u32>e.b == b && (e.flags & <u8>EntryFlag.open) == 0) return e.v0;
  }
  return -1;
}

/** Begins a test of a board whose ohms were calibrated on one day, on another. @returns its first entry */
function beginOn(ohmDay: u32, day: u32, state: u32): LogEntry {
  powerOn();
  boardState().calibrated = <u8>state;
  calibration().ohmDay = <u16>ohmDay;
  const setup = changetype<SetupReport>(<usize>(REPORT_IN + offsetof<ReportHead>()));
  memory.fill(REPORT_IN, 0, REPORT_bytes);
  setup.clipMask = 15;
  setup.placeCount = 2;
  setup.today = <u16>day;
  expect<u32>(takeSetup(setup)).toBe(0);
  press(Button.press);
  for (let i = 0; i < 1000 && logCount == 0; i++) step();
  return logged(0);
}

describe('a test that was broken off', () => {
  it('leaves no reading to the next one, though its polarities disagreed', () => {
    powerOn();
    press(Button.press);
    while (<u32>testStep != Step.resistance && step()) continue;
    // What reads otherwise from here on is no zero of the converter.
    setThermal(<f32>0.01);
    const before = conversions;
    while (conversions < before + 3 && step()) continue;
    press(Button.long);
    while (!isIdle() && step()) continue;
    setThermal(0);
    setOhm(1, 2, 8000);
    runTest(EVENTS);
    for (let i: u32 = 0; i < logCount; i++) {
      const e = logged(i);
      if (<u32>e.kind != EntryKind.resistance || <u32>e.a != 1 || <u32>e.b != 2 || (e.flags & <u8>EntryFlag.open) != 0) continue;
      expect<bool>(abs<f32>(e.v0 - 8000) < 50).toBe(true);
    }
    expect<bool>(abs<f32>(reading(1, 2) - 8000) < 50).toBe(true);
  });
});

describe('the calibration of ohms', () => {
  it('holds for a year, then counts as old and as worth less', () => {
    const young = beginOn(1000, 1366, Calibrated.good);
    expect<f32>(young.v1).toBe(<f32>Calibrated.good);
    expect<f32>(young.v2).toBe(<f32>0.0003);
    const old = beginOn(1000, 1367, Calibrated.good);
    expect<f32>(old.v1).toBe(<f32>Calibrated.old);
    // JCGM 100:2008, 5.1.2: the two add in squares.
    expect<bool>(abs<f32>(old.v2 - <f32>Math.sqrt(0.0003 * 0.0003 + 0.0002 * 0.0002)) < <f32>1e-8).toBe(true);
    expect<u32>(evidence().calibrated).toBe(Calibrated.old);
  });
  it('is not old where nobody says the day, or the day lies before it', () => {
    expect<f32>(beginOn(1000, 0, Calibrated.good).v1).toBe(<f32>Calibrated.good);
    expect<f32>(beginOn(1000, 900, Calibrated.good).v1).toBe(<f32>Calibrated.good);
  });
  it('is missing where the page has other steps only, and what the board says else', () => {
    expect<f32>(beginOn(0, 2000, Calibrated.good).v1).toBe(<f32>Calibrated.missing);
    expect<f32>(beginOn(0, 2000, Calibrated.corrupt).v1).toBe(<f32>Calibrated.corrupt);
    expect<f32>(beginOn(1, 2000, Calibrated.missing).v1).toBe(<f32>Calibrated.missing);
  });
  it('takes the leads off each reading, and widens it by what they are known to', () => {
    powerOn();
    runTest(EVENTS);
    const before = reading(1, 2);
    powerOn();
    calibration().zero1_ohm = <f32>0.5;
    calibration().zero2_ohm = <f32>0.25;
    calibration().zero3_ohm = 100;
    calibration().zero_u_ohm = 3;
    runTest(EVENTS);
    expect<bool>(abs<f32>(before - reading(1, 2) - <f32>0.75) < <f32>0.001).toBe(true);
    for (let i: u32 = 0; i < logCount; i++) {
      const e = logged(i);
      if (<u32>e.kind == EntryKind.resistance && (e.flags & <u8>EntryFlag.open) == 0) expect<bool>(e.v1 > 3).toBe(true);
    }
  });
});

describe('a whole test without a host', () => {
  beforeEach(() => { powerOn(); });

  it('begins at the button and ends with an end', () => {
    expect<u32>(lastLight & 255).toBe(Light.ready);
    expect<bool>(runTest(EVENTS) < EVENTS).toBe(true);
    expect<bool>(isIdle()).toBe(true);
    expect<u32>(logged(0).kind).toBe(EntryKind.begin);
    expect<u32>(lastKind()).toBe(EntryKind.end);
    expect<u32>(testStep).toBe(Step.done);
  });
  it('reads both coils within their uncertainty, and opens between them', () => {
    runTest(EVENTS);
    expect<bool>(abs<f32>(reading(1, 2) - 4000) < 1).toBe(true);
    expect<bool>(abs<f32>(reading(3, 4) - 4200) < 1).toBe(true);
    expect<f32>(reading(1, 3)).toBe(-1);
  });
  it('finds 2 H in each coil and 0.15 H between them', () => {
    runTest(EVENTS);
    expect<u32>(countKind(EntryKind.inductance)).toBe(2);
    expect<u32>(countKind(EntryKind.coupling)).toBe(1);
    for (let i: u32 = 0; i < logCount; i++) {
      const e = logged(i);
      if (<u32>e.kind == EntryKind.inductance) expect<bool>(abs<f32>(e.v0 - 2) < <f32>0.03).toBe(true);
      if (<u32>e.kind == EntryKind.coupling) expect<bool>(abs<f32>(e.v0 - <f32>0.15) < <f32>0.005).toBe(true);
    }
  });
  it('hears each coil ring, the other one shorted, with all capacitance in two entries', () => {
    runTest(EVENTS);
    expect<u32>(countKind(EntryKind.ring)).toBe(2);
    expect<u32>(countKind(EntryKind.ringCapacitance)).toBe(2);
    for (let i: u32 = 0; i < logCount; i++) {
      const e = logged(i);
      if (<u32>e.kind == EntryKind.ring) {
        expect<u32>(e.c).toBe(e.a <= 2 ? 0x0c : 0x03);
        // w0 of e^(-6000 t) and 5.3 kHz together.
        expect<bool>(abs<f32>(e.v0 / <f32>5385.3 - 1) < <f32>2e-3).toBe(true);
      }
      if (<u32>e.kind == EntryKind.ringCapacitance) expect<bool>((e.flags & <u8>EntryFlag.totalKnown) != 0).toBe(true);
    }
  });
  it('asks for each place once and shows a verdict', () => {
    runTest(EVENTS);
    expect<u32>(countKind(EntryKind.touch)).toBe(2);
    expect<u32>(lastLight & 255).toBe(Light.good);
  });
  it('never moves a switch under current, nor converts before it has settled', () => {
    runTest(EVENTS);
    expect<u32>(unsafeMoves).toBe(0);
    expect<u32>(hastyConversions).toBe(0);
    idle(5);
    expect<bool>(isSafe()).toBe(true);
  });
  it('takes the same course every time', () => {
    runTest(EVENTS);
    const first = evidenceSum();
    const time = now_us;
    powerOn();
    runTest(EVENTS);
    expect<u32>(evidenceSum()).toBe(first);
    expect<i64>(now_us).toBe(time);
  });
  it('runs a second test as well as the first', () => {
    runTest(EVENTS);
    const entries = logCount;
    runTest(EVENTS);
    expect<u32>(logCount).toBe(entries);
    expect<u32>(lastLight & 255).toBe(Light.good);
  });
});

describe('a live voltage', () => {
  beforeEach(() => { powerOn(); });

  it('of 0.4 V is told and nothing is driven, ever', () => {
    setLive(<f32>0.4);
    runTest(EVENTS);
    expect<u32>(driveCommands).toBe(0);
    expect<u32>(countKind(EntryKind.live)).toBe(1);
    expect<bool>(abs<f32>(logged(1).v0 - <f32>0.4) < <f32>0.001).toBe(true);
    expect<u32>(lastLight & 255).toBe(Light.fault);
  });
  it('of 21 mV is found, of 19 mV not', () => {
    setLive(<f32>0.021);
    runTest(EVENTS);
    expect<u32>(countKind(EntryKind.live)).toBe(1);
    powerOn();
    setLive(<f32>0.019);
    runTest(EVENTS);
    expect<u32>(countKind(EntryKind.live)).toBe(0);
  });
  it('that comes in the middle ends the test with the current off', () => {
    press(Button.press);
    while (!isIdle() && driveCommands < 6) step();
    setLive(1);
    for (let i = 0; i < 2000 && !isIdle(); i++) step();
    expect<bool>(isIdle()).toBe(true);
    expect<u32>(countKind(EntryKind.live)).toBe(1);
    idle(5);
    expect<bool>(isSafe()).toBe(true);
    expect<u32>(unsafeMoves).toBe(0);
  });
});

describe('a test that is broken off', () => {
  it('is safe and keeps a usable record at whatever event the long press comes', () => {
    for (let at: u32 = 1; at < 700; at += 23) {
      powerOn();
      press(Button.press);
      for (let i: u32 = 0; i < at && !isIdle(); i++) step();
      if (isIdle()) break;
      press(Button.long);
      expect<bool>(isIdle()).toBe(true);
      idle(5);
      expect<bool>(isSafe()).toBe(true);
      expect<u32>(unsafeMoves).toBe(0);
      expect<u32>(testStep).toBe(Step.cancelled);
      expect<u32>(lastKind()).toBe(EntryKind.end);
    }
  });
  it('before its first entry leaves an end all the same', () => {
    powerOn();
    press(Button.press);
    press(Button.long);
    expect<bool>(isIdle()).toBe(true);
    expect<bool>(isSafe()).toBe(true);
  });
});

describe('a board that fails', () => {
  beforeEach(() => { powerOn(); });

  it('with a converter that never answers is noted, with the current off', () => {
    press(Button.press);
    while (driveCommands < 3) step();
    setAnswers(false);
    idle(200);
    expect<bool>(isIdle()).toBe(true);
    expect<bool>(hasNote(Note.converterFailed)).toBe(true);
    expect<bool>(isSafe()).toBe(true);
    expect<bool>(answers).toBe(false);
  });
  it('with a bad status on every conversion ends before anything is driven', () => {
    setConvertStatus(Status.bad);
    runTest(EVENTS);
    expect<bool>(hasNote(Note.converterFailed)).toBe(true);
    expect<u32>(driveCommands).toBe(0);
  });
  it('with captures that overrun says so', () => {
    setBurstStatus(Status.overrun);
    runTest(EVENTS);
    expect<bool>(hasNote(Note.captureOverrun)).toBe(true);
    expect<u32>(driveCommands).toBe(0);
  });
  it('with listening that overruns gives each ask up after three more tries', () => {
    setListenStatus(Status.overrun);
    expect<bool>(runTest(EVENTS) < EVENTS).toBe(true);
    expect<bool>(hasNote(Note.captureOverrun)).toBe(true);
    expect<u32>(countKind(EntryKind.touch)).toBe(0);
    expect<bool>(reading(1, 2) > 3999).toBe(true);
  });
});

describe('a person', () => {
  beforeEach(() => { powerOn(); });

  it('who does not come is waited for: after a minute with everything off, until the button asks again', () => {
    setTouches(false);
    press(Button.press);
    for (let i: u32 = 0; i < EVENTS && testStep != <u32>Step.asleep; i++) step();
    expect<u32>(testStep).toBe(Step.asleep);
    expect<bool>(isSafe()).toBe(true);
    expect<u32>(lastLight & 255).toBe(Light.touch);
    const slept_us = now_us;
    idle(100);
    expect<u32>(testStep).toBe(Step.asleep);
    expect<bool>(hasNote(Note.timedOut)).toBe(false);
    setTouches(true);
    press(Button.press);
    for (let i: u32 = 0; i < EVENTS && !isIdle(); i++) step();
    expect<u32>(countKind(EntryKind.touch)).toBe(2);
    expect<u32>(lastLight & 255).toBe(Light.good);
    expect<bool>(slept_us > 60000000).toBe(true);
  });
  it('whose touches are not heard, and who says so by the button, is asked four times for each place at most', () => {
    setTouches(false);
    press(Button.press);
    let asked_us = now_us;
    let before = lastLight;
    for (let i: u32 = 0; i < EVENTS && !isIdle(); i++) {
      step();
      if (lastLight != before) asked_us = now_us;
      before = lastLight;
      if ((lastLight & 255) == Light.touch && now_us > asked_us + 10500000) press(Button.press);
    }
    expect<bool>(isIdle()).toBe(true);
    expect<bool>(countKind(EntryKind.touch) >= 2).toBe(true);
    expect<bool>(countKind(EntryKind.touch) <= 8).toBe(true);
    expect<bool>(hasNote(Note.asksExhausted)).toBe(true);
    expect<bool>((lastLight & 255) != Light.good).toBe(true);
  });
  it('who holds the steel for 2 s is asked to lift it, and touches each place once', () => {
    setHold(2);
    let lifts = 0;
    press(Button.press);
    for (let i: u32 = 0; i < EVENTS && !isIdle(); i++) {
      const before = lastLight & 255;
      step();
      if (before != Light.lift && (lastLight & 255) == Light.lift) lifts++;
    }
    expect<i32>(lifts).toBe(2);
    expect<u32>(countKind(EntryKind.touch)).toBe(2);
    expect<u32>(lastLight & 255).toBe(Light.good);
  });
  it('whose arrival is lost is asked again: a departure alone counts for nothing', () => {
    loseArrival();
    runTest(EVENTS);
    expect<bool>(hasNote(Note.timedOut)).toBe(true);
    expect<u32>(countKind(EntryKind.touch)).toBe(2);
    expect<u32>(lastLight & 255).toBe(Light.good);
    const coils = result().coilCount;
    expect<u32>(coils).toBe(2);
    for (let i: u32 = 0; i < coils; i++) {
      const coil = coilResult(i);
      expect<bool>(coil.plus == 2 || coil.plus == 4).toBe(true);
    }
  });
  it('who presses at an ask goes on without it', () => {
    setTouches(false);
    press(Button.press);
    let presses = 0;
    for (let i: u32 = 0; i < EVENTS && !isIdle(); i++) {
      step();
      if ((lastLight & 255) == Light.touch && testStep == <u32>Step.listening) {
        press(Button.press);
        presses++;
      }
    }
    expect<bool>(isIdle()).toBe(true);
    expect<bool>(presses >= 2).toBe(true);
    expect<bool>(now_us < 30000000).toBe(true);
  });
});

describe('a lead without contact', () => {
  beforeEach(() => { powerOn(); });

  it('during the precise reading of its pair gives readings that disagree', () => {
    setLost(2, 1250000, 1500000);
    runTest(EVENTS);
    let open = 0;
    let closed = 0;
    for (let i: u32 = 0; i < logCount; i++) {
      const e = logged(i);
      if (<u32>e.kind != EntryKind.resistance || <u32>e.a != 1 || <u32>e.b != 2) continue;
      if ((e.flags & <u8>EntryFlag.open) != 0) open++;
      else closed++;
    }
    expect<bool>(open > 0).toBe(true);
    expect<bool>(closed > 0).toBe(true);
    expect<u32>(lastLight & 255).toBe(Light.fault);
  });
  it('for the rest of the test leaves a record and a verdict that is not good', () => {
    setLost(2, 1400000, 1000000000);
    expect<bool>(runTest(EVENTS) < EVENTS).toBe(true);
    expect<u32>(lastKind()).toBe(EntryKind.end);
    expect<bool>((lastLight & 255) != Light.good).toBe(true);
  });
});

describe('a warm joint at a clip', () => {
  beforeEach(() => { powerOn(); });

  it('of 0.4 to 10 mV drops out of the mean of both polarities, and is no lost contact', () => {
    for (let n = 0; n < 3; n++) {
      powerOn();
      setThermal(n == 0 ? <f32>4e-4 : n == 1 ? <f32>3e-3 : <f32>-1e-2);
      runTest(EVENTS);
      for (let i: u32 = 0; i < logCount; i++) {
        const e = logged(i);
        if (<u32>e.kind == EntryKind.resistance && <u32>e.a == 1 && <u32>e.b == 2) expect<bool>(abs<f32>(e.v0 - 4000) < 1).toBe(true);
      }
      expect<u32>(lastLight & 255).toBe(Light.good);
    }
  });
});

describe('clips that are joined or alone', () => {
  beforeEach(() => { powerOn(); });

  it('read a joint of 0.4 ohm as such', () => {
    setOhm(2, 3, <f32>0.4);
    setOhm(1, 3, <f32>4000.4);
    setOhm(2, 4, <f32>4200.4);
    setOhm(1, 4, <f32>8200.4);
    runTest(EVENTS);
    expect<bool>(abs<f32>(reading(2, 3) - <f32>0.4) < <f32>0.1).toBe(true);
    expect<bool>(abs<f32>(reading(1, 4) - <f32>8200.4) < 1).toBe(true);
  });
  it('end without an ask when nothing is connected', () => {
    setOhm(1, 2, 0);
    setOhm(3, 4, 0);
    runTest(EVENTS);
    expect<u32>(countKind(EntryKind.touch)).toBe(0);
    expect<u32>(lastKind()).toBe(EntryKind.end);
    expect<bool>(evidence().inductanceCount == 0).toBe(true);
  });
  it('read a leak of 20 megohm between two coils', () => {
    setOhm(1, 3, 2e7);
    runTest(EVENTS);
    expect<bool>(abs<f32>(reading(1, 3) - 2e7) < 5e5).toBe(true);
  });
});

describe('the time of the electrical part', () => {
  it('of four clips in use is at most 1.5 times the conversions, and 0.35 s for the ring of each coil', () => {
    powerOn();
    press(Button.press);
    while (testStep != <u32>Step.askTouch) step();
    const rings: f64 = 350000 * <f64>evidence().ringCount;
    expect<bool>((<f64>now_us - rings) / <f64>conversion_us < 1.5).toBe(true);
  });
});
