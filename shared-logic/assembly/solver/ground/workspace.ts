/** The solver's scratch memory at SOLVER: readings by clip, vertices and edges, windings, stretches and contacts. */
import { SOLVER, SOLVER_bytes } from '../../layout';

/** Clips by index 0 to 5; hidden junctions are the vertices from 6 up. */
export const CLIPS: u32 = 6;
export const VERTICES: u32 = 16;
const MAX_EDGES: u32 = 24;
export const MAX_WINDINGS: u32 = 15;
const MAX_STRETCHES: u32 = 15;
const MAX_CONTACTS: u32 = 12;
/** No vertex, edge, winding. */
export const NOTHING: u32 = 255;

/** What is known of a pair of clips. */
export const PAIR_MISSING: u32 = 0;
export const PAIR_VALUE: u32 = 1;
export const PAIR_OPEN: u32 = 2;
/** Not read, but the shortest way round is taken for it. */
export const PAIR_FILLED: u32 = 3;

const OHM: u32 = SOLVER;
const U_OHM: u32 = OHM + 36 * 4;
const ABOVE: u32 = U_OHM + 36 * 4;
const STATE: u32 = ABOVE + 36 * 4;
const NODE: u32 = STATE + 36;
const PART: u32 = NODE + 8;
const ARM: u32 = (PART + 8 + 3) & ~3;
const EDGES: u32 = ARM + VERTICES * 4;
const WINDINGS: u32 = EDGES + MAX_EDGES * offsetof<Edge>();
const STRETCHES: u32 = WINDINGS + MAX_WINDINGS * offsetof<Winding>();
const CONTACTS: u32 = STRETCHES + MAX_STRETCHES * offsetof<Stretch>();
/** Square matrices of f32, at most 6 by 6, for the inverse. */
export const SQUARE_A: u32 = CONTACTS + MAX_CONTACTS * offsetof<Contact>();
export const SQUARE_B: u32 = SQUARE_A + 36 * 4;
export const SQUARE_C: u32 = SQUARE_B + 36 * 4;
/** Tables of the assignment of places to windings. */
export const ASSIGNMENT: u32 = SQUARE_C + 36 * 4;
export const ASSIGNMENT_bytes: u32 = SOLVER + SOLVER_bytes - ASSIGNMENT;

@inline function cell(i: u32, j: u32): u32 { return i * 6 + j; }

/** Ohms between two clips. @param i - clip index @param j - clip index */
@inline export function ohmOf(i: u32, j: u32): f32 { return load<f32>(<usize>(OHM + cell(i, j) * 4)); }
/** Standard uncertainty of that. */
@inline export function uOf(i: u32, j: u32): f32 { return load<f32>(<usize>(U_OHM + cell(i, j) * 4)); }
/** Lower limit of a pair that was read as open, ohms. */
@inline export function aboveOf(i: u32, j: u32): f32 { return load<f32>(<usize>(ABOVE + cell(i, j) * 4)); }
@inline export function stateOf(i: u32, j: u32): u32 { return load<u8>(<usize>(STATE + cell(i, j))); }
export function setPair(i: u32, j: u32, state: u32, ohm: f32, u: f32): void {
  store<f32>(<usize>(OHM + cell(i, j) * 4), ohm);
  store<f32>(<usize>(OHM + cell(j, i) * 4), ohm);
  store<f32>(<usize>(U_OHM + cell(i, j) * 4), u);
  store<f32>(<usize>(U_OHM + cell(j, i) * 4), u);
  store<u8>(<usize>(STATE + cell(i, j)), <u8>state);
  store<u8>(<usize>(STATE + cell(j, i)), <u8>state);
}
export function setAbove(i: u32, j: u32, above: f32): void {
  store<f32>(<usize>(ABOVE + cell(i, j) * 4), above);
  store<f32>(<usize>(ABOVE + cell(j, i) * 4), above);
}

