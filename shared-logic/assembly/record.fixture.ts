/** Writes evidence for the specs the way a record or a test does: one log entry after the other. */
import { applyEntry } from './evidence';
import {
  CoilPairResult, CoilResult, ENTRY, EntryFlag, EntryKind, FindingResult, LogEntry, RESULT, Result, RESULT_COILS, RESULT_FINDINGS,
  RESULT_PAIRS, RESULT_UNKNOWNS, Swing, UnknownResult,
} from './layout';

export function entry(kind: u32): LogEntry {
  memory.fill(<usize>ENTRY, 0, 32);
  const e = changetype<LogEntry>(<usize>ENTRY);
  e.kind = <u8>kind;
  return e;
}

/** Begins a record. @param clips - in use, from 1 @param bareMask - bit per clip index @param places - asked */
export function begin(clips: u32, bareMask: u32, kind: u32, places: u32): void {
  const e = entry(EntryKind.begin);
  e.a = <u8>((<u32>1 << clips) - 1);
  e.b = <u8>bareMask;
  e.c = <u8>kind;
  e.place = <u8>places;
  applyEntry();
}

export function ohms(a: u32, b: u32, ohm: f32, u: f32): u32 {
  const e = entry(EntryKind.resistance);
  e.flags = <u8>(u > 0 ? EntryFlag.uncertaintyKnown : 0);
  e.a = <u8>a;
  e.b = <u8>b;
  e.v0 = ohm;
  e.v1 = u;
  return applyEntry();
}

export function open(a: u32, b: u32, above_ohm: f32): u32 {
  const e = entry(EntryKind.resistance);
  e.flags = <u8>EntryFlag.open;
  e.a = <u8>a;
  e.b = <u8>b;
  e.v0 = above_ohm;
  return applyEntry();
}

/** A swing seen as steel arrived. @param peak_V - its size, 0 when not read */
export function saw(place: u32, plus: u32, minus: u32, positive: bool, peak_V: f32): void {
  const e = entry(EntryKind.observed);
  e.place = <u8>place;
  e.a = <u8>plus;
  e.b = <u8>minus;
  e.c = <u8>(positive ? Swing.positive : Swing.negative);
  e.flags = <u8>(peak_V > 0 ? EntryFlag.peakKnown : 0);
  e.v0 = peak_V;
  applyEntry();
}

export function magnet(place: u32, pole: u32): void {
  const e = entry(EntryKind.magnet);
  e.place = <u8>place;
  e.a = <u8>pole;
  applyEntry();
}

export function henry(plus: u32, minus: u32, value: f32): void {
  const e = entry(EntryKind.inductance);
  e.a = <u8>plus;
  e.b = <u8>minus;
  e.v0 = value;
  e.v1 = <f32>0.01 * value;
  applyEntry();
}

export function henryAndLoss(plus: u32, minus: u32, value: f32, loss_ohm: f32): void {
  const e = entry(EntryKind.inductance);
  e.flags = <u8>EntryFlag.lossKnown;
  e.a = <u8>plus;
  e.b = <u8>minus;
  e.v0 = value;
  e.v1 = <f32>0.01 * value;
  e.v2 = loss_ohm;
  e.v3 = <f32>0.03 * loss_ohm;
  applyEntry();
}

export function coupled(drivePlus: u32, driveMinus: u32, sensePlus: u32, senseMinus: u32, mutual_H: f32): void {
  const e = entry(EntryKind.coupling);
  e.a = <u8>drivePlus;
  e.b = <u8>driveMinus;
  e.c = <u8>sensePlus;
  e.d = <u8>senseMinus;
  e.v0 = mutual_H;
  e.v1 = <f32>0.005;
  applyEntry();
}

export function result(): Result { return changetype<Result>(<usize>RESULT); }
export function coil(n: u32): CoilResult { return changetype<CoilResult>(<usize>(RESULT_COILS + n * offsetof<CoilResult>())); }
export function pair(n: u32): CoilPairResult { return changetype<CoilPairResult>(<usize>(RESULT_PAIRS + n * 4)); }
export function finding(n: u32): FindingResult { return changetype<FindingResult>(<usize>(RESULT_FINDINGS + n * 32)); }

/** Index of the first finding of a text, -1 for none. */
export function findingOf(text: u32): i32 {
  for (let n: u32 = 0; n < <u32>result().findingCount; n++) if (<u32>finding(n).text == text) return n;
  return -1;
}

export function isUnknown(text: u32): bool {
  for (let n: u32 = 0; n < <u32>result().unknownCount; n++) {
    if (<u32>changetype<UnknownResult>(<usize>(RESULT_UNKNOWNS + n * 8)).text == text) return true;
  }
  return false;
}
