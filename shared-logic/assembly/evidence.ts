/** One way in for everything measured: the log entry at ENTRY is applied to the evidence block. */
import {
  capturePlus, captureHead, captureMinus, couplingEvidence, draft, evidence as evidenceBlock, inductanceEvidence, liveEvidence,
  magnetEvidence, observedEvidence, pairEvidence, potentialEvidence, readingOf, ringEvidence, touchEvidence,
} from './blocks';
import {
  CALIBRATION_worst_u, CLIP_COUNT, Calibrated, ConverterFault, Cover,
  EVIDENCE, EVIDENCE_bytes, EntryFlag, EntryKind, Evidence, EvidenceFlag, Kind, LAYOUT_VERSION, LogEntry,
  MAX_CHANNELS, MAX_COUPLINGS, MAX_INDUCTANCES, MAX_MAGNETS, MAX_OBSERVED, MAX_PLACES, MAX_POTENTIALS, MAX_RINGS, MAX_TOUCHES, NONE, Note,
  PAIR_COUNT, Pole, READINGS_PER_PAIR, Refusal, Swing, TOUCH_bytes,
} from './layout';
import { pairOf } from './clip-pairs';
import { analyseTouch } from './touch/touch';

/** Largest magnitude that an entry may hold: its square still fits f32. */
const LARGEST: f32 = 1e15;
/** Notes that Evidence.noteMask has bits for. */
const NOTES: u32 = 7;
/** Readings of one pair that differ by more than this many standard uncertainties stay apart. */
const AGREE_u: f32 = 5.0;

/** Empties the evidence block. */
export function evidenceClear(): void {
  memory.fill(<usize>EVIDENCE, 0, <usize>EVIDENCE_bytes);
}

/** Standard uncertainty assumed when a reading came without one: 0.03 % + 0.05 ohm (file-formats.md). */
function assumed_u_ohm(ohm: f32): f32 {
  return <f32>0.0003 * ohm + <f32>0.05;
}

function isClip(clip: u32, clipMask: u32): bool {
  return clip >= 1 && clip <= CLIP_COUNT && ((clipMask >> (clip - 1)) & 1) == 1;
}

function isPair(a: u32, b: u32, clipMask: u32): bool {
  return a != b && isClip(a, clipMask) && isClip(b, clipMask);
}

function isSane(value: f32): bool {
  return isFinite<f32>(value) && abs<f32>(value) <= LARGEST;
}

function isPlace(place: u32): bool {
  return place < MAX_PLACES || place == NONE;
}

/**
 * Applies the entry at ENTRY to the evidence block.
 * @returns 0, or the `Refusal` when it is not acceptable; then nothing is changed
 */
export function applyEntry(): u32 {
  const entry = draft();
  const evidence = evidenceBlock();
  const kind: u32 = entry.kind;
  if (!isSane(entry.v0) || !isSane(entry.v1) || !isSane(entry.v2) || !isSane(entry.v3) || !isSane(entry.extra)) return Refusal.content;
  if (kind == EntryKind.begin) return applyBegin(entry, evidence);
  if (evidence.layout != LAYOUT_VERSION) return Refusal.order;
  switch (kind) {
    case EntryKind.resistance: return applyResistance(entry, evidence);
    case EntryKind.live: return applyLive(entry, evidence);
    case EntryKind.potential: return applyPotential(entry, evidence);
    case EntryKind.inductance: return applyInductance(entry, evidence);
    case EntryKind.coupling: return applyCoupling(entry, evidence);
    case EntryKind.touch: return applyTouch(entry, evidence);
    case EntryKind.magnet: return applyMagnet(entry, evidence);
    case EntryKind.observed: return applyObserved(entry, evidence);
    case EntryKind.ring: return applyRing(entry, evidence);
    case EntryKind.ringCapacitance: return applyRingCapacitance(entry, evidence);
    case EntryKind.note:
      if (entry.a == 0 || <u32>entry.a > NOTES) return Refusal.content;
      if (<u32>entry.a == Note.converterFailed) {
        if (<u32>entry.b > <u32>ConverterFault.disturbed) return Refusal.content;
        evidence.converterFault = entry.b;
      }
      evidence.noteMask |= <u8>(1 << entry.a);
      if (entry.a == <u8>Note.cancelled) evidence.flags |= EvidenceFlag.cancelled;
      return 0;
    case EntryKind.end:
      evidence.flags |= EvidenceFlag.ended;
      return 0;
    default: return Refusal.content;
  }
}

