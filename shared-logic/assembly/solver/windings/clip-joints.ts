/**
 * Clips where several wires meet: which carry on across the clip as one winding, a tap, and which end there as coils of
 * their own, a link; by coupling, then by touches, then by how many coils there are. Where nothing tells, both are said.
 */
import { Kind, NONE, Swing, UnknownText } from '../../layout';
import { evidence, observedEvidence } from '../../blocks';
import { addUnknown } from '../ground/findings';
import { fitOfWindings } from '../hearing/fit';
import { pairUp } from './hidden-points';
import { expectedCoils } from '../ground/expected';
import { armIsFrame, farClip, isBare, isFrameBetween, isLinked, link, looseWires, unlikeness, wireAt, wiresAt } from './wires';
import { Factor, isApartToThird, readCouplingFactor, vertexOf } from '../ground/witness';
import { CLIPS, contactAt, contactCount, edgeAt, NOTHING, resistiveArms, stretchAt, stretchCount, windingAt } from '../ground/workspace';
import { APART_MOST_k, BELOW_u, FITS_BETTER, ONE_WINDING_k, SIBLINGS, STACKED_MOST_k } from '../ground/limits';
import { bit } from '../ground/mask';

/** Clips at which one winding and two coils look the same. */
let openVertices: u32 = 0;

/** Settles every clip at which several wires meet. */
export function settleClips(): void {
  openVertices = 0;
  for (let vertex: u32 = 0; vertex < CLIPS; vertex++) settleClip(vertex);
  settleRest();
}

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
  if (xy > max<f32>(xz, yz) + FITS_BETTER) link(vertex, a, b);
  else if (xz > max<f32>(xy, yz) + FITS_BETTER) link(vertex, a, c);
  else if (yz > max<f32>(xy, xz) + FITS_BETTER) link(vertex, b, c);
  else addUnknown(UnknownText.bridgeOrTap, NONE, NONE, NONE, 1 << vertex, 0);
}

const COUPLED: Factor = changetype<Factor>(memory.data(offsetof<Factor>()));
/** Above 0: two wires at a vertex are one winding; below 0: two coils; 0: not told. By coupling, then by touches. */
function kinship(vertex: u32, a: u32, b: u32): f32 {
  const x = farClip(a, vertex);
  const y = farClip(b, vertex);
  if (x >= CLIPS || y >= CLIPS || vertex >= CLIPS || x == y) return 0;
  if (readCouplingFactor(x, vertex, y, COUPLED)) {
    if (COUPLED.k >= STACKED_MOST_k) return COUPLED.k;
    const places: u32 = evidence().placeCount;
    if (isFrameBetween(vertex) && evidence().kind != <u8>Kind.stacked && places > 1 && COUPLED.k - 2 * COUPLED.u > APART_MOST_k) {
      return COUPLED.k;
    }
    if (COUPLED.k + BELOW_u * COUPLED.u < ONE_WINDING_k) return -1;
    if (evidence().kind == <u8>Kind.stacked) return -1;
  } else if (isApartToThird(x, vertex, y)) {
    return -1;
  }
  const one = fitOfWindings(x, y, NONE, NONE, NONE, NONE);
  const two = fitOfWindings(x, vertex, vertex, y, NONE, NONE);
  // What neither explains well tells nothing.
  return max<f32>(one, two) > FITS_BETTER && abs<f32>(one - two) > FITS_BETTER ? one - two : 0;
}

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
    if (isOpenTap(vertex) && !swingsOppose(vertex)) link(vertex, wireAt(vertex, 0), wireAt(vertex, 1));
  }
}

/** Whether swings seen at one place on both sides of a clip all go opposite ways along the wire: one winding's go together. */
function swingsOppose(vertex: u32): bool {
  const x = farClip(wireAt(vertex, 0), vertex);
  const y = farClip(wireAt(vertex, 1), vertex);
  const places: u32 = evidence().placeCount;
  let opposed = false;
  for (let place: u32 = 0; place < places; place++) {
    const before = swingsAlong(x, vertex, place);
    const after = swingsAlong(vertex, y, place);
    if (before == 0 || after == 0) continue;
    if (before == after || before == BOTH_WAYS || after == BOTH_WAYS) return false;
    opposed = true;
  }
  return opposed;
}

/** Bits of `swingsAlong`. */
const BOTH_WAYS: u32 = 3;
/** Which ways the swings at a place went from one vertex to another: 1 raised the second, 2 lowered it, 3 both, 0 none seen. */
function swingsAlong(from: u32, to: u32, place: u32): u32 {
  let ways: u32 = 0;
  for (let n: u32 = 0; n < <u32>evidence().observedCount; n++) {
    const it = observedEvidence(n);
    if (<u32>it.place != place || it.swing == <u8>Swing.none) continue;
    const plus = vertexOf(it.plus);
    const minus = vertexOf(it.minus);
    const positive = it.swing == <u8>Swing.positive;
    if (plus == to && minus == from) ways |= positive ? 1 : 2;
    else if (plus == from && minus == to) ways |= positive ? 2 : 1;
  }
  return ways;
}

function isOpenTap(vertex: u32): bool {
  return bit(openVertices, vertex) && !(isBare(vertex) && armIsFrame(vertex)) && !isLinked(vertex, wireAt(vertex, 0));
}

/** Says both readings of the clips that stayed open, after the touches: coils at places of their own are two. */
export function tellOpenVertices(): void {
  for (let vertex: u32 = 0; vertex < CLIPS; vertex++) {
    const bare = isBare(vertex) && armIsFrame(vertex);
    if (!bit(openVertices, vertex)) continue;
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
    if (!bare && expectedCoils() == 1 && swingsOppose(vertex)) {
      addUnknown(UnknownText.oppositeSwings, first, second, NONE, 1 << vertex, 0);
    } else if (bare || a == b || a == <u8>NONE || b == <u8>NONE) {
      addUnknown(bare ? UnknownText.linkOrBridge : UnknownText.tapOrLink, first, second, NONE, 0, 0);
    }
  }
}
