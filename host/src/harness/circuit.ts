/**
 * A harness as a circuit: nodal analysis of one setting with each pickup wired in one of several ways.
 *
 * Every pickup is first reduced to its terminals (Schur complement, also called Kron reduction), once for each wiring and
 * frequency; a setting then holds the nodes of the harness alone.
 */
import { bankAt, type CoilBank } from './coil-bank.ts';
import { factor, solve } from './complex-matrix.ts';
import type { FittedPickup } from './fitted-pickup.ts';
import { settingsOf, type Harness } from './harness.ts';
import { Merge } from './merge.ts';
import { NodeNames } from './node-names.ts';
import type { Placement } from './ways.ts';

/** A resistance that nothing can tell from a joint: both ends are one node. */
const JOINT_ohm = 1e-9;

/** A pickup with its leads put somewhere, by nodes of the harness. */
export interface Wiring {
  /** Nodes of the harness that some coil hangs on. */
  readonly terminals: readonly number[];
  /** Nodes of the harness that the leads make one. */
  readonly joins: readonly (readonly [number, number])[];
  /** Terminals (by index) that a coil's winding connects, through others or not. */
  readonly links: readonly (readonly [number, number])[];
  /** Node of each lead of the frame, or -1 where it is insulated. */
  readonly frame: readonly number[];
  /** Ends of each coil: indices of terminals, then of what lies inside; -1 is a point inside that is held at 0. */
  readonly minus: readonly number[];
  readonly plus: readonly number[];
  readonly inside: number;
  readonly bank: CoilBank;
  /** Equal for wirings of one circuit that join and connect the same nodes, whatever lies between them. */
  readonly shape: number;
}

/** A wiring seen from its terminals, at one frequency. */
export interface WiringBlock {
  /** terminals by terminals, siemens. */
  readonly admittance: Float64Array;
  /** terminals by coils, siemens: current into each terminal for one volt of emf in a coil. */
  readonly source: Float64Array;
}

interface Branch {
  readonly a: number;
  readonly b: number;
  readonly value: number;
}

export class Circuit {
  readonly settings: readonly (readonly number[])[];
  private readonly names: NodeNames;
  private readonly index = new Map<string, number>();
  private readonly shapes = new Map<string, number>();
  private readonly siemens: Branch[] = [];
  private readonly farads: Branch[] = [];
  private readonly joints: [number, number][] = [];
  private readonly harness: Harness;
  private readonly hot: number;
  private readonly ground: number;
  private nodes = 0;

  constructor(harness: Harness) {
    this.harness = harness;
    this.names = new NodeNames(harness);
    for (const name of this.names.all()) this.index.set(name, this.nodes++);
    this.settings = settingsOf(harness);
    this.hot = this.node(harness.output.hot);
    this.ground = this.node(harness.output.ground);
    this.parts();
  }

  private node(name: string): number {
    return this.index.get(name) as number;
  }

  private parts(): void {
    for (const part of this.harness.parts ?? []) {
      if (part.kind === 'capacitor')
        this.farads.push({ a: this.node(part.a), b: this.node(part.b), value: part.farad_F });
      else if (part.kind === 'resistor') this.resistance(this.node(part.a), this.node(part.b), part.ohm);
      else {
        const { ohm, turn = 1 } = part;
        const [a, b] = [part.a, part.b].map((end) => (end === null ? this.nodes++ : this.node(end))) as [number, number];
        const wiper = this.node(part.wiper);
        this.resistance(a, wiper, (1 - turn) * ohm);
        this.resistance(wiper, b, turn * ohm);
      }
    }
  }

  private resistance(a: number, b: number, ohm: number): void {
    if (ohm < JOINT_ohm) this.joints.push([a, b]);
    else this.siemens.push({ a, b, value: 1 / ohm });
  }

  /** A pickup with its leads put on nodes. */
  wiring({ slot, leads, bank }: Pick<FittedPickup, 'slot' | 'leads' | 'bank'>, placement: Placement): Wiring {
    const wiring = wire(leads, bank, placement, (node) => (this.names.isPrivate(node, slot.slot) ? null : this.node(node)));
    const key = JSON.stringify([wiring.terminals, wiring.joins, wiring.links]);
    if (!this.shapes.has(key)) this.shapes.set(key, this.shapes.size);
    return { ...wiring, shape: this.shapes.get(key) as number };
  }

  /** The nodes of one setting as they are joined, without any pickup. */
  joined(setting: number): Merge {
    const merge = new Merge(this.nodes);
    for (const [a, b] of this.joints) merge.join(a, b);
    const lists = [
      ...(this.harness.joins ?? []),
      ...this.harness.switches.flatMap(({ positions }, at) => positions[this.settings[setting]![at] as number]!.joins ?? []),
    ];
    for (const [first, ...rest] of lists) for (const other of rest) merge.join(this.node(first!), this.node(other));
    return merge;
  }

