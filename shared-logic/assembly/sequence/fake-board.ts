/**
 * A board for the specs: acts on the commands that the recording board (as-pect.config.js) wrote down, in simulated
 * time, over a table of resistances. It also watches the order of things that physics.md 8 calls safe.
 */
import { board, calibration, listenSample, logEntry } from '../blocks';
import {
  BURST_A, BURST_B, BURST_X1, Button, CALIBRATION, CLIP_COUNT, EVIDENCE, EVIDENCE_bytes, Input, LISTEN_BLOCK, Light, LogEntry,
  MEMORY_bytes, SAMPLE_V, Status,
} from '../layout';
import { pairOf } from '../clip-pairs';
import { onReportSent } from './ground/reports';
import { onBurst, onButton, onConversion, onSamples, onTime, start } from './sequence';
import { isIdle } from './ground/status';

/** Behind the module's memory. */
const ANSWERS: u32 = MEMORY_bytes;
const OHMS: u32 = 196640;
const RECORD: u32 = 200704;
/** Reports that were sent, in order, 64 bytes each. */
export const SENT: u32 = 212992;
/** Reports that are kept. */
export const SENT_most: u32 = 700;
const NEVER: i64 = i64.MAX_VALUE;
/** The drive switch in a word. */
const DRIVE_NIBBLE: u32 = 15 << 24;
const TWO_PI: f64 = 6.283185307179586;

// What the board is told.
let word: u32 = 0;
let current_nA: u32 = 0;
let light: u32 = 0;
// What comes next, microseconds.
export let now_us: i64 = 0;
let wake_us: i64 = NEVER;
let convert_us: i64 = NEVER;
let convertInput: u32 = 0;
let burst_us: i64 = NEVER;
let burstCount: u32 = 0;
let burstLead: u32 = 0;
let burstWord: u32 = 0;
let burstX1: bool = false;
let block_us: i64 = NEVER;
let blockStart_us: i64 = 0;
let sent_us: i64 = NEVER;
let touch_us: i64 = NEVER;
let touchPlace: u32 = 0;
let touched: u32 = 0;
let wire: bool = true;

// What the spec sets.
/** Live voltage between clips 1 and 2. */
export let live_V: f32 = 0;
/** Thermal voltage at clip 1, which no look sees: below the guard's threshold. */
export let thermal_V: f32 = 0;
/** Conversions and bursts end with this from now on; captures of listening too. */
export let convertStatus: u32 = Status.ok;
export let burstStatus: u32 = Status.ok;
export let listenStatus: u32 = Status.ok;
/** Whether a conversion is answered at all. */
export let answers: bool = true;
/** Clip without contact between two times. */
export let lostClip: u32 = 0;
export let lostFrom_us: i64 = 0;
export let lostTo_us: i64 = 0;
/** Whether the person touches when asked, and how long the steel stays. */
export let touches: bool = true;
export let hold_s: f64 = 0.3;
/** Of the first touch only the departure comes through: the lead had no contact before. */
export let arrivalLost: bool = false;

// What the board has seen.
/** Calibrations that the board was told to write. */
export let stores: u32 = 0;
export let driveCommands: u32 = 0;
export let conversions: u32 = 0;
export let conversion_us: i64 = 0;
/** Switches that moved with the current on, or less than 5 ms after it. */
export let unsafeMoves: u32 = 0;
/** Conversions begun less than 6 ms after a drive or move with current (25 ms at 10 uA; tests/physics/settling.test.ts). */
export let hastyConversions: u32 = 0;
export let lastLight: u32 = 0;
let driveOff_us: i64 = 0;
let moved_us: i64 = 0;

/** Reports that the board took so far. */
export function reportsSent(): u32 { return load<u32>(ANSWERS + 8); }

/** Sets one condition of the bench. */
export function setLive(volt_V: f32): void { live_V = volt_V; }
export function setThermal(volt_V: f32): void { thermal_V = volt_V; }
export function setConvertStatus(status: u32): void { convertStatus = status; }
export function setBurstStatus(status: u32): void { burstStatus = status; }
export function setListenStatus(status: u32): void { listenStatus = status; }
export function setAnswers(on: bool): void { answers = on; }
export function setTouches(on: bool): void { touches = on; }
export function setHold(time_s: f64): void { hold_s = time_s; }
export function loseArrival(): void { arrivalLost = true; }
export function setLost(clip: u32, from_us: i64, to_us: i64): void {
  lostClip = clip;
  lostFrom_us = from_us;
  lostTo_us = to_us;
}
/** Whether the wire takes reports. */
export function setWire(on: bool): void {
  wire = on;
  store<i32>(ANSWERS, on ? 1 : 0);
}

