/**
 * Edges to windings: which edges are contacts and not wire, which carry on the same wire across a junction, and the
 * stretches of wire between clips that the wire map lists.
 */
import { CLIP_COUNT, EVIDENCE, Evidence, Kind, NONE, UnknownText } from '../layout';
import { addUnknown } from './findings';
import {
  fitOfArms, fitOfWindings, foundFactor, foundHenry, foundMutual, foundU_factor, foundU_H, isHeard, readCoupling, readCouplingFactor,
  readInductance, readPairFactor,
} from './witness';
import { frameClip } from './network';
import { CONTACT_MOST_ohm, joins, WINDING_MOST_ohm } from './topology';
import {
  addContact, addEdge, addStretch, addWinding, armOf, CLIPS, contactAt, contactCount, Edge, EDGE_CONTACT, EDGE_GONE,
  EDGE_LOOP, EDGE_TREE, edgeAt, edgeCount, hiddenCount, nodeOf, NOTHING, ohmOf, PAIR_VALUE, partOf, resistiveArms,
  stateOf, stretchAt, stretchCount, uOf, windingAt, windingCount,
} from './workspace';

/** Bits of Winding.flags. */
export const WINDING_LOOP: u32 = 1;
export const WINDING_ARM: u32 = 2;
export const WINDING_TAPPED: u32 = 4;
export const WINDING_BRIDGED: u32 = 8;
export const WINDING_HIDDEN: u32 = 16;
export const WINDING_OPPOSED: u32 = 32;

/** Parts of one winding couple at least this much (physics.md 2). */
const ONE_WINDING_k: f32 = 0.7;
/** and a factor is below that when it is so by this many of its standard uncertainties: small sections are read coarsely. */
const COUPLED_u: f32 = 3.5;
/** Stacked coils reach this; only parts of one winding surpass it (physics.md 1: sections 0.9 to 1). */
const STACKED_MOST_k: f32 = 0.93;
/** Less inductance than this for each ohm is a resistor: coils have 3e-4 and up (common practice, no published source). */
const RESISTOR_H_per_ohm: f32 = 2e-5;
/** Inductance that a coil has for each ohm at least (common practice, no published source), and a coupling that no coil beside another has. */
const COIL_H_per_ohm: f32 = 3e-4;
const UNCOUPLED_k: f32 = 0.01;
/** A piece of wire below this share of another one, of which no inductance was read, is a contact rather than a tap. */
const CONTACT_SHARE: f32 = 0.02;
/** Coils that touch, read as coils, couple less than this: side by side 0.05 to 0.2 (physics.md 1). */
const APART_k: f32 = 0.2;
/** Halves of the frame's junction within this ratio look like two sibling coils. */
const SIBLINGS: f32 = 0.75;
/** A fit must be this much better, in squared shares of what the touch showed, to decide. */
const BETTER: f32 = 0.03;
/** and leave no more than this: shares of a touch that other coils see. */
const GOOD_FIT: f32 = 0.06;

@inline function bit(mask: u32, n: u32): bool { return ((mask >> n) & 1) != 0; }
@inline function evidence(): Evidence { return changetype<Evidence>(<usize>EVIDENCE); }
function isBare(vertex: u32): bool { return vertex < CLIPS && frameClip(vertex) != 0; }
function touchesVertex(edge: Edge, vertex: u32): bool { return <u32>edge.p == vertex || <u32>edge.q == vertex; }
function isWire(edge: Edge): bool { return <u32>edge.kind == EDGE_TREE || <u32>edge.kind == EDGE_LOOP; }
function farEnd(edge: Edge, vertex: u32): u32 { return <u32>edge.p == vertex ? edge.q : edge.p; }

function wiresAt(vertex: u32): u32 {
  let count: u32 = 0;
  for (let n: u32 = 0; n < edgeCount; n++) if (isWire(edgeAt(n)) && touchesVertex(edgeAt(n), vertex)) count++;
  return count;
}

/** The k-th wire at a vertex, as an edge number. */
function wireAt(vertex: u32, k: u32): u32 {
  for (let n: u32 = 0; n < edgeCount; n++) {
    if (!isWire(edgeAt(n)) || !touchesVertex(edgeAt(n), vertex)) continue;
    if (k == 0) return n;
    k--;
  }
  return NOTHING;
}

