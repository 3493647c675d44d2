/** Writes findings and unknowns into the result; coils are named by stretch number until `nameCoils` runs. */
import { FindingResult, MAX_FINDINGS, MAX_UNKNOWNS, NONE, RESULT_FINDINGS, RESULT_UNKNOWNS, Severity, UnknownResult } from '../../layout';
import { findingResult, result, unknownResult } from '../../blocks';
import { stretchAt, stretchCount } from './workspace';

const FINDING_bytes: u32 = offsetof<FindingResult>();
const UNKNOWN_bytes: u32 = offsetof<UnknownResult>();
/** What is less severe than all that there is room for. */
const UNTOLD: FindingResult = changetype<FindingResult>(memory.data(offsetof<FindingResult>()));

/**
 * A new finding, its fields empty. With no room left, the least severe one gives way, be it this one.
 * @param kind - `Finding` @param severity - `Severity` @param text - `FindingText`
 */
export function addFinding(kind: u32, severity: u32, text: u32): FindingResult {
  const head = result();
  let finding = UNTOLD;
  if (<u32>head.findingCount < MAX_FINDINGS) {
    finding = findingResult(head.findingCount++);
  } else {
    let least: u32 = MAX_FINDINGS - 1;
    for (let n = least; n-- > 0;) if (findingResult(n).severity < findingResult(least).severity) least = n;
    if (<u32>findingResult(least).severity <= severity) finding = findingResult(least);
  }
  memory.fill(changetype<usize>(finding), 0, <usize>FINDING_bytes);
  finding.kind = <u8>kind;
  finding.severity = <u8>severity;
  finding.text = <u8>text;
  finding.coil = <u8>NONE;
  finding.otherCoil = <u8>NONE;
  finding.place = <u8>NONE;
  finding.fraction = -1;
  return finding;
}

/** A new finding about up to three clips. @param clip0 - index, not number; likewise the others; NONE for none */
export function addClipFinding(kind: u32, severity: u32, text: u32, clip0: u32, clip1: u32, clip2: u32): FindingResult {
  const finding = addFinding(kind, severity, text);
  if (clip0 != NONE) finding.clip0 = <u8>(clip0 + 1);
  if (clip1 != NONE) finding.clip1 = <u8>(clip1 + 1);
  if (clip2 != NONE) finding.clip2 = <u8>(clip2 + 1);
  return finding;
}

/** Puts the clips of a mask into clip0 to clip5 of a finding. */
export function setClips(finding: FindingResult, mask: u32): void {
  let at: usize = changetype<usize>(finding) + offsetof<FindingResult>('clip0');
  for (let clip: u32 = 0; clip < 6; clip++) {
    if (((mask >> clip) & 1) == 0) continue;
    store<u8>(at, <u8>(clip + 1));
    at++;
  }
}

/** A new unknown; told once only. @param text - `UnknownText` */
export function addUnknown(text: u32, coil: u32, otherCoil: u32, place: u32, clipMask: u32, clipMask2: u32): void {
  const head = result();
  for (let n: u32 = 0; n < <u32>head.unknownCount; n++) {
    const told = unknownResult(n);
    if (told.text == <u8>text && told.coil == <u8>coil && told.otherCoil == <u8>otherCoil && told.place == <u8>place
      && told.clipMask == <u8>clipMask && told.clipMask2 == <u8>clipMask2) return;
  }
  if (<u32>head.unknownCount == MAX_UNKNOWNS) return;
  const unknown = unknownResult(head.unknownCount++);
  unknown.text = <u8>text;
  unknown.coil = <u8>coil;
  unknown.otherCoil = <u8>otherCoil;
  unknown.place = <u8>place;
  unknown.clipMask = <u8>clipMask;
  unknown.clipMask2 = <u8>clipMask2;
}

/** Takes back the findings and unknowns told since there were this many. */
export function takeBack(findings: u32, unknowns: u32): void {
  const head = result();
  memory.fill(<usize>(RESULT_FINDINGS + findings * FINDING_bytes), 0, <usize>((<u32>head.findingCount - findings) * FINDING_bytes));
  memory.fill(<usize>(RESULT_UNKNOWNS + unknowns * UNKNOWN_bytes), 0, <usize>((<u32>head.unknownCount - unknowns) * UNKNOWN_bytes));
  head.findingCount = <u8>findings;
  head.unknownCount = <u8>unknowns;
}

/** Removes findings that say the same as an earlier one: several touches of one place may have found the same. */
export function dropRepeats(): void {
  const head = result();
  let kept: u32 = 0;
  for (let n: u32 = 0; n < <u32>head.findingCount; n++) {
    const it = changetype<usize>(findingResult(n));
    let repeated = false;
    for (let m: u32 = 0; m < kept && !repeated; m++) {
      repeated = memory.compare(changetype<usize>(findingResult(m)), it, <usize>FINDING_bytes) == 0;
    }
    if (repeated) continue;
    if (kept != n) memory.copy(changetype<usize>(findingResult(kept)), it, <usize>FINDING_bytes);
    kept++;
  }
  takeBack(kept, head.unknownCount);
}

export function hasUnknown(text: u32): bool {
  for (let n: u32 = 0; n < <u32>result().unknownCount; n++) if (<u32>unknownResult(n).text == text) return true;
  return false;
}

export function hasFinding(kind: u32): bool {
  for (let n: u32 = 0; n < <u32>result().findingCount; n++) if (findingResult(n).kind == <u8>kind) return true;
  return false;
}

/** Whether there is a finding of a kind that is no mere note. */
export function hasWarning(kind: u32): bool {
  for (let n: u32 = 0; n < <u32>result().findingCount; n++) {
    if (findingResult(n).kind == <u8>kind && findingResult(n).severity != <u8>Severity.note) return true;
  }
  return false;
}

export function hasFault(): bool {
  for (let n: u32 = 0; n < <u32>result().findingCount; n++) {
    if (findingResult(n).severity == <u8>Severity.fault) return true;
  }
  return false;
}

/** Turns stretch numbers into coil indices of the sorted result. */
export function nameCoils(): void {
  for (let n: u32 = 0; n < <u32>result().findingCount; n++) {
    const finding = findingResult(n);
    finding.coil = named(finding.coil);
    finding.otherCoil = named(finding.otherCoil);
  }
  for (let n: u32 = 0; n < <u32>result().unknownCount; n++) {
    const unknown = unknownResult(n);
    unknown.coil = named(unknown.coil);
    unknown.otherCoil = named(unknown.otherCoil);
  }
}

function named(stretch: u32): u8 {
  return stretch < stretchCount ? stretchAt(stretch).index : <u8>NONE;
}
