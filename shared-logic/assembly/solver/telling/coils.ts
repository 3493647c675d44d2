/** Stretches to the listed coils of the result, contacts to bridges, and the pairs of coils. */
import {
  CoilFlag, CoilResult, CoilText, EvidenceFlag, Finding, FindingResult, FindingText, Kind, MAX_COIL_PAIRS, NONE, PairEvidence, Pole,
  Severity, UnknownText, Winding as Sense, Witness,
} from '../../layout';
import { coilPairResult, coilResult, evidence, findingResult, pairAddress, readingOf, result } from '../../blocks';
import { addClipFinding, addFinding, addUnknown, setClips } from '../ground/findings';
import { probability } from '../hearing/hearing';
import { frameClip } from '../network/network';
import { isTyped } from '../network/typed';
import { comparable, Coupling, findCoupling, geometryOf, GEOMETRY_OPEN, GEOMETRY_STACKED } from '../hearing/coupling';
import { poleAt } from '../hearing/poles';
import { readCoupling, Reading, swingsSeen } from '../ground/witness';
import {
  CLIPS, Contact, contactAt, contactCount, EDGE_CONTACT, edgeAt, edgeCount, filledParts, nodeOf, NOTHING, oddParts, ohmOf, PAIR_FILLED,
  PAIR_VALUE, stateOf, Stretch, stretchAt, stretchCount, uOf, Winding, WINDING_HIDDEN, WINDING_LOOP, WINDING_OPPOSED,
  WINDING_TAPPED, windingAt, windingCount,
} from '../ground/workspace';
import {
  BELIEVED_CONTACT_ohm, COPPER_per_K, KNOWN_SIGN, MISREAD_SHARE, SCALE_u, SIGN_GIVEN, STACKED_k, SWING_LOG_ODDS, WINDING_MOST_ohm,
} from '../ground/limits';

const COUPLED: Coupling = changetype<Coupling>(memory.data(offsetof<Coupling>()));
const MUTUAL: Reading = changetype<Reading>(memory.data(offsetof<Reading>()));

@inline function bare(vertex: u32): bool { return vertex < CLIPS && ((<u32>evidence().bareMask >> vertex) & 1) != 0; }
@inline function clipNumber(vertex: u32): u32 { return vertex < CLIPS ? vertex + 1 : 0; }

/** Resistance that copper would have at 20 C. @see IEC 60028 */
export function ohmAt20C(ohm: f32, temperature_C: f32): f32 {
  return ohm / (1 + COPPER_per_K * (temperature_C - 20));
}

/** Sorts the stretches by their clips and writes them as coils. */
export function listCoils(): void {
  for (let s: u32 = 0; s < stretchCount; s++) {
    let before: u32 = 0;
    for (let other: u32 = 0; other < stretchCount; other++) {
      if (order(stretchAt(other)) < order(stretchAt(s)) || (order(stretchAt(other)) == order(stretchAt(s)) && other < s)) before++;
    }
    stretchAt(s).index = <u8>before;
  }
  for (let s: u32 = 0; s < stretchCount; s++) writeCoil(s);
  result().coilCount = <u8>stretchCount;
}

/** Rank of a stretch: lower clip, then higher clip; hidden ends last. */
function order(s: Stretch): u32 {
  return min<u32>(s.a, s.b) * 16 + max<u32>(s.a, s.b);
}

