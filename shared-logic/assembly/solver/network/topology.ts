/**
 * One connected part's resistances to edges: a tree with hidden junctions where the four-point rule holds (every
 * pickup without loops), the reduced Laplacian of a network with loops otherwise (physics.md 2).
 */
import { CLIP_COUNT, EVIDENCE, Evidence, Finding, FindingText, NONE, Severity, UnknownText } from '../../layout';
import { addFinding, addUnknown, setClips } from '../ground/findings';
import { isNode } from './network';
import {
  addEdge, addHidden, CLIPS, dropEdges, Edge, EDGE_CONTACT, EDGE_GONE, EDGE_LOOP, EDGE_TREE, edgeAt, edgeCount, NOTHING, ohmOf, PAIR_FILLED,
  markOddPart, markResistiveArm, setArm, SQUARE_A, SQUARE_B, SQUARE_C, stateOf, uOf, VERTICES,
} from '../ground/workspace';
import { CONTACT_MOST_ohm, JOINED_ohm, LEAK_ohm, TAP_LEAD_ohm, VIOLATED_u, WINDING_MOST_ohm } from '../ground/limits';

/** Nodes of the part at hand, as clip indices in rising order. */
const nodes: usize = memory.data(8);
/** Edge by which each vertex was reached, while a path is looked for. */
const parents: usize = memory.data(16);
let nodeCount: u32 = 0;

@inline function node(n: u32): u32 { return load<u8>(nodes + n); }

/** Adds the edges of one part. @param part - its number @param mask - clips in use */
export function buildPart(part: u32, mask: u32): void {
  nodeCount = 0;
  for (let i: u32 = 0; i < CLIP_COUNT; i++) if (isNode(i, part, mask)) store<u8>(nodes + nodeCount++, <u8>i);
  if (nodeCount < 2) return;
  const worst = worstFourPoint();
  if (worst <= VIOLATED_u || !buildLoops(part, worst)) buildTree(part);
}

function nodeMask(): u32 {
  let clips: u32 = 0;
  for (let n: u32 = 0; n < nodeCount; n++) clips |= 1 << node(n);
  return clips;
}

/** Largest violation of "of the three sums of opposite pairs the two largest are equal", in standard uncertainties. */
function worstFourPoint(): f32 {
  let worst: f32 = 0;
  for (let a: u32 = 0; a < nodeCount; a++) {
    for (let b = a + 1; b < nodeCount; b++) {
      for (let c = b + 1; c < nodeCount; c++) {
        for (let d = c + 1; d < nodeCount; d++) worst = max<f32>(worst, fourPoint(node(a), node(b), node(c), node(d)));
      }
    }
  }
  return worst;
}

function fourPoint(a: u32, b: u32, c: u32, d: u32): f32 {
  if (stateOf(a, b) == PAIR_FILLED || stateOf(a, c) == PAIR_FILLED || stateOf(a, d) == PAIR_FILLED) return 0;
  if (stateOf(b, c) == PAIR_FILLED || stateOf(b, d) == PAIR_FILLED || stateOf(c, d) == PAIR_FILLED) return 0;
  const x = ohmOf(a, b) + ohmOf(c, d);
  const y = ohmOf(a, c) + ohmOf(b, d);
  const z = ohmOf(a, d) + ohmOf(b, c);
  const most = max<f32>(x, max<f32>(y, z));
  const least = min<f32>(x, min<f32>(y, z));
  const middle = x + y + z - most - least;
  let variance: f32 = 0;
  // The two largest sums hold four of the six readings.
  if (x != least) variance += uOf(a, b) * uOf(a, b) + uOf(c, d) * uOf(c, d);
  if (y != least) variance += uOf(a, c) * uOf(a, c) + uOf(b, d) * uOf(b, d);
  if (z != least) variance += uOf(a, d) * uOf(a, d) + uOf(b, c) * uOf(b, c);
  if (variance <= 0) return 0;
  return (most - middle) / sqrt<f32>(variance);
}

// ---------------------------------------------------------------- trees