/** Turns all edges into windings, stretches and contacts. */
export function findWindings(): void {
  openVertices = 0;
  for (let n: u32 = 0; n < edgeCount; n++) if (isPlainContact(n)) edgeAt(n).kind = <u8>EDGE_CONTACT;
  for (let vertex = CLIPS; vertex < CLIPS + hiddenCount; vertex++) takeContactOff(vertex);
  for (let vertex = CLIPS; vertex < CLIPS + hiddenCount; vertex++) settleHidden(vertex);
  for (let vertex: u32 = 0; vertex < CLIPS; vertex++) settleClip(vertex);
  settleRest();
  walkWindings();
}

/** A wire between two clips that cannot be a winding: next to nothing, megohms, or no inductance. */
function isPlainContact(n: u32): bool {
  const edge = edgeAt(n);
  if (!isWire(edge)) return false;
  if (edge.ohm > WINDING_MOST_ohm) return <u32>edge.p < CLIPS && <u32>edge.q < CLIPS;
  if (<u32>edge.p >= CLIPS || <u32>edge.q >= CLIPS) return false;
  const wound = readInductance(edge.p, edge.q);
  const isResistor = foundHenry + 2 * foundU_H < RESISTOR_H_per_ohm * edge.ohm;
  if (wound) return isResistor;
  if (couplesToNothing(edge)) return true;
  if (isFrameEnd(edge)) {
    // More pieces than coils, and the frame hangs on one of them: a contact at a coil's end rather than one more coil.
    const coils = expectedCoils();
    if (coils > 0 && looseWires() > coils && !isHeard(edge.p, edge.q)) {
      const frame: u32 = isBare(edge.p) ? edge.p : edge.q;
      addUnknown(UnknownText.bridgeOrTap, NONE, NONE, NONE, 1 << frame, 0);
      return true;
    }
  }
  for (let other: u32 = 0; other < edgeCount; other++) {
    if (other == n || edgeAt(other).part != edge.part || !isWire(edgeAt(other)) || isFrameEnd(edgeAt(other))) continue;
    const most: f32 = edgeAt(other).ohm;
    if (edge.ohm < CONTACT_SHARE * most || (edge.ohm < CONTACT_MOST_ohm && most > <f32>5 * edge.ohm)) return true;
  }
  return false;
}

/** Whether couplings to other wires were read and all are next to nothing of what this much wire in a coil would have. */
function couplesToNothing(edge: Edge): bool {
  let any = false;
  for (let n: u32 = 0; n < edgeCount; n++) {
    const other = edgeAt(n);
    if (!isWire(other) || !readCoupling(edge.p, edge.q, other.p, other.q)) continue;
    const most = abs<f32>(foundMutual) + 2 * foundU_H;
    if (!readInductance(other.p, other.q)) continue;
    if (most > UNCOUPLED_k * sqrt<f32>(foundHenry * COIL_H_per_ohm * edge.ohm)) return false;
    any = true;
  }
  return any;
}

/** Whether a wire ends at a frame that hangs on nothing else. */
function isFrameEnd(edge: Edge): bool {
  return isLoneFrame(edge.p) || isLoneFrame(edge.q);
}
function isLoneFrame(vertex: u32): bool { return isBare(vertex) && armIsFrame(vertex) && wiresAt(vertex) == 1; }

/** At a hidden junction: the edge to the frame, to another hidden junction or of little resistance is a contact. */
function takeContactOff(vertex: u32): void {
  let best: u32 = NOTHING;
  let rank: u32 = 0;
  for (let n: u32 = 0; n < edgeCount; n++) {
    const edge = edgeAt(n);
    if (!isWire(edge) || !touchesVertex(edge, vertex)) continue;
    const far = farEnd(edge, vertex);
    let candidate: u32 = 0;
    if (isBare(far) && armIsFrame(far) && wiresAt(far) == 1) candidate = 4;
    else if (far >= CLIPS) candidate = 3;
    else if (edge.ohm < CONTACT_MOST_ohm) candidate = 2;
    else if (edge.ohm > WINDING_MOST_ohm) candidate = 1;
    if (candidate > rank) {
      rank = candidate;
      best = n;
    }
  }
  if (best != NOTHING && wiresAt(vertex) >= 3) edgeAt(best).kind = <u8>EDGE_CONTACT;
}