  /** One setting, ready to be solved.
   * @param base - what `joined` gave for the setting
   * @param wirings - of each pickup
   * @param kind - at `dc` capacitors and the load are left out
   */
  layout(base: Merge, wirings: readonly Wiring[], kind: 'ac' | 'dc'): Layout {
    const { hot, ground, siemens, farads, harness } = this;
    const { ohm, farad_F } = harness.load ?? {};
    const conductances = [...siemens];
    const capacitances = kind === 'ac' ? [...farads] : [];
    if (kind === 'ac' && ohm !== undefined) conductances.push({ a: hot, b: ground, value: 1 / ohm });
    if (kind === 'ac' && farad_F !== undefined && farad_F > 0) capacitances.push({ a: hot, b: ground, value: farad_F });
    return new Layout(this.nodes, base, wirings, conductances, capacitances, hot, ground);
  }

  /**
   * Which pickups can have any part in a setting, by pickup. What hangs on ground alone has none: only what is connected to
   * hot by other ways than ground counts, each pickup taken to connect all nodes that any of its wirings touches.
   */
  reach(base: Merge, wirings: readonly (readonly Wiring[])[]): boolean[] {
    const merge = new Merge(base);
    const ground = base.find(this.ground);
    const isGround = (node: number): boolean => base.find(node) === ground;
    const link = (nodes: readonly number[]): void => {
      const others = nodes.filter((node) => !isGround(node));
      for (const node of others.slice(1)) merge.join(others[0]!, node);
    };
    for (const { a, b } of [...this.siemens, ...this.farads]) link([a, b]);
    const touched = wirings.map((some) => some.flatMap(({ terminals, joins }) => [...terminals, ...joins.flat()]));
    for (const nodes of touched) link(nodes);
    return touched.map((nodes) => nodes.some((node) => !isGround(node) && merge.same(node, this.hot)));
  }
}

/** Puts a pickup's leads on nodes. @param nodeOf - of the harness, null for a node that only joins leads of this pickup */
function wire(
  { coils, chassis, joined, clips }: FittedPickup['leads'],
  bank: CoilBank,
  placement: Placement,
  nodeOf: (name: string) => number | null,
): Omit<Wiring, 'shape'> {
  // Points are the clips, then every name that stands for a node.
  const names = [...new Set([...placement.values()].flat())];
  const point = (clip: number): number => clips.indexOf(clip);
  const merge = new Merge(clips.length + names.length);
  for (const group of joined) for (const clip of group.slice(1)) merge.join(point(group[0]!), point(clip));
  for (const [clip, nodes] of placement)
    for (const node of nodes) merge.join(point(clip), clips.length + names.indexOf(node));
  const outside = new Map<number, number>();
  const joins: [number, number][] = [];
  names.forEach((name, at) => {
    const node = nodeOf(name);
    if (node === null) return;
    const root = merge.find(clips.length + at);
    const other = outside.get(root);
    if (other === undefined) outside.set(root, node);
    else joins.push([other, node]);
  });
  const roots = coils.flatMap(({ minus, plus }) => [merge.find(point(minus)), merge.find(point(plus))]);
  // In the order of the nodes, so that what differs in the pickup alone has one shape.
  const reached = [...new Set(roots)].filter((root) => outside.has(root)).sort((a, b) => outside.get(a)! - outside.get(b)!);
  const terminals = reached.map((root) => outside.get(root) as number);
  const places = new Map(reached.map((root, at) => [root, at]));
  const { inside, links } = insidePoints(roots, places, terminals.length);
  return {
    terminals,
    joins,
    links,
    frame: chassis.map((clip) => outside.get(merge.find(point(clip))) ?? -1),
    minus: coils.map((_, at) => places.get(roots[2 * at]!) as number),
    plus: coils.map((_, at) => places.get(roots[2 * at + 1]!) as number),
    inside,
    bank,
  };
}