/** Puts the nodes into a tree one after the other, each where its path leaves the tree that is there. */
function buildTree(part: u32): void {
  let first: u32 = 0;
  let second: u32 = 1;
  for (let a: u32 = 0; a < nodeCount; a++) {
    for (let b = a + 1; b < nodeCount; b++) {
      if (ohmOf(node(a), node(b)) > ohmOf(node(first), node(second))) {
        first = a;
        second = b;
      }
    }
  }
  const from = edgeCount;
  addEdge(node(first), node(second), EDGE_TREE, part, ohmOf(node(first), node(second)), uOf(node(first), node(second)));
  let placed: u32 = (1 << first) | (1 << second);
  for (let round: u32 = 2; round < nodeCount; round++) {
    for (let n: u32 = 0; n < nodeCount; n++) {
      if (((placed >> n) & 1) != 0) continue;
      insertNode(node(n), placed, part, from);
      placed |= 1 << n;
      break;
    }
  }
}

/** Finds the pair of nodes in the tree to whose path a new node lies nearest, and hangs it on there. */
function insertNode(x: u32, placed: u32, part: u32, from: u32): void {
  let bestI: u32 = 0;
  let bestJ: u32 = 0;
  let arm: f32 = f32.MAX_VALUE;
  for (let a: u32 = 0; a < nodeCount; a++) {
    if (((placed >> a) & 1) == 0) continue;
    for (let b = a + 1; b < nodeCount; b++) {
      if (((placed >> b) & 1) == 0) continue;
      const i = node(a);
      const j = node(b);
      const candidate = armFrom(i, j, x);
      if (candidate >= arm) continue;
      arm = candidate;
      bestI = i;
      bestJ = j;
    }
  }
  const u_arm = u_armFrom(bestI, bestJ, x);
  const near = max<f32>(JOINED_ohm, VIOLATED_u * u_arm);
  const position = armFrom(bestI, x, bestJ);
  const onPath = arm <= near;
  if (onPath && armIsSure(x, placed, near)) markResistiveArm(x);
  const at = vertexAt(bestI, bestJ, position, near, onPath ? x : NOTHING, part, from);
  if (at == x) {
    setArm(x, max<f32>(0, arm));
    return;
  }
  if (onPath && at >= CLIPS) {
    rename(at, x, from);
    setArm(x, max<f32>(0, arm));
    return;
  }
  addEdge(at, x, EDGE_TREE, part, max<f32>(arm, 0), u_arm);
}

/** Whether any pair of placed nodes tells the arm of a node on its path from a soldered lead's. */
function armIsSure(x: u32, placed: u32, near: f32): bool {
  for (let a: u32 = 0; a < nodeCount; a++) {
    for (let b = a + 1; b < nodeCount; b++) {
      if (((placed >> a) & 1) == 0 || ((placed >> b) & 1) == 0) continue;
      const i = node(a);
      const j = node(b);
      const arm = armFrom(i, j, x);
      if (arm <= near && arm >= TAP_LEAD_ohm && arm > VIOLATED_u * u_armFrom(i, j, x)) return true;
    }
  }
  return false;
}

function square(x: f32): f32 { return x * x; }

/** Ohms from x to the path between i and j, and their standard uncertainty (physics.md 2: a star met with two arms). */
function armFrom(i: u32, j: u32, x: u32): f32 { return (ohmOf(i, x) + ohmOf(j, x) - ohmOf(i, j)) / 2; }
function u_armFrom(i: u32, j: u32, x: u32): f32 {
  return sqrt<f32>(square(uOf(i, x)) + square(uOf(j, x)) + square(uOf(i, j))) / 2;
}

/**
 * The vertex on the path from i to j that lies `position` ohms from j, made by cutting an edge where there is none.
 * @param near - vertices within this are taken as they are @param name - of a new vertex, NOTHING for a hidden one
 */
function vertexAt(i: u32, j: u32, position: f32, near: f32, name: u32, part: u32, from: u32): u32 {
  reach(i, from);
  let vertex = j;
  let passed: f32 = 0;
  let slack = near;
  for (let steps = 0; steps < 10; steps++) {
    if (vertex == i || abs<f32>(position - passed) <= slack) return vertex;
    const edge = edgeAt(load<u8>(parents + vertex));
    const next: u32 = <u32>edge.p == vertex ? edge.q : edge.p;
    // A junction is known to where its own readings put it: what is closer to it than that is no contact beside it.
    slack = next == i ? near : near + VIOLATED_u * edge.u;
    if (position < passed + edge.ohm - slack) {
      return cut(edge, vertex, position - passed, name, part);
    }
    passed += edge.ohm;
    vertex = next;
  }
  return i;
}