/** Makes two edges one wire across a vertex. */
function link(vertex: u32, a: u32, b: u32): void {
  const first = edgeAt(a);
  const second = edgeAt(b);
  if (<u32>first.p == vertex) first.nextP = <u8>b;
  else first.nextQ = <u8>b;
  if (<u32>second.p == vertex) second.nextP = <u8>a;
  else second.nextQ = <u8>a;
}

function isLinked(vertex: u32, n: u32): bool {
  const edge = edgeAt(n);
  return (<u32>edge.p == vertex ? edge.nextP : edge.nextQ) != <u8>NOTHING;
}

function settleHidden(vertex: u32): void {
  const count = wiresAt(vertex);
  if (count == 2) {
    link(vertex, wireAt(vertex, 0), wireAt(vertex, 1));
  } else if (count == 3) {
    settleStar(vertex);
  } else if (count == 4) {
    pairUp(vertex);
  } else if (count > 4) {
    let clips: u32 = 0;
    for (let k: u32 = 0; k < count; k++) {
      const end = farEnd(edgeAt(wireAt(vertex, k)), vertex);
      if (end < CLIPS) clips |= 1 << end;
    }
    addUnknown(UnknownText.deltaOrStar, NONE, NONE, NONE, clips, 0);
  }
}

/** Three windings that meet inside: a star, or the ring with the same three resistances. */
function settleStar(vertex: u32): void {
  const a = edgeAt(wireAt(vertex, 0));
  const b = edgeAt(wireAt(vertex, 1));
  const c = edgeAt(wireAt(vertex, 2));
  const i = farEnd(a, vertex);
  const j = farEnd(b, vertex);
  const k = farEnd(c, vertex);
  if (i >= CLIPS || j >= CLIPS || k >= CLIPS) return;
  const clips: u32 = (1 << i) | (1 << j) | (1 << k);
  const star = fitOfArms(i, j, k);
  const ring = fitOfWindings(i, j, j, k, i, k);
  const isStar = star >= 0 && star + BETTER < ring;
  const isRing = ring >= 0 && ring + BETTER < star;
  const lone = wiresAt(i) == 1 && wiresAt(j) == 1 && wiresAt(k) == 1;
  if (!isRing && !isStar) addUnknown(UnknownText.starOrDelta, NONE, NONE, NONE, clips, 0);
  if (isStar || !lone) {
    if (!isStar) addUnknown(UnknownText.deltaOrStar, NONE, NONE, NONE, clips, 0);
    return;
  }
  // Star to delta: r_ij = a b (1/a + 1/b + 1/c), Kennelly.
  const sum: f32 = 1 / a.ohm + 1 / b.ohm + 1 / c.ohm;
  const part: u32 = a.part;
  const ab = a.ohm * b.ohm * sum;
  const bc = b.ohm * c.ohm * sum;
  const ac = a.ohm * c.ohm * sum;
  a.kind = <u8>EDGE_GONE;
  b.kind = <u8>EDGE_GONE;
  c.kind = <u8>EDGE_GONE;
  addRing(i, j, ab, a.u * 3, part);
  addRing(j, k, bc, b.u * 3, part);
  addRing(i, k, ac, c.u * 3, part);
}

/** A side of a ring; one of a few hundred kilohms is a contact at best. */
function addRing(i: u32, j: u32, ohm: f32, u: f32, part: u32): void {
  addEdge(i, j, ohm > WINDING_MOST_ohm ? EDGE_CONTACT : EDGE_LOOP, part, ohm, u);
}

/** Four wires at one hidden point: two coils that touch; which two belong together is asked of touches, then of likeness. */
function pairUp(vertex: u32): void {
  const w0 = wireAt(vertex, 0);
  const w1 = wireAt(vertex, 1);
  const w2 = wireAt(vertex, 2);
  const w3 = wireAt(vertex, 3);
  let best = partnerOf(vertex, w0, w1, w2, w3);
  const second = best == w1 ? w2 : w1;
  const third = best == w3 ? w2 : w3;
  link(vertex, w0, best);
  link(vertex, second, third);
}

