/** The evidence as events: every entry is kept, applied to the evidence and sent until the host has it. */
import { applyEntry } from '../../evidence';
import { boardState, draft, logEntry } from '../../blocks';
import { ENTRY, EntryFlag, EntryKind, LOG_ENTRIES, LogEntry, NONE, Note, Refusal } from '../../layout';
import { pairHigh, pairLow } from '../../clip-pairs';
import { Outcome } from './turn';

const ENTRY_bytes: u32 = offsetof<LogEntry>();

/** Number of the test since the board started, 0 before the first. */
export let testNumber: u32 = 0;
/** Entries of this test. */
export let logCount: u32 = 0;
/** Entries that the host has confirmed. */
export let acknowledged: u32 = 0;
/** Entries sent in this session. */
export let sent: u32 = 0;
/** Index of the entry whose capture lies in CAPTURE, or LOG_ENTRIES when none does. */
export let captureEntry: u32 = LOG_ENTRIES;
/** Entries that did not fit; the test ends when one did not. */
export let logFull: bool = false;

/** As after power-on: no test yet. */
export function resetLog(): void {
  logBegin();
  testNumber = 0;
}

/** Starts the log of a new test. */
export function logBegin(): void {
  testNumber = testNumber >= 65535 ? 1 : testNumber + 1;
  logCount = 0;
  acknowledged = 0;
  sent = 0;
  captureEntry = LOG_ENTRIES;
  logFull = false;
}

/** Empties ENTRY for filling. @param kind - `EntryKind` @returns the entry */
export function draftEntry(kind: u32): LogEntry {
  memory.fill(ENTRY, 0, ENTRY_bytes);
  const entry = draft();
  entry.kind = <u8>kind;
  return entry;
}

/** So many entries stay free for the notes and the end of a test. */
const SPARE_ENTRIES: u32 = 8;

/**
 * Applies ENTRY to the evidence and appends it to the log.
 * @returns `Refusal.none`, or why it was not taken (then nothing changed)
 */
export function commitEntry(): u32 {
  const kind = <u32>draft().kind;
  const limit = kind == EntryKind.end || kind == EntryKind.note ? LOG_ENTRIES : LOG_ENTRIES - SPARE_ENTRIES;
  if (logCount >= limit) {
    logFull = true;
    return Refusal.busy;
  }
  draft().number = <u16>logCount;
  const refusal = applyEntry();
  if (refusal != Refusal.none) return refusal;
  memory.copy(changetype<usize>(logEntry(logCount)), ENTRY, ENTRY_bytes);
  if (kind == EntryKind.touch) captureEntry = logCount;
  logCount++;
  return Refusal.none;
}

/** Logs that a pair is open up to a limit. @param pair - index, 0 to 14 @param above_ohm - what it is surely above */
export function openEntry(pair: u32, above_ohm: f32): void {
  const entry = draftEntry(EntryKind.resistance);
  entry.flags = <u8>EntryFlag.open;
  entry.a = <u8>pairLow(pair);
  entry.b = <u8>pairHigh(pair);
  entry.v0 = above_ohm;
  commitEntry();
}

/** Logs a reading of a pair. @param pair - index, 0 to 14 @param ohm - below 0 counts as 0 @param u_ohm - standard uncertainty */
export function ohmEntry(pair: u32, ohm: f32, u_ohm: f32): void {
  const entry = draftEntry(EntryKind.resistance);
  entry.flags = <u8>EntryFlag.uncertaintyKnown;
  entry.a = <u8>pairLow(pair);
  entry.b = <u8>pairHigh(pair);
  entry.v0 = ohm > 0 ? ohm : 0;
  entry.v1 = u_ohm;
  commitEntry();
}

/** Notes something beside the measurements. @param note - `Note` @param place - index, or NONE */
export function noteEntry(note: u32, place: u32): void {
  const entry = draftEntry(EntryKind.note);
  entry.a = <u8>note;
  if (note == Note.converterFailed) entry.b = boardState().converterFault;
  entry.place = <u8>place;
  commitEntry();
}

/** Notes that the board could not do what it was asked. @param outcome - `Outcome` */
export function failureEntry(outcome: u32): void {
  noteEntry(outcome == Outcome.captureFailed ? Note.captureOverrun : Note.converterFailed, NONE);
}

/** Notes what a check of the self-test saw. @param check - `Check` */
export function checkEntry(passed: bool, check: u32, measured: f32, expected: f32): void {
  const entry = draftEntry(EntryKind.note);
  entry.a = <u8>(passed ? Note.selfTestPassed : Note.selfTestFailed);
  entry.b = <u8>check;
  entry.place = <u8>NONE;
  entry.v0 = measured;
  entry.v1 = expected;
  commitEntry();
}

/** The host has the first `count` entries. @returns false when that cannot be */
export function acknowledge(test: u32, count: u32): bool {
  if (test != testNumber || count > sent || count < acknowledged) return false;
  acknowledged = count;
  return true;
}

/** A new session: what is not confirmed is sent again. */
export function rewindLog(): void { sent = acknowledged; }

/** The entry at `sent` has gone out. */
export function entrySent(): void { sent++; }

/** Whether CAPTURE holds a touch that the host has not confirmed. */
export function captureHeld(): bool { return captureEntry < LOG_ENTRIES && captureEntry >= acknowledged; }

/** CAPTURE is about to be overwritten. */
export function releaseCapture(): void { captureEntry = LOG_ENTRIES; }
