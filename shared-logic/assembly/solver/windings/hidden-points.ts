/** Hidden points where three or four wires meet inside: a star or a ring, and which wires carry on as one coil. */
import { NONE, UnknownText } from '../../layout';
import { addUnknown } from '../ground/findings';
import { fitOfArms, fitOfWindings } from '../hearing/fit';
import { expectedCoils } from '../ground/expected';
import { farEnd, link, looseWires, unlikeness, wireAt, wiresAt } from './wires';
import { readPairFactor } from '../ground/witness';
import { addEdge, CLIPS, EDGE_CONTACT, EDGE_GONE, EDGE_LOOP, edgeAt, NOTHING } from '../ground/workspace';
import { APART_k, FITS_BETTER, WINDING_MOST_ohm } from '../ground/limits';

export function settleHidden(vertex: u32): void {
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
  const isStar = star > ring + FITS_BETTER;
  const isRing = ring > star + FITS_BETTER;
  const lone = wiresAt(i) == 1 && wiresAt(j) == 1 && wiresAt(k) == 1;
  if (!isRing && !isStar) addUnknown(UnknownText.starOrDelta, NONE, NONE, NONE, clips, 0);
  if (isStar || !lone) {
    if (isStar) return;
    addUnknown(UnknownText.deltaOrStar, NONE, NONE, NONE, clips, 0);
    // More pieces than coils: the arm to a clip where more wire ends touches the winding that the two others are.
    const coils = expectedCoils();
    if (coils > 0 && looseWires() > coils) linkLone(vertex);
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

/** Of three arms that only one shares its clip with more wire: the other two are one winding, and that one touches it. */
function linkLone(vertex: u32): void {
  let shared: u32 = NOTHING;
  for (let n: u32 = 0; n < 3; n++) {
    if (wiresAt(farEnd(edgeAt(wireAt(vertex, n)), vertex)) < 2) continue;
    if (shared != NOTHING) return;
    shared = wireAt(vertex, n);
  }
  if (shared == NOTHING) return;
  edgeAt(shared).kind = <u8>EDGE_CONTACT;
  link(vertex, wireAt(vertex, 0), wireAt(vertex, 1));
}

/** A side of a ring; one of a few hundred kilohms is a contact at best. */
function addRing(i: u32, j: u32, ohm: f32, u: f32, part: u32): void {
  addEdge(i, j, ohm > WINDING_MOST_ohm ? EDGE_CONTACT : EDGE_LOOP, part, ohm, u);
}

/** Four wires at one hidden point: two coils that touch; which two belong together is asked of touches, then of likeness. */
export function pairUp(vertex: u32): void {
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
    if (ab > max<f32>(ac, ad) + FITS_BETTER) return w1;
    if (ac > max<f32>(ab, ad) + FITS_BETTER) return w2;
    if (ad > max<f32>(ab, ac) + FITS_BETTER) return w3;
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