/** The wire that goes on from w0 across a vertex of four, of w1, w2, w3. */
function partnerOf(vertex: u32, w0: u32, w1: u32, w2: u32, w3: u32): u32 {
  const a = farEnd(edgeAt(w0), vertex);
  const b = farEnd(edgeAt(w1), vertex);
  const c = farEnd(edgeAt(w2), vertex);
  const d = farEnd(edgeAt(w3), vertex);
  if (a < CLIPS && b < CLIPS && c < CLIPS && d < CLIPS) {
    const ab = fitOfWindings(a, b, c, d, NONE, NONE);
    const ac = fitOfWindings(a, c, b, d, NONE, NONE);
    const ad = fitOfWindings(a, d, b, c, NONE, NONE);
    if (ab >= 0 && ab + BETTER < ac && ab + BETTER < ad) return w1;
    if (ab >= 0 && ac + BETTER < ab && ac + BETTER < ad) return w2;
    if (ab >= 0 && ad + BETTER < ab && ad + BETTER < ac) return w3;
    // Two coils couple little; pieces of both would couple much.
    const kAB = readPairFactor(a, b, c, d);
    const kAC = readPairFactor(a, c, b, d);
    const kAD = readPairFactor(a, d, b, c);
    if (isApart(kAB) && !isApart(kAC) && !isApart(kAD)) return w1;
    if (isApart(kAC) && !isApart(kAB) && !isApart(kAD)) return w2;
    if (isApart(kAD) && !isApart(kAB) && !isApart(kAC)) return w3;
    addUnknown(UnknownText.pairingUnknown, NONE, NONE, NONE, (1 << a) | (1 << b) | (1 << c) | (1 << d), 0);
  }
  const e0 = edgeAt(w0).ohm;
  const e1 = edgeAt(w1).ohm;
  const e2 = edgeAt(w2).ohm;
  const e3 = edgeAt(w3).ohm;
  const first = unlikeness(e0 + e1, e2 + e3);
  const second = unlikeness(e0 + e2, e1 + e3);
  const third = unlikeness(e0 + e3, e1 + e2);
  return first <= second && first <= third ? w1 : second <= third ? w2 : w3;
}

/** Whether a coupling factor was read and is one of two coils side by side. */
@inline function isApart(k: f32): bool { return k >= 0 && k < APART_k; }

function unlikeness(x: f32, y: f32): f32 { return max<f32>(x, y) / min<f32>(x, y); }

/** At a clip where several wires meet: which carry on across it as one winding. */
function settleClip(vertex: u32): void {
  const count = wiresAt(vertex);
  if (count < 2) return;
  if (isFrameBetween(vertex) && bit(resistiveArms, vertex)) {
    // A soldered link is not that far from its frame: something inside touches it.
    openVertices |= 1 << vertex;
    link(vertex, wireAt(vertex, 0), wireAt(vertex, 1));
  }
  for (let round: u32 = 0; round < 2; round++) {
    let best: f32 = 0;
    let bestA: u32 = NOTHING;
    let bestB: u32 = NOTHING;
    for (let k: u32 = 0; k < count; k++) {
      const a = wireAt(vertex, k);
      if (isLinked(vertex, a)) continue;
      for (let l = k + 1; l < count; l++) {
        const b = wireAt(vertex, l);
        if (isLinked(vertex, b)) continue;
        const score = kinship(vertex, a, b);
        if (score <= best) continue;
        best = score;
        bestA = a;
        bestB = b;
      }
    }
    if (bestA == NOTHING) break;
    link(vertex, bestA, bestB);
  }
  if (count == 3) settleThree(vertex);
  const bare = isBare(vertex) && armIsFrame(vertex);
  if (count != 4 || !bare || expectedCoils() != 2) return;
  for (let k: u32 = 0; k < count; k++) if (isLinked(vertex, wireAt(vertex, k))) return;
  pairUp(vertex);
}

/** Three wires at a clip and more pieces than coils: two of them are one winding that the third one touches. */
function settleThree(vertex: u32): void {
  const coils = expectedCoils();
  if (coils == 0 || looseWires() <= coils) return;
  const a = wireAt(vertex, 0);
  const b = wireAt(vertex, 1);
  const c = wireAt(vertex, 2);
  if (isLinked(vertex, a) || isLinked(vertex, b) || isLinked(vertex, c)) return;
  const x = farClip(a, vertex);
  const y = farClip(b, vertex);
  const z = farClip(c, vertex);
  if (x >= CLIPS || y >= CLIPS || z >= CLIPS || x == y || y == z || x == z) return;
  const xy = fitOfWindings(x, y, vertex, z, NONE, NONE);
  const xz = fitOfWindings(x, z, vertex, y, NONE, NONE);
  const yz = fitOfWindings(y, z, vertex, x, NONE, NONE);
  if (xy < 0) return;
  if (xy + BETTER < xz && xy + BETTER < yz) link(vertex, a, b);
  else if (xz + BETTER < xy && xz + BETTER < yz) link(vertex, a, c);
  else if (yz + BETTER < xy && yz + BETTER < xz) link(vertex, b, c);
  else addUnknown(UnknownText.bridgeOrTap, NONE, NONE, NONE, 1 << vertex, 0);
}