/** Notes for each vertex the edge that leads back towards `start`. */
function reach(start: u32, from: u32): void {
  memory.fill(parents, <u8>NOTHING, 16);
  for (let pass: u32 = 0; pass < 10; pass++) {
    for (let n = from; n < edgeCount; n++) {
      const edge = edgeAt(n);
      const knowsP = <u32>edge.p == start || load<u8>(parents + edge.p) != <u8>NOTHING;
      const knowsQ = <u32>edge.q == start || load<u8>(parents + edge.q) != <u8>NOTHING;
      if (knowsP && !knowsQ) store<u8>(parents + edge.q, <u8>n);
      if (knowsQ && !knowsP) store<u8>(parents + edge.p, <u8>n);
    }
  }
}

/** Cuts an edge at a distance from one of its vertices. @returns the new vertex */
function cut(edge: Edge, vertex: u32, distance: f32, name: u32, part: u32): u32 {
  const made = name == NOTHING ? addHidden() : name;
  const far: u32 = <u32>edge.p == vertex ? edge.q : edge.p;
  const rest = edge.ohm - distance;
  const u = edge.u;
  edge.p = <u8>vertex;
  edge.q = <u8>made;
  edge.ohm = distance;
  addEdge(made, far, EDGE_TREE, part, rest, u);
  return made;
}

/** A hidden vertex turns out to be a clip. */
function rename(hidden: u32, clip: u32, from: u32): void {
  for (let n = from; n < edgeCount; n++) {
    const edge = edgeAt(n);
    if (<u32>edge.p == hidden) edge.p = <u8>clip;
    if (<u32>edge.q == hidden) edge.q = <u8>clip;
  }
}

// ---------------------------------------------------------------- loops

function at(base: u32, i: u32, j: u32): f32 { return load<f32>(<usize>(base + (i * 6 + j) * 4)); }
function put(base: u32, i: u32, j: u32, value: f32): void { store<f32>(<usize>(base + (i * 6 + j) * 4), value); }

/**
 * Edges of a network with loops, from the inverse of B_ij = (R_in + R_jn - R_ij)/2.
 * @param worst - violation of the four-point rule, for the sentence
 * @returns false when no network of coils gives these readings; then it was told
 */
function buildLoops(part: u32, worst: f32): bool {
  const from = edgeCount;
  const possible = invert() && conductances(part);
  const loops = possible && nodeCount <= countCoils(from);
  if (loops) {
    foldFrames(part, from);
    addUnknown(UnknownText.networkLoop, NONE, NONE, NONE, nodeMask(), 0);
    return true;
  }
  dropEdges(from);
  const finding = addFinding(Finding.contradiction, Severity.warning, FindingText.networkImpossible);
  setClips(finding, nodeMask());
  finding.value = worst;
  addUnknown(UnknownText.networkUnsolved, NONE, NONE, NONE, nodeMask(), 0);
  markOddPart(part);
  return false;
}

/** Edges that may be windings; a tree of n nodes has one less than n. */
function countCoils(from: u32): u32 {
  let count: u32 = 0;
  for (let n = from; n < edgeCount; n++) {
    const ohm = edgeAt(n).ohm;
    if (ohm >= CONTACT_MOST_ohm && ohm <= WINDING_MOST_ohm) count++;
  }
  return count;
}

/** Cholesky factor of B in SQUARE_A, then the full Laplacian in SQUARE_B. @returns whether B is positive definite */
function invert(): bool {
  const m = nodeCount - 1;
  const last = node(m);
  for (let i: u32 = 0; i < m; i++) {
    for (let j: u32 = 0; j <= i; j++) {
      let sum = armFrom(node(i), node(j), last);
      for (let k: u32 = 0; k < j; k++) sum -= at(SQUARE_A, i, k) * at(SQUARE_A, j, k);
      if (i == j) {
        if (!(sum > 0)) return false;
        put(SQUARE_A, i, i, sqrt<f32>(sum));
      } else {
        put(SQUARE_A, i, j, sum / at(SQUARE_A, j, j));
      }
    }
  }
  // Inverse of the lower factor in SQUARE_C, then Q = inverse^T * inverse.
  for (let i: u32 = 0; i < m; i++) {
    for (let j: u32 = 0; j < m; j++) put(SQUARE_C, i, j, 0);
    put(SQUARE_C, i, i, 1 / at(SQUARE_A, i, i));
    for (let j: u32 = 0; j < i; j++) {
      let sum: f32 = 0;
      for (let k = j; k < i; k++) sum -= at(SQUARE_A, i, k) * at(SQUARE_C, k, j);
      put(SQUARE_C, i, j, sum / at(SQUARE_A, i, i));
    }
  }
  for (let i: u32 = 0; i < m; i++) {
    let row: f32 = 0;
    for (let j: u32 = 0; j < m; j++) {
      let sum: f32 = 0;
      for (let k = max<u32>(i, j); k < m; k++) sum += at(SQUARE_C, k, i) * at(SQUARE_C, k, j);
      put(SQUARE_B, i, j, sum);
      row += sum;
    }
    put(SQUARE_B, i, m, -row);
    put(SQUARE_B, m, i, -row);
  }
  let corner: f32 = 0;
  for (let i: u32 = 0; i < m; i++) corner -= at(SQUARE_B, i, m);
  put(SQUARE_B, m, m, corner);
  return true;
}