/** Numbers the points that no terminal reaches into, and holds one of every winding that hangs on nothing. */
function insidePoints(
  roots: readonly number[],
  places: Map<number, number>,
  terminals: number,
): { inside: number; links: [number, number][] } {
  const distinct = [...new Set(roots)];
  const connected = new Merge(distinct.length);
  for (let at = 0; at < roots.length; at += 2) connected.join(distinct.indexOf(roots[at]!), distinct.indexOf(roots[at + 1]!));
  const links: [number, number][] = [];
  const anchor = new Map<number, number>();
  for (const [root, place] of places) {
    const group = connected.find(distinct.indexOf(root));
    const first = anchor.get(group);
    if (first === undefined) anchor.set(group, place);
    else links.push([first, place]);
  }
  let inside = 0;
  distinct.forEach((root, at) => {
    if (places.has(root)) return;
    const group = connected.find(at);
    if (anchor.has(group)) places.set(root, terminals + inside++);
    else {
      anchor.set(group, -1);
      places.set(root, -1);
    }
  });
  return { inside, links };
}

/** A wiring at one angular frequency, radians per second, with what lies inside eliminated. */
export function blockAt({ terminals, minus, plus, inside, bank }: Wiring, omega: number): WiringBlock {
  const { admittance, source } = bankAt(bank, omega);
  const coils = bank.coils.length;
  const outer = terminals.length;
  const size = outer + inside;
  const y = new Float64Array(2 * size * size);
  const j = new Float64Array(2 * size * coils);
  for (let a = 0; a < coils; a++) {
    for (const [row, rowSign] of [[plus[a]!, 1], [minus[a]!, -1]] as const) {
      if (row < 0) continue;
      for (let b = 0; b < coils; b++) {
        const at = 2 * (a * coils + b);
        add(j, 2 * (row * coils + b), source, at, rowSign);
        if (plus[b]! >= 0) add(y, 2 * (row * size + plus[b]!), admittance, at, rowSign);
        if (minus[b]! >= 0) add(y, 2 * (row * size + minus[b]!), admittance, at, -rowSign);
      }
    }
  }
  return inside === 0 ? { admittance: y, source: j } : condense(y, j, outer, inside, coils);
}

function add(to: Float64Array, at: number, from: Float64Array, from_at: number, sign: number): void {
  to[at]! += sign * from[from_at]!;
  to[at + 1]! += sign * from[from_at + 1]!;
}

/** Schur complement: Yoo - Yoi Yii^-1 Yio, and the same for the sources. */
function condense(y: Float64Array, j: Float64Array, outer: number, inside: number, coils: number): WiringBlock {
  const size = outer + inside;
  const columns = outer + coils;
  const core = new Float64Array(2 * inside * inside);
  const right = new Float64Array(2 * inside * columns);
  for (let i = 0; i < inside; i++) {
    const row = outer + i;
    core.set(y.subarray(2 * (row * size + outer), 2 * (row + 1) * size), 2 * i * inside);
    right.set(y.subarray(2 * row * size, 2 * (row * size + outer)), 2 * i * columns);
    right.set(j.subarray(2 * row * coils, 2 * (row + 1) * coils), 2 * (i * columns + outer));
  }
  const pivots = new Int32Array(inside);
  factor(core, inside, pivots);
  solve(core, inside, pivots, right, columns);
  const admittance = new Float64Array(2 * outer * outer);
  const source = new Float64Array(2 * outer * coils);
  for (let row = 0; row < outer; row++) {
    for (let column = 0; column < columns; column++) {
      const isY = column < outer;
      const from = isY ? 2 * (row * size + column) : 2 * (row * coils + column - outer);
      let [re, im] = isY ? [y[from]!, y[from + 1]!] : [j[from]!, j[from + 1]!];
      for (let i = 0; i < inside; i++) {
        const [ar, ai] = [y[2 * (row * size + outer + i)]!, y[2 * (row * size + outer + i) + 1]!];
        const [br, bi] = [right[2 * (i * columns + column)]!, right[2 * (i * columns + column) + 1]!];
        re -= ar * br - ai * bi;
        im -= ar * bi + ai * br;
      }
      const [to, at] = isY ? [admittance, 2 * (row * outer + column)] : [source, 2 * (row * coils + column - outer)];
      to[at] = re;
      to[at + 1] = im;
    }
  }
  return { admittance, source };
}

/** The nodes of one setting as unknowns. */
export class Layout {
  /** What stands between hot and ground of the output: one node, no path, or something. */
  readonly output: 'one node' | 'apart' | 'connected';
  private readonly merge: Merge;
  private readonly size: number;
  private readonly hot: number;
  private readonly ground: number;
  private readonly conductances: readonly Branch[];
  private readonly capacitances: readonly Branch[];
  private readonly places: readonly (readonly number[])[];
  private readonly y: Float64Array;
  private readonly right: Float64Array;
  private readonly pivots: Int32Array;

