/** Wires to windings: follows each from end to end, and lists the stretches between clips that the wire map names. */
import { CLIP_COUNT, NONE, UnknownText } from '../../layout';
import { settleClips } from './clip-joints';
import { isPlainContact, takeContactOff } from './contacts';
import { addUnknown } from '../ground/findings';
import { settleHidden } from './hidden-points';
import { armIsFrame, farEnd, isBare, isWire, touchesVertex, wiresAt } from './wires';
import {
  addContact, addStretch, addWinding, armOf, CLIPS, contactAt, contactCount, EDGE_CONTACT, EDGE_LOOP, edgeAt, edgeCount,
  hiddenCount, nodeOf, NOTHING, ohmOf, PAIR_VALUE, partOf, resistiveArms, stateOf, uOf, WINDING_LOOP, WINDING_ARM,
  WINDING_TAPPED, WINDING_BRIDGED, windingCount,
} from '../ground/workspace';
import { bit } from '../ground/mask';

/** Turns all edges into windings, stretches and contacts. */
export function findWindings(): void {
  for (let n: u32 = 0; n < edgeCount; n++) if (isPlainContact(n)) edgeAt(n).kind = <u8>EDGE_CONTACT;
  for (let vertex = CLIPS; vertex < CLIPS + hiddenCount; vertex++) takeContactOff(vertex);
  for (let vertex = CLIPS; vertex < CLIPS + hiddenCount; vertex++) settleHidden(vertex);
  settleClips();
  walkWindings();
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