function writeCoil(s: u32): void {
  const stretch = stretchAt(s);
  const winding = windingAt(stretch.winding);
  const coil = coilResult(stretch.index);
  const swap = stretch.a > stretch.b;
  coil.endA = <u8>clipNumber(swap ? stretch.b : stretch.a);
  coil.endB = <u8>clipNumber(swap ? stretch.a : stretch.b);
  coil.place = winding.place;
  coil.placeMask = winding.placeMask;
  coil.pole = winding.pole;
  coil.ohm = stretch.ohm;
  const scale = evidence().scale_u > 0 ? evidence().scale_u : SCALE_u;
  coil.u_ohm = sqrt<f32>(stretch.u * stretch.u + scale * scale * stretch.ohm * stretch.ohm);
  let flags: u32 = 0;
  if ((evidence().flags & EvidenceFlag.temperatureKnown) != 0) {
    coil.ohm_20C = ohmAt20C(stretch.ohm, evidence().temperature_C);
    flags |= CoilFlag.ohm20C;
  }
  coil.inductance_H = stretch.henry;
  coil.u_inductance_H = stretch.u_henry;
  const w: u32 = winding.flags;
  if ((w & WINDING_HIDDEN) != 0) flags |= CoilFlag.hidden;
  if ((w & WINDING_TAPPED) != 0) flags |= CoilFlag.tapped;
  coil.flags = flags;
  coil.text = <u8>textOf(stretch.winding);
  writeParts(coil, stretch, winding);
  let confidence = probability(abs<f32>(winding.sign));
  if (confidence < SIGN_GIVEN || stretch.a >= <u8>CLIPS || stretch.b >= <u8>CLIPS) return;
  if (isTyped() && evidence().touchCount == 0) {
    // Of typed readings that contradict each other nobody knows which is the slip, and so not what lies between these leads.
    if (((oddParts >> winding.part) & 1) != 0) {
      addUnknown(UnknownText.readingsOdd, s, NONE, NONE, (1 << stretch.a) | (1 << stretch.b), 0);
      return;
    }
    // A sign that hangs on one swing here, or on a reading of resistance, is worth no more than one typed swing.
    const hangs = swingsSeen(stretch.a, stretch.b) < 2 || ((filledParts >> winding.part) & 1) != 0;
    if (hangs) confidence = min<f32>(confidence, probability(SWING_LOG_ODDS));
  }
  const plusAtA = (winding.sign > 0) == (stretch.forward != 0);
  coil.plus = <u8>clipNumber(plusAtA ? stretch.a : stretch.b);
  coil.minus = <u8>clipNumber(plusAtA ? stretch.b : stretch.a);
  coil.confidence = confidence;
  // From minus to plus a coil is clockwise exactly when its pole is N (physics.md 5).
  if (<u32>coil.pole != Pole.unknown) coil.winding = <u8>(<u32>coil.pole == Pole.north ? Sense.cw : Sense.ccw);
}

/** Which way a touch at each place of a hidden junction moves plus, or the higher end where plus is not known; its poles. */
function writeParts(coil: CoilResult, stretch: Stretch, winding: Winding): void {
  if ((winding.flags & <u8>WINDING_HIDDEN) == 0) return;
  const iIsHigher = (stretch.a > stretch.b) == (stretch.forward != 0);
  const isGiven = probability(abs<f32>(winding.sign)) >= SIGN_GIVEN;
  const lifts = isGiven ? winding.sign > 0 : iIsHigher;
  coil.liftsMask = lifts ? winding.upMask : winding.downMask;
  coil.lowersMask = lifts ? winding.downMask : winding.upMask;
  for (let place: u32 = 0; place < 8; place++) {
    if (((winding.placeMask >> place) & 1) == 0) continue;
    const pole = poleAt(place);
    if (pole == Pole.north) coil.northMask |= <u8>(<u32>1 << place);
    else if (pole == Pole.south) coil.southMask |= <u8>(<u32>1 << place);
  }
}

function textOf(w: u32): u32 {
  const winding = windingAt(w);
  const flags: u32 = winding.flags;
  if ((flags & WINDING_OPPOSED) != 0) return CoilText.hiddenOutOfPhase;
  if ((flags & WINDING_HIDDEN) != 0) {
    return probability(abs<f32>(winding.sign)) < SIGN_GIVEN ? CoilText.hiddenUnknown : CoilText.hiddenInPhase;
  }
  if (isInner(w)) return CoilText.stackedInner;
  if ((flags & WINDING_TAPPED) != 0) return CoilText.tappedSection;
  if ((flags & WINDING_LOOP) != 0) return CoilText.networkEdge;
  return CoilText.none;
}

/** Whether a winding lies under another one, out of reach of steel: coupled as stacked ones are, and that one has the place. */
export function isInner(winding: u32): bool {
  if (windingAt(winding).placeMask != 0) return false;
  for (let w: u32 = 0; w < windingCount; w++) {
    if (w == winding || windingAt(w).placeMask == 0) continue;
    if (evidence().kind == <u8>Kind.stacked) return true;
    if (comparable(winding, w) && findCoupling(winding, w, COUPLED) && geometryOf(winding, w, COUPLED) == GEOMETRY_STACKED) return true;
  }
  return false;
}