/** Whether the board takes the calibration that is handed over. */
export function setStore(taken: bool): void { store<i32>(ANSWERS + 12, taken ? 1 : 0); }

/** Resistance between two clips; 0 ohm means open. */
export function setOhm(a: u32, b: u32, ohm: f32): void { store<f32>(OHMS + pairOf(a, b) * 4, ohm); }

/** Everything as after power-on, two coils of 4000 and 4200 ohm on clips 1-2 and 3-4. */
export function powerOn(): void {
  memory.fill(CALIBRATION, 0, MEMORY_bytes - CALIBRATION);
  memory.fill(ANSWERS, 0, SENT - ANSWERS);
  setWire(true);
  setOhm(1, 2, 4000);
  setOhm(3, 4, 4200);
  board().reference_ohm = 2000;
  board().reference_u = 0.0003;
  board().wand_T_per_V = 0.1;
  board().step_V = 1.8;
  board().code_V = 2.98023223876953125e-7;
  board().temperature_V25 = 0.75;
  board().temperature_V_per_K = 0.01;
  calibration().wide1 = calibration().wide2 = calibration().wide3 = calibration().wide4 = 8.9;
  word = 0;
  current_nA = 0;
  light = 0;
  now_us = 0;
  wake_us = convert_us = burst_us = block_us = sent_us = touch_us = NEVER;
  live_V = 0;
  thermal_V = 0;
  convertStatus = burstStatus = listenStatus = Status.ok;
  answers = true;
  lostClip = 0;
  touches = true;
  hold_s = 0.3;
  arrivalLost = false;
  touched = 0;
  stores = driveCommands = conversions = unsafeMoves = hastyConversions = 0;
  conversion_us = moved_us = 0;
  driveOff_us = -5000;
  start();
  obey();
}

/** Does what was commanded since the last event. */
export function obey(): void {
  const count = load<u32>(RECORD);
  for (let i: u32 = 0; i < count; i++) {
    const at = RECORD + 4 + 16 * i;
    command(load<u32>(at), load<u32>(at + 4), load<u32>(at + 8), load<u32>(at + 12));
  }
  store<u32>(RECORD, 0);
}

function command(kind: u32, a: u32, b: u32, c: u32): void {
  switch (kind) {
    case 1: {
      // The one exception: the source that a burst has cut off is put back, no clip's switch moves.
      const putBack = current_nA == 0 && muxThrow(6, word) == 0 && ((a ^ word) & ~DRIVE_NIBBLE) == 0;
      if (a != word && !putBack && (current_nA != 0 || now_us - driveOff_us < 5000)) unsafeMoves++;
      word = a;
      moved_us = now_us;
      // A burst that is under way ends here: its step will not come.
      burst_us = NEVER;
      break;
    }
    case 2: {
      if (a == 0 && current_nA != 0) driveOff_us = now_us;
      if (a != 0) driveCommands++;
      current_nA = a;
      moved_us = now_us;
      break;
    }
    case 3: {
      const settle: i64 = current_nA == 10000 ? 25000 : 6000;
      if (current_nA != 0 && now_us - moved_us < settle) hastyConversions++;
      const duration: i64 = b == 0 ? 56500 : 2900;
      convertInput = a;
      convert_us = answers ? now_us + duration : NEVER;
      conversions++;
      conversion_us += duration;
      break;
    }
    case 4: {
      burstCount = a;
      burstLead = b & ~BURST_X1;
      burstX1 = (b & BURST_X1) != 0;
      burstWord = c;
      burst_us = now_us + <i64>a * 1000 / 120;
      break;
    }
    case 5: {
      block_us = a != 0 ? now_us + 10000 : NEVER;
      blockStart_us = now_us;
      break;
    }
    case 6: wake_us = a == 0 ? NEVER : now_us + <i64>a; break;
    case 7: {
      lastLight = a;
      if ((a & 255) == Light.touch && touches) {
        touch_us = now_us + 400000;
        touched++;
        touchPlace = (a >> 8) & 255;
      }
      break;
    }
    case 9: stores++; break;
    default: sent_us = now_us + 1000;
  }
}