/** The clip that stands for a clip's node. */
@inline export function nodeOf(i: u32): u32 { return load<u8>(<usize>(NODE + i)); }
@inline export function setNode(i: u32, node: u32): void { store<u8>(<usize>(NODE + i), <u8>node); }
/** Number of the connected part that a clip belongs to. */
@inline export function partOf(i: u32): u32 { return load<u8>(<usize>(PART + i)); }
@inline export function setPart(i: u32, part: u32): void { store<u8>(<usize>(PART + i), <u8>part); }
/** Ohms between a vertex and the winding on which it was found to lie: its contact. */
@inline export function armOf(vertex: u32): f32 { return load<f32>(<usize>(ARM + vertex * 4)); }
@inline export function setArm(vertex: u32, ohm: f32): void { store<f32>(<usize>(ARM + vertex * 4), ohm); }
/** Clips whose contact is surely more than nothing, bit per clip index. */
export let resistiveArms: u32 = 0;
export function markResistiveArm(clip: u32): void { resistiveArms |= 1 << clip; }
/** Parts whose readings contradict each other by far, bit per part. */
export let oddParts: u32 = 0;
export function markOddPart(part: u32): void { oddParts |= 1 << part; }
/** Parts of which some pair was not read, bit per part. */
export let filledParts: u32 = 0;
export function markFilledPart(part: u32): void { filledParts |= 1 << part; }

/** A piece of conductor between two vertices. */
@unmanaged export class Edge {
  p: u8;
  q: u8;
  /** One of EDGE_. */
  kind: u8;
  /** The edge that carries on the same winding beyond p or q, NOTHING for none. */
  nextP: u8;
  nextQ: u8;
  /** 1 once a winding has taken it. */
  walked: u8;
  part: u8;
  reserved: u8;
  ohm: f32;
  u: f32;
  reserved2: u32;
}
/** A tree's edge, an edge of a network with loops, no winding but a contact, or taken out. */
export const EDGE_TREE: u32 = 0;
export const EDGE_LOOP: u32 = 1;
export const EDGE_CONTACT: u32 = 2;
export const EDGE_GONE: u32 = 3;
@inline export function edgeAt(n: u32): Edge { return changetype<Edge>(<usize>(EDGES + n * offsetof<Edge>())); }

/** What one touch moves as a whole: one coil's wire, tapped or not. */
@unmanaged export class Winding {
  /** Ends as vertices; a hidden one from CLIPS up. */
  i: u8;
  j: u8;
  part: u8;
  /** `WINDING_LOOP` and the other bits below. */
  flags: u8;
  /** Sum of its edges, ohms. */
  ohm: f32;
  /** ln of P(i positive at arrival) / P(j positive), 0 = not known; sum over touches. */
  sign: f32;
  /** Place that drives it, NONE if not known; and the others. */
  place: u8;
  pole: u8;
  stretchCount: u8;
  firstStretch: u8;
  placeMask: u32;
  /** Of a hidden junction: places whose touch lifts end i, and those whose touch lifts end j, a bit each. */
  upMask: u8;
  downMask: u8;
  reserved: u16;
  /** Henry, 0 when not measured, its u; loss ohm, 0 when not measured. */
  henry: f32;
  u_henry: f32;
  loss_ohm: f32;
}

/** A listed coil: winding between two clips with no clip between. */
@unmanaged export class Stretch {
  /** Ends as vertices. */
  a: u8;
  b: u8;
  winding: u8;
  /** 1 when a to b runs as i to j of the winding. */
  forward: u8;
  /** Index in the result after sorting. */
  index: u8;
  ohm: f32;
  u: f32;
  henry: f32;
  u_henry: f32;
  loss_ohm: f32;
}
/** Bits of Winding.flags. An edge of a loop. */
export const WINDING_LOOP: u32 = 1;
/** An arm of a star with a hidden middle. */
export const WINDING_ARM: u32 = 2;
export const WINDING_TAPPED: u32 = 4;
export const WINDING_BRIDGED: u32 = 8;
/** A hidden junction inside; and its coils work against each other. */
export const WINDING_HIDDEN: u32 = 16;
export const WINDING_OPPOSED: u32 = 32;
/** Its touches were heard by way of pairs that nobody read. */
export const WINDING_GUESSED: u32 = 64;
@inline export function windingAt(n: u32): Winding { return changetype<Winding>(<usize>(WINDINGS + n * offsetof<Winding>())); }
@inline export function stretchAt(n: u32): Stretch { return changetype<Stretch>(<usize>(STRETCHES + n * offsetof<Stretch>())); }