/** Whether a frame by itself, with no lead on its node, lies between two wires. */
@inline function isFrameBetween(vertex: u32): bool { return isBare(vertex) && armIsFrame(vertex) && wiresAt(vertex) == 2; }

/** Whether the frame hangs at this vertex alone: a frame that is one node with a lead is a coil's end. */
function armIsFrame(vertex: u32): bool { return bit(evidence().bareMask, vertex); }

/** Clips with two wires and nothing that tells one winding from two coils: the likelier is taken and both are said. */
function settleRest(): void {
  for (let vertex: u32 = 0; vertex < CLIPS; vertex++) {
    if (wiresAt(vertex) != 2 || isLinked(vertex, wireAt(vertex, 0))) continue;
    if (kinship(vertex, wireAt(vertex, 0), wireAt(vertex, 1)) == 0) openVertices |= 1 << vertex;
  }
  const coils = expectedCoils();
  // A frame first: one that meets two unlike pieces of wire touches one winding rather than joins two coils.
  for (let vertex: u32 = 0; vertex < CLIPS; vertex++) {
    if (!bit(openVertices, vertex) || !(isBare(vertex) && armIsFrame(vertex))) continue;
    const a = wireAt(vertex, 0);
    const b = wireAt(vertex, 1);
    const unlike = unlikeness(edgeAt(a).ohm, edgeAt(b).ohm) > 1 / SIBLINGS;
    if (unlike || (coils > 0 && looseWires() > coils)) link(vertex, a, b);
  }
  // More pieces than coils: all of the clips that are left are taps, or nothing tells which.
  const excess = looseWires() - coils;
  let left: u32 = 0;
  for (let vertex: u32 = 0; vertex < CLIPS; vertex++) if (isOpenTap(vertex)) left++;
  if (coils == 0 || <i32>excess < <i32>left) return;
  for (let vertex: u32 = 0; vertex < CLIPS; vertex++) {
    if (isOpenTap(vertex)) link(vertex, wireAt(vertex, 0), wireAt(vertex, 1));
  }
}

function isOpenTap(vertex: u32): bool {
  return bit(openVertices, vertex) && !(isBare(vertex) && armIsFrame(vertex)) && !isLinked(vertex, wireAt(vertex, 0));
}

/** Wires, those that carry on across a vertex counted once. */
function looseWires(): u32 {
  let ends: u32 = 0;
  for (let n: u32 = 0; n < edgeCount; n++) {
    const edge = edgeAt(n);
    if (!isWire(edge)) continue;
    if (edge.nextP == <u8>NOTHING) ends++;
    if (edge.nextQ == <u8>NOTHING) ends++;
  }
  return ends / 2;
}

/** Clips at which one winding and two coils look the same. */
let openVertices: u32 = 0;

/** Says both readings of the clips that stayed open, after the touches: coils at places of their own are two. */
export function tellOpenVertices(): void {
  for (let vertex: u32 = 0; vertex < CLIPS; vertex++) {
    const bare = isBare(vertex) && armIsFrame(vertex);
    if (!bit(openVertices, vertex) && !isFrameBetween(vertex)) continue;
    for (let c: u32 = 0; c < contactCount; c++) {
      // Two coils in one line would be driven from two places.
      if (<u32>contactAt(c).at != vertex || windingAt(contactAt(c).winding).place != <u8>NONE) continue;
      addUnknown(UnknownText.bridgeOrLink, windingAt(contactAt(c).winding).firstStretch, NONE, NONE, 1 << vertex, 0);
    }
    let first: u32 = NONE;
    let second: u32 = NONE;
    for (let s: u32 = 0; s < stretchCount; s++) {
      if (<u32>stretchAt(s).a != vertex && <u32>stretchAt(s).b != vertex) continue;
      if (first == NONE) first = s;
      else second = s;
    }
    if (second == NONE || stretchAt(first).winding == stretchAt(second).winding) continue;
    const a = windingAt(stretchAt(first).winding).place;
    const b = windingAt(stretchAt(second).winding).place;
    if (bare || a == b || a == <u8>NONE || b == <u8>NONE) {
      addUnknown(bare ? UnknownText.linkOrBridge : UnknownText.tapOrLink, first, second, NONE, 0, 0);
    }
  }
}