/** Plays the next event. @returns false when nothing is to come */
export function step(): bool {
  const next = min<i64>(min<i64>(min<i64>(wake_us, convert_us), min<i64>(burst_us, block_us)), sent_us);
  if (next == NEVER) return false;
  now_us = max<i64>(now_us, next);
  if (next == sent_us) {
    sent_us = NEVER;
    if (wire) store<i32>(ANSWERS, 1);
    onReportSent();
  } else if (next == convert_us) {
    convert_us = NEVER;
    const volts = inputVolts();
    const code = <i32>(volts / board().code_V);
    onConversion(code, abs<f32>(volts) >= 2.5 && convertStatus == Status.ok ? <u32>Status.overrange : convertStatus);
  } else if (next == burst_us) {
    burst_us = NEVER;
    fillBurst();
    onBurst(burstStatus);
  } else if (next == block_us) {
    fillBlock();
    blockStart_us = now_us;
    block_us = now_us + 10000;
    onSamples(listenStatus);
  } else {
    wake_us = NEVER;
    onTime();
  }
  obey();
  return true;
}

/** Presses the button and lets the test run. @param most - events at most @returns events played until it ended */
export function runTest(most: u32): u32 {
  press(Button.press);
  let events: u32 = 0;
  while (!isIdle() && events < most && step()) events++;
  return events;
}

/** The person's finger. */
export function press(kind: u32): void {
  onButton(kind);
  obey();
}

/** Lets time pass with nothing else to do. */
export function idle(events: u32): void {
  for (let i: u32 = 0; i < events; i++) if (!step()) return;
}

/** The n-th entry of the log. */
export function logged(index: u32): LogEntry { return logEntry(index); }

/** Whether no current flows and no switch is closed. */
export function isSafe(): bool { return current_nA == 0 && word == 0; }

/** Sum over the evidence, to see that it changed or did not. */
export function evidenceSum(): u32 {
  let sum: u32 = 0;
  for (let i: u32 = 0; i < EVIDENCE_bytes; i += 4) sum = sum * 31 + load<u32>(EVIDENCE + i);
  return sum;
}

// ---------------------------------------------------------------- the pickup

function muxThrow(mux: u32, of32: u32): u32 {
  const nibble = (of32 >> (4 * mux)) & 15;
  return nibble >= 8 ? nibble - 7 : 0;
}

/** Ohms between two clips, 0 when there is no path. */
function path(a: u32, b: u32): f32 {
  if (a == 0 || b == 0 || a > CLIP_COUNT || b > CLIP_COUNT) return 0;
  if ((a == lostClip || b == lostClip) && a != b && now_us >= lostFrom_us && now_us < lostTo_us) return 0;
  return a == b ? 1e-3 : load<f32>(OHMS + pairOf(a, b) * 4);
}

function inputVolts(): f32 {
  if (convertInput == Input.boardTemperature) return 0.72;
  if (convertInput != Input.port) return 0;
  const a = muxThrow(0, word);
  const b = muxThrow(1, word);
  const plus = muxThrow(2, word);
  const minus = muxThrow(3, word);
  const drive = muxThrow(6, word);
  const back = muxThrow(7, word);
  const ohm = path(a, b);
  if (drive == 1 && back == 1) {
    const current_A: f32 = <f32>current_nA * <f32>1e-9;
    if (current_A == 0) return 2e-5;
    if (plus == 7) return (ohm > 0 ? current_A * 2000 : 0) + <f32>2e-5;
    if (ohm == 0) return 2.5;
    const warm = plus == 1 ? thermal_V : minus == 1 ? -thermal_V : <f32>0;
    return (plus == a ? 1 : -1) * current_A * ohm + warm + <f32>2e-5;
  }
  if (back == 2 && drive != 4) {
    const sign: f32 = drive == 2 ? 1.8 : -1.8;
    return ohm > 0 ? sign * 1e6 / (1e6 + 3440 + ohm) : 0;
  }
  if (drive == 4 && back == 4) return (a == 1 && b == 2) ? live_V : a == 2 && b == 1 ? -live_V : 0;
  // The end of a step: the reference with the voltage drive still on.
  return plus == 7 ? stepCurrent_A(word, 1) * 2000 : 0;
}

const COIL_H: f32 = 2;
const MUTUAL_H: f32 = 0.15;