/** A point of a winding that touches something. */
@unmanaged export class Contact {
  winding: u8;
  /** Vertex on the winding. */
  at: u8;
  /** Vertex that touches it. */
  other: u8;
  /** 1 told already. */
  told: u8;
  /** Ohms of the contact, and of the winding from its end i to the point. */
  ohm: f32;
  distance_ohm: f32;
}
@inline export function contactAt(n: u32): Contact { return changetype<Contact>(<usize>(CONTACTS + n * offsetof<Contact>())); }

export let edgeCount: u32 = 0;
export let windingCount: u32 = 0;
export let stretchCount: u32 = 0;
export let contactCount: u32 = 0;
export let hiddenCount: u32 = 0;

/** Empties the scratch: a solve must not see the one before. */
export function workspaceClear(): void {
  memory.fill(<usize>SOLVER, 0, <usize>SOLVER_bytes);
  resistiveArms = 0;
  oddParts = 0;
  filledParts = 0;
  edgeCount = 0;
  windingCount = 0;
  stretchCount = 0;
  contactCount = 0;
  hiddenCount = 0;
}

/** Drops windings that were added to be weighed only. */
export function dropWindings(): void {
  memory.fill(<usize>WINDINGS, 0, <usize>(windingCount * offsetof<Winding>()));
  windingCount = 0;
}

/** Forgets windings, stretches and contacts, and how edges were followed; the edges stay. */
export function forgetWindings(): void {
  memory.fill(<usize>WINDINGS, 0, <usize>(SQUARE_A - WINDINGS));
  windingCount = 0;
  stretchCount = 0;
  contactCount = 0;
  for (let n: u32 = 0; n < edgeCount; n++) {
    const edge = edgeAt(n);
    edge.nextP = <u8>NOTHING;
    edge.nextQ = <u8>NOTHING;
    edge.walked = 0;
  }
}

/** Takes the edges from one number on back. */
export function dropEdges(from: u32): void {
  memory.fill(<usize>(EDGES + from * offsetof<Edge>()), 0, <usize>((edgeCount - from) * offsetof<Edge>()));
  edgeCount = from;
}

/** A new edge: all parts together have at most 9 of trees and 6 of rings that stand for their hidden points, or 15 of a loop. */
export function addEdge(p: u32, q: u32, kind: u32, part: u32, ohm: f32, u: f32): Edge {
  assert(edgeCount < MAX_EDGES);
  const edge = edgeAt(edgeCount++);
  edge.p = <u8>p;
  edge.q = <u8>q;
  edge.kind = <u8>kind;
  edge.nextP = <u8>NOTHING;
  edge.nextQ = <u8>NOTHING;
  edge.part = <u8>part;
  edge.ohm = ohm;
  edge.u = u;
  return edge;
}

export function addHidden(): u32 {
  assert(CLIPS + hiddenCount < VERTICES);
  return CLIPS + hiddenCount++;
}

export function addWinding(i: u32, j: u32, part: u32, flags: u32): Winding {
  assert(windingCount < MAX_WINDINGS);
  const winding = windingAt(windingCount++);
  winding.i = <u8>i;
  winding.j = <u8>j;
  winding.part = <u8>part;
  winding.flags = <u8>flags;
  winding.firstStretch = <u8>stretchCount;
  return winding;
}

export function addStretch(a: u32, b: u32, winding: u32, ohm: f32, u: f32): Stretch {
  assert(stretchCount < MAX_STRETCHES);
  const stretch = stretchAt(stretchCount++);
  stretch.a = <u8>a;
  stretch.b = <u8>b;
  stretch.winding = <u8>winding;
  stretch.forward = 1;
  stretch.ohm = ohm;
  stretch.u = u;
  windingAt(winding).stretchCount++;
  return stretch;
}

export function addContact(winding: u32, at: u32, other: u32, ohm: f32, distance_ohm: f32): void {
  if (contactCount == MAX_CONTACTS) return;
  const contact = contactAt(contactCount++);
  contact.winding = <u8>winding;
  contact.at = <u8>at;
  contact.other = <u8>other;
  contact.ohm = ohm;
  contact.distance_ohm = distance_ohm;
}