/** Whether a coil's plus and minus are given. @param winding - number */
export function isSignGiven(winding: u32): bool {
  return probability(abs<f32>(windingAt(winding).sign)) >= SIGN_GIVEN;
}

// ---------------------------------------------------------------- bridges

/** Tells every contact of a winding's middle, and every contact between clips that is no winding. */
export function tellContacts(): void {
  for (let n: u32 = 0; n < contactCount; n++) {
    const contact = contactAt(n);
    if (contact.told != 0) continue;
    contact.told = 1;
    if (<u32>contact.other >= CLIPS) tellBetweenWindings(n, contact);
    else tellToClip(contact);
  }
  for (let n: u32 = 0; n < edgeCount; n++) {
    const edge = edgeAt(n);
    if (<u32>edge.kind != EDGE_CONTACT) continue;
    if (<u32>edge.p < CLIPS && <u32>edge.q < CLIPS) tellAtEnd(edge.p, edge.q, edge.ohm);
    else if (!isNoted(edge.p) && !isNoted(edge.q)) tellUnplaced(edge.part, edge.ohm);
  }
}

function isNoted(vertex: u32): bool {
  for (let n: u32 = 0; n < contactCount; n++) if (<u32>contactAt(n).at == vertex) return true;
  return false;
}

/** The stretch of a winding in which a point lies, and its fraction of that stretch from its end a. */
let pointStretch: u32 = 0;
let pointFraction: f32 = 0;
function locate(winding: u32, distance: f32): void {
  const w = windingAt(winding);
  let passed: f32 = 0;
  for (let n: u32 = 0; n < <u32>w.stretchCount; n++) {
    const s: u32 = <u32>w.firstStretch + n;
    const ohm = stretchAt(s).ohm;
    pointStretch = s;
    pointFraction = min<f32>(1, max<f32>(0, (distance - passed) / ohm));
    if (distance <= passed + ohm) return;
    passed += ohm;
  }
}

/** Fraction from the coil's minus, or from the first of its ends; from its end a at first. */
function fromMinus(s: u32, fromA: f32): f32 {
  const stretch = stretchAt(s);
  const coil = coilResult(stretch.index);
  const origin: u32 = coil.minus != 0 ? coil.minus : coil.endA;
  return clipNumber(stretch.a) == origin ? fromA : 1 - fromA;
}

function nearEnd(s: u32, fromA: f32): u32 {
  return clipNumber(fromA < <f32>0.5 ? stretchAt(s).a : stretchAt(s).b);
}

function tellToClip(contact: Contact): void {
  if (isFilledAt(contact.other)) return;
  locate(contact.winding, contact.distance_ohm);
  const s = pointStretch;
  const other: u32 = contact.other;
  const frame = bare(other) || frameJoined(other);
  if (!frame && endsAt(other, contact.winding) != NOTHING) {
    tellToWindingEnd(contact, s, endsAt(other, contact.winding));
    return;
  }
  const winding = windingAt(contact.winding);
  const ends = other < CLIPS && <u32>winding.i < CLIPS && <u32>winding.j < CLIPS;
  if (!frame && ends && <f32>2 * contact.ohm < MISREAD_SHARE * ohmOf(winding.i, winding.j) && tellMisread(winding.i, winding.j)) return;
  const text = frame ? FindingText.bridgeToChassis : FindingText.bridgeToClip;
  const finding = addFinding(Finding.bridge, Severity.fault, text);
  fillBridge(finding, s, pointFraction, contact.ohm);
  finding.clip0 = <u8>(frame ? frameClip(other) : clipNumber(other));
  finding.clip1 = <u8>nearEnd(s, pointFraction);
  if (!frame) addUnknown(UnknownText.bridgeOrTap, s, NONE, NONE, 1 << other, 0);
}

function fillBridge(finding: FindingResult, s: u32, fromA: f32, ohm: f32): void {
  const stretch = stretchAt(s);
  finding.coil = <u8>s;
  finding.fraction = fromMinus(s, fromA);
  finding.value = ohm;
  finding.value2 = min<f32>(fromA, 1 - fromA) * stretch.ohm;
}

/** Whether a BARE clip is on the node of a vertex. */
function frameJoined(vertex: u32): bool { return frameClip(vertex) != 0; }