/** Current of a step a time after it; of 2 H in series with everything. */
function stepCurrent_A(of32: u32, time_s: f32): f32 {
  const drive = muxThrow(6, of32);
  const ohm = path(muxThrow(0, of32), muxThrow(1, of32));
  if (ohm == 0 || (drive != 2 && drive != 3)) return 0;
  const total = ohm + 5450;
  return (drive == 2 ? <f32>1.8 : <f32>-1.8) / total * (1 - Mathf.exp(-time_s * total / COIL_H));
}

/** What the 12-bit converter makes of a voltage: between its wide codes the gain is 1024/1015.1 (inductance.ts). */
function raw(volts: f32): i32 {
  const code: f32 = abs<f32>(volts) < <f32>0.1787 ? 96 : 768;
  const size: f32 = abs<f32>(volts) / SAMPLE_V / code;
  let told: f32 = size * <f32>1.0087676;
  if (size > <f32>507.55) told = size < <f32>516.45 ? 512 : 512 + (size - <f32>516.45) * <f32>1.0087676;
  return <i32>((volts < 0 ? <f32>-1 : <f32>1) * told * code);
}

function fillBurst(): void {
  const plus = muxThrow(2, word);
  const closed = muxThrow(6, word) == 4 && muxThrow(7, word) == 4 && muxThrow(0, word) == 1 && muxThrow(1, word) == 2;
  const live = <i32>((closed ? live_V : <f32>0) / SAMPLE_V);
  for (let i: u32 = 0; i < burstCount; i++) {
    store<i32>(BURST_A + i * 4, burstX1 && current_nA != 0 ? ringing(i) : live);
    let volts: f32 = 0;
    if (i >= burstLead && burstWord != word) {
      const time_s: f32 = (<f32>(i - burstLead) + <f32>0.5) / 120000;
      if (plus == 7) {
        volts = stepCurrent_A(burstWord, time_s) * 2000;
      } else {
        const now_A = stepCurrent_A(burstWord, time_s + <f32>1e-6);
        volts = MUTUAL_H * (now_A - stepCurrent_A(burstWord, time_s - <f32>1e-6)) * 5e5;
      }
    }
    store<i32>(BURST_B + i * 4, raw(volts));
  }
  if (burstWord != word) word = burstWord;
}

/** A coil of 4 kilohm whose 10 uA are cut: 5.3 kHz, dying within a third of a millisecond. */
function ringing(at: u32): i32 {
  const rest_V: f64 = 0.065;
  if (at <= burstLead) return raw(<f32>rest_V);
  const t: f64 = <f64>(at - burstLead) / 120000;
  const swing = rest_V * Math.cos(TWO_PI * 5300 * t) - 0.75 * Math.sin(TWO_PI * 5300 * t);
  return <i32>(swing * Math.exp(-6000 * t) / SAMPLE_V / 768) * 768;
}

/** Steel on a place: 1 mWb raised cosine of 5 ms, held, off in 8 ms; place 0 is the coil on clips 1-2, plus at 2. */
function touchFlux_V(time_us: i64): f32 {
  const since = time_us - touch_us;
  if (touch_us == NEVER || since < 0) return 0;
  const t = <f64>since * 1e-6;
  if (t < 0.005) return arrivalLost && touched == 1 ? 0 : <f32>(1e-3 * Math.PI / 0.01 * Math.sin(Math.PI * t / 0.005));
  const out = t - 0.005 - hold_s;
  return out < 0 || out > 0.008 ? 0 : <f32>(-1e-3 * Math.PI / 0.016 * Math.sin(Math.PI * out / 0.008));
}

function fillBlock(): void {
  const a = muxThrow(0, word);
  const b = muxThrow(2, word);
  for (let i: u32 = 0; i < LISTEN_BLOCK; i++) {
    const at = blockStart_us + <i64>i * 100;
    const flux = touchFlux_V(at);
    const hum = <f32>(0.002 * Math.sin(TWO_PI * 50 * <f64>at * 1e-6));
    store<i32>(listenSample(0, i), <i32>((flux * share(a) + hum) / SAMPLE_V));
    store<i32>(listenSample(1, i), <i32>((flux * share(b) + hum) / SAMPLE_V));
  }
}

/** What the coil with its plus lead on a clip gets of the touch: its own, or 8 %; plus are clips 2 and 4. */
function share(clip: u32): f32 {
  const own = (clip <= 2 ? 0 : 1) == touchPlace;
  const sign: f32 = clip == 2 || clip == 4 ? 1 : -1;
  return own ? sign : sign * <f32>0.08;
}