function applyBegin(entry: LogEntry, evidence: Evidence): u32 {
  const clips: u32 = entry.a;
  const knows = (entry.flags & <u8>EntryFlag.temperatureKnown) != 0;
  if (clips == 0 || clips >= 1 << CLIP_COUNT || (<u32>entry.b & ~clips) != 0) return Refusal.content;
  if (<u32>entry.c > <u32>Kind.stacked || <u32>entry.d > <u32>Cover.metal) return Refusal.content;
  if (<u32>entry.place > MAX_PLACES) return Refusal.content;
  if (knows && (entry.v0 < -100 || entry.v0 > 200)) return Refusal.content;
  if (entry.v2 < 0 || entry.v2 > CALIBRATION_worst_u) return Refusal.content;
  if (entry.v1 < 0 || entry.v1 > <f32>Calibrated.old) return Refusal.content;
  evidenceClear();
  evidence.layout = LAYOUT_VERSION;
  evidence.clipMask = entry.a;
  evidence.bareMask = entry.b;
  evidence.kind = entry.c;
  evidence.cover = entry.d;
  evidence.placeCount = entry.place;
  if (knows) {
    evidence.flags |= EvidenceFlag.temperatureKnown;
    evidence.temperature_C = entry.v0;
  }
  if ((entry.flags & <u8>EntryFlag.clipsAssumed) != 0) evidence.flags |= EvidenceFlag.clipsAssumed;
  if ((entry.flags & <u8>EntryFlag.typed) != 0) evidence.flags |= EvidenceFlag.typed;
  evidence.scale_u = entry.v2;
  evidence.calibrated = <u8>entry.v1;
  return 0;
}

function applyResistance(entry: LogEntry, evidence: Evidence): u32 {
  if (!isPair(entry.a, entry.b, evidence.clipMask) || entry.v0 < 0 || entry.v1 < 0) return Refusal.content;
  const pair = pairEvidence(pairOf(entry.a, entry.b));
  if ((entry.flags & <u8>EntryFlag.open) != 0) {
    if (pair.openCount < 65535) pair.openCount++;
    pair.above_ohm = max<f32>(pair.above_ohm, entry.v0);
    return 0;
  }
  const given = (entry.flags & <u8>EntryFlag.uncertaintyKnown) != 0 ? entry.v1 : assumed_u_ohm(entry.v0);
  // A reading without any uncertainty would outweigh all others for ever: f32's own resolution is the floor.
  const u = max<f32>(given, max<f32>(<f32>1e-4, <f32>1e-6 * entry.v0));
  const weight: f32 = <f32>1 / (u * u);
  const count: u32 = pair.groupCount;
  for (let n: u32 = 0; n < count; n++) {
    const reading = readingOf(pair, n);
    const apart = abs<f32>(reading.ohm - entry.v0);
    if (apart > AGREE_u * sqrt<f32>(u * u + <f32>1 / reading.weight)) continue;
    const sum: f32 = reading.weight + weight;
    reading.ohm += (entry.v0 - reading.ohm) * (weight / sum);
    reading.weight = sum;
    reading.count++;
    return 0;
  }
  if (count == READINGS_PER_PAIR) {
    pair.overflow = 1;
    return 0;
  }
  const reading = readingOf(pair, count);
  reading.ohm = entry.v0;
  reading.weight = weight;
  reading.count = 1;
  pair.groupCount++;
  return 0;
}

function applyLive(entry: LogEntry, evidence: Evidence): u32 {
  if (!isPair(entry.a, entry.b, evidence.clipMask)) return Refusal.content;
  if (<u32>evidence.liveCount >= PAIR_COUNT) return full(evidence);
  const live = liveEvidence(evidence.liveCount);
  live.a = entry.a;
  live.b = entry.b;
  live.volt_V = entry.v0;
  evidence.liveCount++;
  return 0;
}

function applyPotential(entry: LogEntry, evidence: Evidence): u32 {
  if (!isPair(entry.a, entry.b, evidence.clipMask) || !isClip(entry.c, evidence.clipMask)) return Refusal.content;
  if (entry.c == entry.a || entry.c == entry.b || entry.v1 < 0) return Refusal.content;
  if (<u32>evidence.potentialCount >= MAX_POTENTIALS) return full(evidence);
  const potential = potentialEvidence(evidence.potentialCount);
  potential.a = entry.a;
  potential.b = entry.b;
  potential.c = entry.c;
  potential.ratio = entry.v0;
  potential.u = entry.v1;
  evidence.potentialCount++;
  return 0;
}

function applyInductance(entry: LogEntry, evidence: Evidence): u32 {
  if (!isPair(entry.a, entry.b, evidence.clipMask) || entry.v1 < 0 || entry.v3 < 0) return Refusal.content;
  if (<u32>evidence.inductanceCount >= MAX_INDUCTANCES) return full(evidence);
  const reading = inductanceEvidence(evidence.inductanceCount);
  reading.plus = entry.a;
  reading.minus = entry.b;
  reading.flags = entry.flags;
  reading.henry_H = entry.v0;
  reading.u_H = entry.v1;
  reading.loss_ohm = entry.v2;
  reading.u_loss_ohm = entry.v3;
  evidence.inductanceCount++;
  return 0;
}