/** A winding other than one that ends at a vertex. */
function endsAt(vertex: u32, apart: u32): u32 {
  for (let w: u32 = 0; w < windingCount; w++) {
    if (w != apart && (<u32>windingAt(w).i == vertex || <u32>windingAt(w).j == vertex)) return w;
  }
  return NOTHING;
}

function tellToWindingEnd(contact: Contact, s: u32, otherWinding: u32): void {
  const fromA = pointFraction;
  const w = windingAt(otherWinding);
  const first = <u32>w.i == <u32>contact.other;
  const t: u32 = first ? w.firstStretch : <u32>w.firstStretch + w.stretchCount - 1;
  const finding = addFinding(Finding.bridge, Severity.fault, FindingText.bridgeBetweenCoils);
  fillBridge(finding, s, fromA, contact.ohm);
  finding.otherCoil = <u8>t;
  finding.value3 = fromMinus(t, first ? 0 : 1);
  setCoilEnds(finding, t);
  finding.clip2 = <u8>nearEnd(s, fromA);
}

function setCoilEnds(finding: FindingResult, t: u32): void {
  const coil = coilResult(stretchAt(t).index);
  finding.clip0 = coil.endA;
  finding.clip1 = coil.endB;
}

/** Two hidden points that touch: the same bridge seen from both windings. */
function tellBetweenWindings(n: u32, contact: Contact): void {
  let mate: u32 = NOTHING;
  for (let m: u32 = 0; m < contactCount; m++) {
    if (m != n && contactAt(m).at == contact.other && contactAt(m).winding != contact.winding) mate = m;
  }
  locate(contact.winding, contact.distance_ohm);
  const s = pointStretch;
  const fromA = pointFraction;
  if (mate == NOTHING) {
    tellUnplaced(windingAt(contact.winding).part, contact.ohm);
    return;
  }
  const other = contactAt(mate);
  other.told = 1;
  locate(other.winding, other.distance_ohm);
  const t = pointStretch;
  const finding = addFinding(Finding.bridge, Severity.fault, FindingText.bridgeBetweenCoils);
  fillBridge(finding, s, fromA, contact.ohm);
  finding.otherCoil = <u8>t;
  finding.value3 = fromMinus(t, pointFraction);
  setCoilEnds(finding, t);
  finding.clip2 = <u8>nearEnd(s, fromA);
}

/**
 * Readings that a person typed, among which one seems to be wrong: those of two clips, and of each with the third that they fit least by
 * way of. @returns whether one was read but once, and it was told: read again they are what is there
 */
function tellMisread(p: u32, q: u32): bool {
  if (!isTyped() || isReadAgain(p, q)) return false;
  let third: u32 = NONE;
  let most: f32 = 0;
  for (let k: u32 = 0; k < CLIPS; k++) {
    if (k == p || k == q || stateOf(p, k) != PAIR_VALUE || stateOf(k, q) != PAIR_VALUE) continue;
    const u = sqrt<f32>(uOf(p, q) * uOf(p, q) + uOf(p, k) * uOf(p, k) + uOf(k, q) * uOf(k, q));
    const off = abs<f32>(ohmOf(p, k) + ohmOf(k, q) - ohmOf(p, q)) / u;
    if (off <= most) continue;
    most = off;
    third = k;
  }
  const finding = addFinding(Finding.contradiction, Severity.warning, FindingText.networkImpossible);
  setClips(finding, (1 << p) | (1 << q) | (third == NONE ? 0 : 1 << third));
  finding.value = most;
  return true;
}

/** Whether every pair of one of two clips was read more than once. */
function isReadAgain(p: u32, q: u32): bool {
  for (let i: u32 = 0; i < CLIPS; i++) if (isReadOnce(i, p) || isReadOnce(i, q)) return false;
  return true;
}
function isReadOnce(i: u32, j: u32): bool {
  if (i == j || stateOf(i, j) != PAIR_VALUE) return false;
  return readingOf(changetype<PairEvidence>(pairAddress(i + 1, j + 1)), 0).count < 2;
}

/** Whether what hangs on a winding at a clip rests on pairs with it that were never read. */
function isFilledAt(vertex: u32): bool {
  for (let i: u32 = 0; i < CLIPS; i++) if (vertex < CLIPS && i != vertex && stateOf(i, vertex) == PAIR_FILLED) return true;
  return false;
}