/** How many coils the person or the places say there are, 0 when nobody said. */
export function expectedCoils(): u32 {
  const kind: u32 = evidence().kind;
  if (kind == Kind.single) return 1;
  if (kind == Kind.sideBySide || kind == Kind.stacked) return 2;
  if (kind == Kind.three) return 3;
  return evidence().placeCount;
}

/** The vertex at which a wire ends or can be heard, across the hidden points where something touches it. */
function farClip(first: u32, start: u32): u32 {
  let n = first;
  let vertex = farEnd(edgeAt(n), start);
  for (let steps = 0; steps < 4 && vertex >= CLIPS; steps++) {
    const next: u32 = <u32>edgeAt(n).p == vertex ? edgeAt(n).nextP : edgeAt(n).nextQ;
    if (next == NOTHING) break;
    n = next;
    vertex = farEnd(edgeAt(n), vertex);
  }
  return vertex;
}

/** Above 0: two wires at a vertex are one winding; below 0: two coils; 0: not told. By coupling, then by touches. */
function kinship(vertex: u32, a: u32, b: u32): f32 {
  const x = farClip(a, vertex);
  const y = farClip(b, vertex);
  if (x >= CLIPS || y >= CLIPS || vertex >= CLIPS || x == y) return 0;
  if (readCouplingFactor(x, vertex, y)) {
    if (foundFactor >= STACKED_MOST_k) return foundFactor;
    if (foundFactor + COUPLED_u * foundU_factor < ONE_WINDING_k) return -1;
    if (evidence().kind == <u8>Kind.stacked) return -1;
  }
  const one = fitOfWindings(x, y, NONE, NONE, NONE, NONE);
  const two = fitOfWindings(x, vertex, vertex, y, NONE, NONE);
  if (one < 0) return 0;
  const apart = two - one;
  if (apart > BETTER) return one < GOOD_FIT ? apart : 0;
  return apart < -BETTER && two < GOOD_FIT ? apart : 0;
}

/** A wire that is this many times any other one is no coil beside them when nothing drives it. */
const UNLIKE: f32 = 2.5;

/**
 * Every coil has its place and is driven from it, and one piece more is there that nothing drives and of which no
 * inductance was read: a contact. @returns whether one was found; then the windings are to be found again
 */
export function dropUndriven(): bool {
  const coils = expectedCoils();
  const kind: u32 = evidence().kind;
  if (coils == 0 || kind == Kind.stacked || windingCount <= coils) return false;
  let driven: u32 = 0;
  for (let w: u32 = 0; w < windingCount; w++) if (windingAt(w).place != <u8>NONE) driven++;
  if (driven != coils) return false;
  let dropped = false;
  for (let n: u32 = 0; n < edgeCount; n++) {
    const edge = edgeAt(n);
    if (<u32>edge.kind != EDGE_TREE || edge.nextP != <u8>NOTHING || edge.nextQ != <u8>NOTHING) continue;
    for (let w: u32 = 0; w < windingCount; w++) {
      const winding = windingAt(w);
      if (winding.place != <u8>NONE || winding.henry > 0 || !joins(edge, winding.i, winding.j)) continue;
      if (isAlone(n) || (kind == Kind.unknown && !isFrameEnd(edge) && !isUnlike(n))) continue;
      edge.kind = <u8>EDGE_CONTACT;
      dropped = true;
    }
  }
  return dropped;
}

/** Whether a wire is the only one of its part: then it is a coil, driven or not. */
function isAlone(n: u32): bool {
  for (let other: u32 = 0; other < edgeCount; other++) {
    if (other != n && isWire(edgeAt(other)) && edgeAt(other).part == edgeAt(n).part) return false;
  }
  return true;
}