/** Standard uncertainty of one conductance: dQ = Q dOmega Q / 2, readings independent (physics.md 2). */
function u_conductance(i: u32, j: u32): f32 {
  let variance: f32 = 0;
  for (let k: u32 = 0; k < nodeCount; k++) {
    for (let l = k + 1; l < nodeCount; l++) {
      const weight = (at(SQUARE_B, i, k) * at(SQUARE_B, l, j) + at(SQUARE_B, i, l) * at(SQUARE_B, k, j)) / 2;
      variance += square(weight * uOf(node(k), node(l)));
    }
  }
  return sqrt<f32>(variance);
}

/** One edge for each conductance that is surely above zero. @returns false when one is surely below zero */
function conductances(part: u32): bool {
  // f32 leaves 1e-6 of the largest conductance in every other one.
  let most: f32 = 0;
  for (let i: u32 = 0; i < nodeCount; i++) most = max<f32>(most, at(SQUARE_B, i, i));
  for (let i: u32 = 0; i < nodeCount; i++) {
    for (let j = i + 1; j < nodeCount; j++) {
      const g = -at(SQUARE_B, i, j);
      const limit = VIOLATED_u * u_conductance(i, j) + <f32>1e-5 * most;
      if (g < -limit) return false;
      if (g <= limit || g * LEAK_ohm < 1) continue;
      const u = u_conductance(i, j) / (g * g);
      addEdge(node(i), node(j), EDGE_LOOP, part, 1 / g, u);
    }
  }
  return true;
}

/** A frame that hangs on two nodes of a ring touches the winding between them: the triangle becomes a star. */
function foldFrames(part: u32, from: u32): void {
  const bareMask: u32 = changetype<Evidence>(<usize>EVIDENCE).bareMask;
  for (let n: u32 = 0; n < nodeCount; n++) {
    const frame = node(n);
    if (((bareMask >> frame) & 1) == 0) continue;
    let count: u32 = 0;
    let first: u32 = NOTHING;
    let second: u32 = NOTHING;
    for (let e = from; e < edgeCount; e++) {
      const edge = edgeAt(e);
      if (edge.kind != <u8>EDGE_LOOP || (<u32>edge.p != frame && <u32>edge.q != frame)) continue;
      count++;
      if (count == 1) first = e;
      else second = e;
    }
    if (count != 2) continue;
    const a = edgeAt(first);
    const b = edgeAt(second);
    const endA: u32 = <u32>a.p == frame ? a.q : a.p;
    const endB: u32 = <u32>b.p == frame ? b.q : b.p;
    let across: f32 = 0;
    for (let e = from; e < edgeCount; e++) {
      const edge = edgeAt(e);
      if (edge.kind != <u8>EDGE_LOOP || !joins(edge, endA, endB)) continue;
      across = 1 / edge.ohm;
      edge.kind = <u8>EDGE_GONE;
    }
    if (CLIPS + 1 >= VERTICES) return;
    const hidden = addHidden();
    const gA: f32 = 1 / a.ohm;
    const gB: f32 = 1 / b.ohm;
    const sum: f32 = gA * gB + across * (gA + gB);
    a.p = <u8>endA;
    a.q = <u8>hidden;
    a.ohm = gB / sum;
    b.p = <u8>hidden;
    b.q = <u8>endB;
    b.ohm = gA / sum;
    addEdge(hidden, frame, EDGE_CONTACT, part, across / sum, a.u);
  }
}

/** Whether an edge runs between two vertices. */
export function joins(edge: Edge, a: u32, b: u32): bool {
  return (<u32>edge.p == a && <u32>edge.q == b) || (<u32>edge.p == b && <u32>edge.q == a);
}