/** Whether a contact between two clips rests on pairs that were never read. */
function isGuessed(p: u32, q: u32): bool {
  if (stateOf(p, q) == PAIR_VALUE && ohmOf(p, q) < BELIEVED_CONTACT_ohm) return false;
  for (let i: u32 = 0; i < CLIPS; i++) {
    if ((i != p && stateOf(i, p) == PAIR_FILLED) || (i != q && stateOf(i, q) == PAIR_FILLED)) return true;
  }
  return false;
}

function tellAtEnd(p: u32, q: u32, edgeOhm: f32): void {
  if (isGuessed(p, q)) return;
  // Of readings that a person typed one digit may be wrong: what only makes them add up is no contact.
  const direct = stateOf(p, q) == PAIR_VALUE && ohmOf(p, q) < WINDING_MOST_ohm;
  if (direct && edgeOhm > WINDING_MOST_ohm && tellMisread(p, q)) return;
  // As it was read, where it was; a tree gives what repeats of other pairs leave of it.
  const ohm: f32 = stateOf(p, q) == PAIR_VALUE && ohmOf(p, q) < BELIEVED_CONTACT_ohm ? ohmOf(p, q) : edgeOhm;
  const swap = frameJoined(q) && !frameJoined(p);
  const first = swap ? q : p;
  const second = swap ? p : q;
  const frame = frameClip(first);
  const finding = addClipFinding(Finding.bridge, Severity.fault, FindingText.bridgeAtEnd, NONE, second, NONE);
  finding.clip0 = <u8>(frame != 0 ? frame : clipNumber(first));
  finding.value = ohm;
  for (let s: u32 = 0; s < stretchCount; s++) {
    const stretch = stretchAt(s);
    if (<u32>stretch.a != second && <u32>stretch.b != second) continue;
    finding.coil = <u8>s;
    finding.fraction = fromMinus(s, <u32>stretch.a == second ? 0 : 1);
    return;
  }
}

/** Clips of a part belong together in a way that cannot be placed. */
function tellUnplaced(part: u32, ohm: f32): void {
  let clips: u32 = 0;
  for (let n: u32 = 0; n < edgeCount; n++) {
    const edge = edgeAt(n);
    if (<u32>edge.part != part) continue;
    if (<u32>edge.p < CLIPS) clips |= 1 << edge.p;
    if (<u32>edge.q < CLIPS) clips |= 1 << edge.q;
  }
  const finding = addFinding(Finding.bridge, Severity.fault, FindingText.bridgeUnplaced);
  setClips(finding, clips);
  finding.value = ohm;
}

/** Leaks that potentials placed between two clips get their coil and fraction. */
export function placeLeaks(): void {
  for (let n: u32 = 0; n < <u32>result().findingCount; n++) {
    const finding = findingResult(n);
    if (<u32>finding.kind != Finding.leak || finding.clip2 == 0) continue;
    const near = nodeOf(<u32>finding.clip1 - 1);
    const far = nodeOf(<u32>finding.clip2 - 1);
    for (let s: u32 = 0; s < stretchCount; s++) {
      const stretch = stretchAt(s);
      const forward = <u32>stretch.a == near && <u32>stretch.b == far;
      if (!forward && !(<u32>stretch.a == far && <u32>stretch.b == near)) continue;
      finding.coil = <u8>s;
      finding.fraction = fromMinus(s, forward ? finding.fraction : 1 - finding.fraction);
    }
    finding.clip2 = 0;
    if (finding.coil == <u8>NONE) finding.fraction = -1;
  }
}

// ---------------------------------------------------------------- pairs of coils

/** Whether the poles of each two coils differ, and what says so; what couples them. */
export function listPairs(): void {
  for (let a: u32 = 0; a < windingCount; a++) {
    listParts(windingAt(a));
    for (let b = a + 1; b < windingCount; b++) if (comparable(a, b)) listPair(a, b);
  }
}

/** The pieces of one tapped winding: one magnet, one face. */
function listParts(winding: Winding): void {
  const end = <u32>winding.firstStretch + winding.stretchCount;
  for (let s: u32 = winding.firstStretch; s < end; s++) for (let t = s + 1; t < end; t++) addPair(s, t, 2, Witness.oneWinding);
}

