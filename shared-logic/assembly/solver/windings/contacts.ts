/** Which edges are contacts and not wire: next to nothing, megohms, no inductance, the frame's, or driven from nowhere. */
import { Kind, NONE, UnknownText } from '../../layout';
import { evidence } from '../../blocks';
import { addUnknown } from '../ground/findings';
import { joins } from '../network/topology';
import { expectedCoils } from '../ground/expected';
import {
  armIsFrame, farEnd, isBare, isFrameBetween, isFrameEnd, isWire, looseWires, touchesVertex, unlikeness, wiresAt,
} from './wires';
import { Inductance, isHeard, readCoupling, Reading, readInductance, swingsSeen } from '../ground/witness';
import { CLIPS, Edge, EDGE_CONTACT, EDGE_TREE, edgeAt, edgeCount, NOTHING, windingAt, windingCount } from '../ground/workspace';
import {
  BESIDE_CONTACT, CLEAR_u, COIL_H_per_ohm, CONTACT_MOST_ohm, CONTACT_SHARE, RESISTOR_FULL_ohm, RESISTOR_H_per_ohm, UNCOUPLED_k, UNLIKE,
  VIOLATED_u, WINDING_MOST_ohm, WOUND_u,
} from '../ground/limits';

const SELF: Inductance = changetype<Inductance>(memory.data(offsetof<Inductance>()));
const MUTUAL: Reading = changetype<Reading>(memory.data(offsetof<Reading>()));

/** A wire between two clips that cannot be a winding: next to nothing, megohms, or no inductance. */
export function isPlainContact(n: u32): bool {
  const edge = edgeAt(n);
  if (!isWire(edge)) return false;
  if (edge.ohm > WINDING_MOST_ohm) return <u32>edge.p < CLIPS && <u32>edge.q < CLIPS;
  if (<u32>edge.p >= CLIPS || <u32>edge.q >= CLIPS) return false;
  const wound = readInductance(edge.p, edge.q, SELF);
  const isResistor = SELF.henry + 2 * SELF.u < RESISTOR_H_per_ohm * edge.ohm * min<f32>(1, edge.ohm / RESISTOR_FULL_ohm);
  if (wound && isResistor) return true;
  // An inductance that is lost in its own uncertainty says as little as none: then what drives the wire tells.
  if (wound && (SELF.henry > WOUND_u * SELF.u || isAlive(edge, WOUND_u))) return false;
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
  // A frame on the way between two leads touches a winding near its end rather than being that end.
  if (isFrameBetween(edge.p) || isFrameBetween(edge.q)) return false;
  // What shorts a coil shows a little of it too: only a share that a tap may have is believed to be wire.
  const alive = !isFrameEnd(edge) && isAlive(edge);
  for (let other: u32 = 0; other < edgeCount; other++) {
    if (other == n || edgeAt(other).part != edge.part || !isWire(edgeAt(other)) || isFrameEnd(edgeAt(other))) continue;
    const most: f32 = edgeAt(other).ohm;
    // Beside a leak every coil is short.
    if (most > WINDING_MOST_ohm) continue;
    if (edge.ohm < CONTACT_SHARE * most || (!alive && edge.ohm < CONTACT_MOST_ohm && most > BESIDE_CONTACT * edge.ohm)) return true;
  }
  return false;
}

/** Whether couplings to other wires were read and all are next to nothing of what this much wire in a coil would have. */
function couplesToNothing(edge: Edge): bool {
  let any = false;
  for (let n: u32 = 0; n < edgeCount; n++) {
    const other = edgeAt(n);
    if (!isWire(other) || !readCoupling(edge.p, edge.q, other.p, other.q, MUTUAL)) continue;
    const most = abs<f32>(MUTUAL.henry) + 2 * MUTUAL.u;
    if (!readInductance(other.p, other.q, SELF)) continue;
    if (most > UNCOUPLED_k * sqrt<f32>(SELF.henry * COIL_H_per_ohm * edge.ohm)) return false;
    any = true;
  }
  return any;
}

/**
 * Whether a touch or another wire's current made a voltage between the two ends of a wire: a contact has none of its own.
 * @param clear - uncertainties of a coupling that is there
 */
function isAlive(edge: Edge, clear: f32 = CLEAR_u): bool {
  // What is no longer than its own error is not known to be there.
  if (edge.ohm < VIOLATED_u * edge.u) return false;
  if (isHeard(edge.p, edge.q) || swingsSeen(edge.p, edge.q) > 0) return true;
  for (let n: u32 = 0; n < edgeCount; n++) {
    const other = edgeAt(n);
    if (isWire(other) && readCoupling(edge.p, edge.q, other.p, other.q, MUTUAL) && abs<f32>(MUTUAL.henry) > clear * MUTUAL.u) return true;
  }
  return false;
}

/** At a hidden junction: the edge to the frame, to another hidden junction or of little resistance is a contact. */
export function takeContactOff(vertex: u32): void {
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
      if (winding.place != <u8>NONE || winding.henry > 0 || isAlive(edge) || !joins(edge, winding.i, winding.j)) continue;
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