function applyCoupling(entry: LogEntry, evidence: Evidence): u32 {
  if (!isPair(entry.a, entry.b, evidence.clipMask) || !isPair(entry.c, entry.d, evidence.clipMask)) return Refusal.content;
  if (entry.v1 < 0) return Refusal.content;
  if (<u32>evidence.couplingCount >= MAX_COUPLINGS) return full(evidence);
  const reading = couplingEvidence(evidence.couplingCount);
  reading.drivePlus = entry.a;
  reading.driveMinus = entry.b;
  reading.sensePlus = entry.c;
  reading.senseMinus = entry.d;
  reading.mutual_H = entry.v0;
  reading.u_H = entry.v1;
  evidence.couplingCount++;
  return 0;
}

function applyRing(entry: LogEntry, evidence: Evidence): u32 {
  if (!isPair(entry.a, entry.b, evidence.clipMask) || (<u32>entry.c & ~(<u32>evidence.clipMask)) != 0) return Refusal.content;
  if (!(entry.v0 > 0) || entry.v1 < 0 || !(entry.v2 > 0) || entry.v3 < 0 || entry.extra < 0) return Refusal.content;
  if (<u32>evidence.ringCount >= MAX_RINGS) return full(evidence);
  const ring = ringEvidence(evidence.ringCount);
  ring.plus = entry.a;
  ring.minus = entry.b;
  ring.groundedMask = entry.c;
  ring.natural_Hz = entry.v0;
  ring.u_Hz = entry.v1;
  ring.loss_s = entry.v2;
  ring.u_s = entry.v3;
  ring.misfit = entry.extra;
  evidence.ringCount++;
  return 0;
}

/** Belongs to the ring just before it. */
function applyRingCapacitance(entry: LogEntry, evidence: Evidence): u32 {
  const known = (entry.flags & <u8>EntryFlag.totalKnown) != 0;
  if (entry.v1 < 0 || entry.v2 < 0 || entry.v3 < 0 || entry.extra < 0 || (known && !(entry.v0 > 0))) return Refusal.content;
  // Of a ring that did not fit any more there is nothing to complete.
  if (<u32>evidence.ringCount >= MAX_RINGS && (evidence.flags & EvidenceFlag.full) != 0) return 0;
  if (evidence.ringCount == 0) return Refusal.order;
  const ring = ringEvidence(<u32>evidence.ringCount - 1);
  if (ring.plus != entry.a || ring.minus != entry.b) return Refusal.order;
  ring.flags = <u8>(known ? EntryFlag.totalKnown : 0);
  ring.total_F = known ? entry.v0 : 0;
  ring.u_F = known ? entry.v1 : 0;
  ring.fixture_F = entry.v2;
  ring.u_fixture_F = entry.v3;
  ring.series_ohm = entry.extra;
  return 0;
}

function applyMagnet(entry: LogEntry, evidence: Evidence): u32 {
  if (<u32>entry.a > <u32>Pole.south || !isPlace(entry.place) || entry.v0 < 0) return Refusal.content;
  if (<u32>evidence.magnetCount >= MAX_MAGNETS) return full(evidence);
  const magnet = magnetEvidence(evidence.magnetCount);
  magnet.place = entry.place;
  magnet.pole = entry.a;
  magnet.flags = entry.flags;
  magnet.field_T = entry.v0;
  evidence.magnetCount++;
  return 0;
}

function applyObserved(entry: LogEntry, evidence: Evidence): u32 {
  if (!isPair(entry.a, entry.b, evidence.clipMask) || !isPlace(entry.place)) return Refusal.content;
  if (<u32>entry.c > <u32>Swing.negative || entry.v0 < 0) return Refusal.content;
  if (<u32>evidence.observedCount >= MAX_OBSERVED) return full(evidence);
  const observed = observedEvidence(evidence.observedCount);
  observed.place = entry.place;
  observed.plus = entry.a;
  observed.minus = entry.b;
  observed.swing = entry.c;
  observed.flags = entry.flags;
  observed.peak_V = entry.v0;
  evidence.observedCount++;
  return 0;
}

/** Analyses the capture that lies in CAPTURE and keeps what its channels say. */
function applyTouch(entry: LogEntry, evidence: Evidence): u32 {
  const head = captureHead();
  if (!isPlace(entry.place) || head.channelCount == 0 || head.channelCount > MAX_CHANNELS) return Refusal.content;
  for (let channel: u32 = 0; channel < head.channelCount; channel++) {
    if (!isPair(capturePlus(channel), captureMinus(channel), evidence.clipMask)) return Refusal.content;
  }
  if (<u32>evidence.touchCount >= MAX_TOUCHES) return full(evidence);
  const touch = touchEvidence(evidence.touchCount);
  // On the chip an analysis takes a third of a second: the sequence has made it already, to see whether anything touched.
  if (head.analysedAt != 0) memory.copy(changetype<usize>(touch), head.analysedAt, TOUCH_bytes);
  else analyseTouch(changetype<u32>(touch));
  touch.place = entry.place;
  evidence.touchCount++;
  return 0;
}

/** More was measured than fits: accepted, dropped, and told by the result. */
function full(evidence: Evidence): u32 {
  evidence.flags |= EvidenceFlag.full;
  return 0;
}