function listPair(a: u32, b: u32): void {
  const first = windingAt(a);
  const second = windingAt(b);
  let byCoupling: u32 = 0;
  let geometry: u32 = GEOMETRY_OPEN;
  const coupled = findCoupling(a, b, COUPLED);
  if (coupled) {
    geometry = geometryOf(a, b, COUPLED);
    if (geometry != GEOMETRY_OPEN && abs<f32>(first.sign) > KNOWN_SIGN && abs<f32>(second.sign) > KNOWN_SIGN) {
      const positiveAtPlus = first.sign * second.sign * <f32>COUPLED.sign > 0;
      byCoupling = positiveAtPlus == (geometry != GEOMETRY_STACKED) ? 1 : 2;
    }
    if (geometry == GEOMETRY_OPEN) {
      addUnknown(UnknownText.stackedOrSide, first.firstStretch, second.firstStretch, NONE, 0, 0);
    }
  }
  let byMagnet: u32 = 0;
  if (first.pole != 0 && second.pole != 0) byMagnet = first.pole == second.pole ? 2 : 1;
  const witnesses: u32 = (byCoupling != 0 ? Witness.coupling : 0) | (byMagnet != 0 ? Witness.magnet : 0);
  const contradicted = byCoupling != 0 && byMagnet != 0 && byCoupling != byMagnet;
  const differ = contradicted ? 0 : byCoupling != 0 ? byCoupling : byMagnet;
  if (differ == 0) addUnknown(UnknownText.polesDiffer, first.firstStretch, second.firstStretch, NONE, 0, 0);
  for (let s: u32 = first.firstStretch; s < <u32>first.firstStretch + first.stretchCount; s++) {
    for (let t: u32 = second.firstStretch; t < <u32>second.firstStretch + second.stretchCount; t++) addPair(s, t, differ, witnesses);
  }
  const stacked = geometry == GEOMETRY_STACKED || evidence().kind == <u8>Kind.stacked || (coupled && COUPLED.factor > STACKED_k);
  if (differ == 2 && windingCount == 2 && !stacked) {
    const finding = addFinding(Finding.mismatch, Severity.warning, FindingText.polesEqual);
    finding.coil = first.firstStretch;
    finding.otherCoil = second.firstStretch;
  }
}

/** Two coils that meet at a lead with the same polarity: in series through it their strings cancel. */
export function tellLinks(): void {
  if (windingCount != 2 || !comparable(0, 1) || !isSignGiven(0) || !isSignGiven(1)) return;
  const a = windingAt(0);
  const b = windingAt(1);
  const meet: u32 = a.i == b.i || a.i == b.j ? a.i : a.j;
  if (meet >= CLIPS || frameJoined(meet) || (meet != <u32>b.i && meet != <u32>b.j)) return;
  const plusA = (a.sign > 0) == (<u32>a.i == meet);
  const plusB = (b.sign > 0) == (<u32>b.i == meet);
  if (plusA != plusB) return;
  const finding = addClipFinding(Finding.outOfPhase, Severity.note, FindingText.linkOutOfPhase, meet, NONE, NONE);
  finding.coil = a.firstStretch;
  finding.otherCoil = b.firstStretch;
}

function addPair(s: u32, t: u32, differ: u32, witnesses: u32): void {
  const head = result();
  if (<u32>head.pairCount == MAX_COIL_PAIRS) return;
  const pair = coilPairResult(head.pairCount);
  head.pairCount++;
  const first = stretchAt(s).index;
  const second = stretchAt(t).index;
  pair.a = min<u8>(first, second);
  pair.b = max<u8>(first, second);
  pair.polesDiffer = <u8>differ;
  pair.witnesses = <u8>witnesses;
  const a = coilResult(first);
  const b = coilResult(second);
  if (a.endA == 0 || a.endB == 0 || b.endA == 0 || b.endB == 0) return;
  const sense = (a.plus == a.endA ? -1 : 1) * (b.plus == b.endA ? -1 : 1);
  const isRead = readCoupling(
    nodeOf(<u32>a.endB - 1), nodeOf(<u32>a.endA - 1), nodeOf(<u32>b.endB - 1), nodeOf(<u32>b.endA - 1), MUTUAL);
  if (!isRead || MUTUAL.disagrees) return;
  pair.mutual_H = <f32>sense * MUTUAL.henry;
  pair.u_mutual_H = MUTUAL.u;
}