  constructor(
    nodes: number,
    base: Merge,
    wirings: readonly Wiring[],
    conductances: readonly Branch[],
    capacitances: readonly Branch[],
    hot: number,
    ground: number,
  ) {
    const merge = new Merge(base);
    for (const { joins } of wirings) for (const [a, b] of joins) merge.join(a, b);
    const connected = new Merge(merge);
    for (const { a, b } of conductances) connected.join(a, b);
    for (const { a, b } of capacitances) connected.join(a, b);
    for (const { terminals, links } of wirings)
      for (const [a, b] of links) connected.join(terminals[a]!, terminals[b]!);
    const home = connected.find(ground);
    // One node of everything that floats is held at 0: only differences count there.
    const held = new Set<number>([home]);
    const index = new Map<number, number>([[merge.find(ground), -1]]);
    let size = 0;
    for (let node = 0; node < nodes; node++) {
      const root = merge.find(node);
      if (index.has(root)) continue;
      const group = connected.find(root);
      index.set(root, held.has(group) ? size++ : -1);
      held.add(group);
    }
    const place = (node: number): number => index.get(merge.find(node)) as number;
    this.merge = merge;
    this.ground = ground;
    this.size = size;
    this.hot = place(hot);
    this.output = merge.same(hot, ground) ? 'one node' : connected.same(hot, ground) ? 'connected' : 'apart';
    const placed = ({ a, b, value }: Branch): Branch => ({ a: place(a), b: place(b), value });
    const isThere = ({ a, b }: Branch): boolean => a !== b;
    this.conductances = conductances.map(placed).filter(isThere);
    this.capacitances = capacitances.map(placed).filter(isThere);
    this.places = wirings.map(({ terminals }) => terminals.map(place));
    this.y = new Float64Array(2 * size * size);
    this.right = new Float64Array(2 * size);
    this.pivots = new Int32Array(size);
  }

  /** Whether a node of the harness is the output's ground. */
  isGround(node: number): boolean {
    return node >= 0 && this.merge.same(node, this.ground);
  }

  /** Volts at hot for one ampere into it, ohms, complex; what each coil gives follows from it by `shareOf`.
   * @param blocks - of each pickup at this frequency
   * @param omega - radians per second
   */
  solve(blocks: readonly WiringBlock[], omega: number): void {
    const { y, right, size, pivots, places, hot } = this;
    y.fill(0);
    for (const { a, b, value } of this.conductances) this.stamp(a, b, value, 0);
    for (const { a, b, value } of this.capacitances) this.stamp(a, b, omega * value, 1);
    for (let p = 0; p < blocks.length; p++) {
      const place = places[p]!;
      const { admittance } = blocks[p]!;
      const count = place.length;
      for (let i = 0; i < count; i++) {
        const row = place[i]!;
        if (row < 0) continue;
        for (let k = 0; k < count; k++) {
          const column = place[k]!;
          if (column < 0) continue;
          const [to, from] = [2 * (row * size + column), 2 * (i * count + k)];
          y[to]! += admittance[from]!;
          y[to + 1]! += admittance[from + 1]!;
        }
      }
    }
    right.fill(0);
    right[2 * hot] = 1;
    factor(y, size, pivots);
    solve(y, size, pivots, right, 1);
  }

  private stamp(a: number, b: number, value: number, part: 0 | 1): void {
    const { y, size } = this;
    if (a >= 0) y[2 * (a * size + a) + part]! += value;
    if (b >= 0) y[2 * (b * size + b) + part]! += value;
    if (a < 0 || b < 0) return;
    y[2 * (a * size + b) + part]! -= value;
    y[2 * (b * size + a) + part]! -= value;
  }

  /** Resistance at the output, ohms, after `solve` at 0. */
  ohm(): number {
    return this.right[2 * this.hot] as number;
  }

  /** Reactance at the output, ohms, after `solve`. */
  reactance_ohm(): number {
    return this.right[2 * this.hot + 1] as number;
  }

  /**
   * Volts at the output for one volt of emf in a coil, after `solve`. A network of such parts is reciprocal, its matrix
   * symmetric, so that one solution with a current at hot serves every coil.
   * @param into - its first two entries are set: real, imaginary
   */
  shareOf(pickup: number, coil: number, blocks: readonly WiringBlock[], coils: number, into: Float64Array): void {
    const { right, places } = this;
    const place = places[pickup]!;
    const { source } = blocks[pickup]!;
    let [re, im] = [0, 0];
    for (let i = 0; i < place.length; i++) {
      const row = place[i]!;
      if (row < 0) continue;
      const at = 2 * (i * coils + coil);
      const [vr, vi, jr, ji] = [right[2 * row]!, right[2 * row + 1]!, source[at]!, source[at + 1]!];
      re += vr * jr - vi * ji;
      im += vr * ji + vi * jr;
    }
    into[0] = re;
    into[1] = im;
  }
}
