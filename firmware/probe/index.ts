/**
 * A module for tests of the firmware alone: it does one board command for each report and notes every event
 * where the test can read it. It is compiled into the same firmware as the real module (`tests/chip/images.ts`).
 *
 * Report: byte 1 is the command, words at 4, 8 and 12 its arguments. Notes: words at NOTES.
 */
import { REPORT_IN, REPORT_OUT, REPORT_bytes } from '../../shared-logic/assembly/layout';

@external("board", "switches") declare function boardSwitches(word: u32): void;
@external("board", "drive") declare function boardDrive(current_nA: u32): void;
@external("board", "convert") declare function boardConvert(input: u32, rate: u32): void;
@external("board", "burst") declare function boardBurst(count: u32, lead: u32, stepWord: u32): void;
@external("board", "listen") declare function boardListen(on: u32): void;
@external("board", "wake") declare function boardWake(delay_us: u32): void;
@external("board", "light") declare function boardLight(pattern: u32): void;
@external("board", "send") declare function boardSend(): u32;
@external("board", "wand") declare function boardWand(): u32;

const NOTES: u32 = 60000;

/** How often each event came. */
enum Count { start = 0, button = 1, conversion = 2, burst = 3, samples = 4, time = 5, report = 6, sent = 7, link = 8, refused = 9 }
/** What the last event of a kind said. */
enum Last {
  button = 16, code = 17, conversionStatus = 18, burstStatus = 19, samplesStatus = 20, length = 21, link = 22, wand = 23,
  worstSamples = 24,
}
enum Command {
  switches = 1, drive = 2, convert = 3, burst = 4, listen = 5, wake = 6, light = 7, hang = 8, trap = 9, load = 10, recurse = 11,
  send = 12, misalign = 13, wand = 14, busy = 15,
}

function note(index: u32, value: u32): void { store<u32>(NOTES + 4 * index, value); }
function count(index: u32): void { note(index, load<u32>(NOTES + 4 * index) + 1); }

/** Goes down until the stack is used up; the sum keeps the calls from being turned into a loop. */
function recurse(depth: u32): u32 {
  if (depth == 0) return load<u32>(NOTES);
  return recurse(depth - 1) * 3 + recurse(depth / 2 > depth ? 0 : depth & 1) + depth;
}

/** Keeps the main loop busy, with something that no compiler can foresee. */
function spin(rounds: u32): u32 {
  let value: u32 = rounds;
  for (let i: u32 = 0; i < rounds; i++) value = value * 1664525 + 1013904223 ^ (value >> 16);
  return value | 1;
}

export function start(): void { count(Count.start); boardLight(1); }
// What came is noted before it is counted: who waits for the count may look at any moment.
export function onButton(kind: u32): void { note(Last.button, kind); count(Count.button); }
export function onConversion(code: i32, status: u32): void {
  note(Last.code, code);
  note(Last.conversionStatus, status);
  count(Count.conversion);
}
export function onBurst(status: u32): void { note(Last.burstStatus, status); count(Count.burst); }
export function onSamples(status: u32): void {
  note(Last.samplesStatus, status);
  if (status > load<u32>(NOTES + 4 * Last.worstSamples)) note(Last.worstSamples, status);
  count(Count.samples);
}
export function onTime(): void { count(Count.time); }
export function onReportSent(): void { count(Count.sent); }
export function onLink(state: u32): void { note(Last.link, state); count(Count.link); }

export function onReport(length: u32): void {
  note(Last.length, length);
  count(Count.report);
  const a = load<u32>(REPORT_IN + 4), b = load<u32>(REPORT_IN + 8), c = load<u32>(REPORT_IN + 12);
  switch (load<u8>(REPORT_IN + 1)) {
    case Command.switches: boardSwitches(a); break;
    case Command.drive: boardDrive(a); break;
    case Command.convert: boardConvert(a, b); break;
    case Command.burst: boardBurst(a, b, c); break;
    case Command.listen: boardListen(a); break;
    case Command.wake: boardWake(a); break;
    case Command.light: boardLight(a); break;
    case Command.hang: while (load<u32>(NOTES + 400) == 0) {} break;
    case Command.trap: unreachable();
    case Command.load: note(Last.code, load<u32>(a)); break;
    case Command.recurse: note(Last.code, recurse(a)); break;
    case Command.send:
      memory.copy(REPORT_OUT, REPORT_IN, REPORT_bytes);
      if (boardSend() == 0) count(Count.refused);
      break;
    case Command.misalign: note(Last.code, load<u32>(a + 1)); break;
    case Command.wand: note(Last.wand, boardWand()); break;
    case Command.busy: note(Last.code, spin(a)); break;
    default: break;
  }
}