function isUnlike(n: u32): bool {
  for (let other: u32 = 0; other < edgeCount; other++) {
    if (other == n || !isWire(edgeAt(other)) || edgeAt(other).part != edgeAt(n).part) continue;
    if (unlikeness(edgeAt(n).ohm, edgeAt(other).ohm) < UNLIKE) return false;
  }
  return true;
}

/** Follows every wire from one loose end to the other. */
function walkWindings(): void {
  for (let n: u32 = 0; n < edgeCount; n++) {
    const edge = edgeAt(n);
    if (!isWire(edge) || edge.walked != 0) continue;
    if (edge.nextP == <u8>NOTHING) walk(n, edge.p);
    else if (edge.nextQ == <u8>NOTHING) walk(n, edge.q);
  }
}

function walk(first: u32, start: u32): void {
  const winding = windingCount;
  const flags = (<u32>edgeAt(first).kind == EDGE_LOOP ? WINDING_LOOP : 0) | (start >= CLIPS ? WINDING_ARM : 0);
  const w = addWinding(start, start, edgeAt(first).part, flags);
  const firstContact = contactCount;
  let n = first;
  let vertex = start;
  let stretchStart = start;
  let distance: f32 = 0;
  let stretchOhm: f32 = 0;
  let variance: f32 = 0;
  for (let steps = 0; steps < 12; steps++) {
    const edge = edgeAt(n);
    edge.walked = 1;
    vertex = farEnd(edge, vertex);
    distance += edge.ohm;
    stretchOhm += edge.ohm;
    variance += edge.u * edge.u;
    const next: u32 = <u32>edge.p == vertex ? edge.nextP : edge.nextQ;
    if (next == NOTHING) break;
    const tap = vertex < CLIPS && !(isBare(vertex) && armIsFrame(vertex)) && wiresAt(vertex) == 2;
    if (tap) {
      listStretch(stretchStart, vertex, winding, stretchOhm, sqrt<f32>(variance), flags);
      stretchStart = vertex;
      stretchOhm = 0;
      variance = 0;
      w.flags |= <u8>WINDING_TAPPED;
      if (bit(resistiveArms, vertex)) addUnknown(UnknownText.bridgeOrTap, w.firstStretch, NONE, NONE, 1 << vertex, 0);
    } else {
      noteContacts(winding, vertex, distance);
    }
    n = next;
  }
  listStretch(stretchStart, vertex, winding, stretchOhm, sqrt<f32>(variance), flags);
  w.j = <u8>vertex;
  if (vertex >= CLIPS) w.flags |= <u8>WINDING_ARM;
  w.ohm = distance;
  for (let c = firstContact; c < contactCount; c++) contactAt(c).total_ohm = distance;
  if (contactCount > firstContact) w.flags |= <u8>WINDING_BRIDGED;
}

/** What touches a winding at a vertex in its middle. */
function noteContacts(winding: u32, vertex: u32, distance: f32): void {
  if (vertex < CLIPS) {
    addContact(winding, vertex, vertex, armOf(vertex), distance);
    return;
  }
  let found = false;
  for (let n: u32 = 0; n < edgeCount; n++) {
    const edge = edgeAt(n);
    if (<u32>edge.kind != EDGE_CONTACT || !touchesVertex(edge, vertex)) continue;
    addContact(winding, vertex, farEnd(edge, vertex), edge.ohm, distance);
    found = true;
  }
  if (!found && wiresAt(vertex) == 4) addContact(winding, vertex, vertex, 0, distance);
}

/** Lists a stretch; between two clips its resistance is the least that was read between the two nodes. */
function listStretch(a: u32, b: u32, winding: u32, ohm: f32, u: f32, flags: u32): void {
  const stretch = addStretch(a, b, winding, ohm, u);
  if (a >= CLIPS || b >= CLIPS || (flags & WINDING_LOOP) != 0) return;
  let least: f32 = f32.MAX_VALUE;
  for (let i: u32 = 0; i < CLIP_COUNT; i++) {
    for (let j: u32 = 0; j < CLIP_COUNT; j++) {
      if (i == j || stateOf(i, j) != PAIR_VALUE || partOf(i) == NOTHING || nodeOf(i) != a || nodeOf(j) != b) continue;
      if (ohmOf(i, j) >= least) continue;
      least = ohmOf(i, j);
      stretch.ohm = least;
      stretch.u = uOf(i, j);
    }
  }
}
