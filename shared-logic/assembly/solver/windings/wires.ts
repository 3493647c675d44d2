/**
 * Wires as edges between clips and hidden points: which edges are wire, which of them meet where, how one carries on as
 * the next, and where the frame hangs on them.
 */
import { evidence } from '../../blocks';
import { frameClip } from '../network/network';
import { CLIPS, Edge, EDGE_LOOP, EDGE_TREE, edgeAt, edgeCount, NOTHING } from '../ground/workspace';
import { bit } from '../ground/mask';

/** Whether an edge is wire: no contact, not taken out. */
export function isWire(edge: Edge): bool { return <u32>edge.kind == EDGE_TREE || <u32>edge.kind == EDGE_LOOP; }

export function touchesVertex(edge: Edge, vertex: u32): bool { return <u32>edge.p == vertex || <u32>edge.q == vertex; }
/** The vertex at the other end of an edge. */
export function farEnd(edge: Edge, vertex: u32): u32 { return <u32>edge.p == vertex ? edge.q : edge.p; }

export function wiresAt(vertex: u32): u32 {
  let count: u32 = 0;
  for (let n: u32 = 0; n < edgeCount; n++) if (isWire(edgeAt(n)) && touchesVertex(edgeAt(n), vertex)) count++;
  return count;
}

/** The k-th wire at a vertex, as an edge number. */
export function wireAt(vertex: u32, k: u32): u32 {
  for (let n: u32 = 0; n < edgeCount; n++) {
    if (!isWire(edgeAt(n)) || !touchesVertex(edgeAt(n), vertex)) continue;
    if (k == 0) return n;
    k--;
  }
  return NOTHING;
}

/** Makes two edges one wire across a vertex. */
export function link(vertex: u32, a: u32, b: u32): void {
  const first = edgeAt(a);
  const second = edgeAt(b);
  if (<u32>first.p == vertex) first.nextP = <u8>b;
  else first.nextQ = <u8>b;
  if (<u32>second.p == vertex) second.nextP = <u8>a;
  else second.nextQ = <u8>a;
}

export function isLinked(vertex: u32, n: u32): bool {
  const edge = edgeAt(n);
  return (<u32>edge.p == vertex ? edge.nextP : edge.nextQ) != <u8>NOTHING;
}

/** The vertex at which a wire ends or can be heard, across the hidden points where something touches it. */
export function farClip(first: u32, start: u32): u32 {
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

/** Wires, those that carry on across a vertex counted once. */
export function looseWires(): u32 {
  let ends: u32 = 0;
  for (let n: u32 = 0; n < edgeCount; n++) {
    const edge = edgeAt(n);
    if (!isWire(edge)) continue;
    if (edge.nextP == <u8>NOTHING) ends++;
    if (edge.nextQ == <u8>NOTHING) ends++;
  }
  return ends / 2;
}

/** How many times one resistance is the other, 1 or more. */
export function unlikeness(x: f32, y: f32): f32 { return max<f32>(x, y) / min<f32>(x, y); }

export function isBare(vertex: u32): bool { return vertex < CLIPS && frameClip(vertex) != 0; }

/** Whether the frame hangs at this vertex alone: a frame that is one node with a lead is a coil's end. */
export function armIsFrame(vertex: u32): bool { return bit(evidence().bareMask, vertex); }

/** Whether a wire ends at a frame that hangs on nothing else. */
export function isFrameEnd(edge: Edge): bool {
  return isLoneFrame(edge.p) || isLoneFrame(edge.q);
}
function isLoneFrame(vertex: u32): bool { return isBare(vertex) && armIsFrame(vertex) && wiresAt(vertex) == 1; }

/** Whether a frame by itself, with no lead on its node, lies between two wires. */
@inline export function isFrameBetween(vertex: u32): bool { return isBare(vertex) && armIsFrame(vertex) && wiresAt(vertex) == 2; }
