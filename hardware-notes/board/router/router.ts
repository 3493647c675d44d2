/**
 * A router by negotiated congestion (L. McMurchie and C. Ebeling, "PathFinder", FPGA 1995) on the grid.
 *
 * Every net is routed as if it were alone but for a price on cells that others use; the price rises from pass to pass and
 * stays on cells that were fought for, until nobody shares one. Only nets in conflict are routed again. A plane is a goal:
 * a via into a piece of the net's own plane ends the search.
 */
import { FAB } from './fab.ts';
import { CELLS_PER_mm, FREE, Grid, type Component } from './grid.ts';
import { Heap } from './heap.ts';
import type { Job, Layer, Routed, Track, Via } from './job.ts';

/** Between routed copper: a little more than the rule, which diagonals on the grid would touch. */
const SPACE = FAB.clearance + 0.02;
const VIA_PRICE = 160;
const PLANE_BONUS = 60;
const TURN_PRICE = 12;
const BEND_PRICE = 2;
const APART_PRICE = 25;
/** Reach of the keep-apart price, cells. */
const APART = 7.5;
const HISTORY = 8;
const PASSES_most = 150;
const STEPS: readonly (readonly [number, number])[] = [[1, 0], [1, 1], [0, 1], [-1, 1], [-1, 0], [-1, -1], [0, -1], [1, -1]];
/** The front prefers across, the back down: crossing bundles then meet at vias, not at each other. */
const STEP_PRICE: readonly (readonly number[])[] = [[10, 15, 13, 15, 10, 15, 13, 15], [13, 15, 10, 15, 13, 15, 10, 15]];

interface Net {
  readonly id: number;
  readonly name: string;
  readonly components: Component[];
  readonly noVia: boolean;
  readonly wide: boolean;
  readonly kind: 0 | 1 | 2;
  readonly span: number;
  path: number[];
  vias: number[];
  /** Pairs of nodes. */
  segments: number[];
  shadow: number[][];
  viaShadow: number[];
  isBad: boolean;
  failures: string[];
}

/** Routes a job. @param say - told how it goes */
export function route(job: Job, say: (line: string) => void = () => {}): Routed {
  return new Router(job, say).run();
}

class Router {
  readonly #job: Job;
  readonly #say: (line: string) => void;
  readonly #grid: Grid;
  readonly #nets: Net[];
  readonly #used: readonly [Uint8Array, Uint8Array];
  readonly #viaUsed: Uint8Array;
  readonly #history: readonly [Int32Array, Int32Array];
  readonly #viaHistory: Int32Array;
  /** Copper of high-ohm (1) and digital (2) nets nearby, by kind and layer. */
  readonly #nearby: readonly (readonly [Uint8Array, Uint8Array])[];
  readonly #cost: Int32Array;
  readonly #from: Int32Array;
  readonly #mark: Int32Array;
  readonly #tree: Int32Array;
  readonly #seen: Int32Array;
  readonly #heap = new Heap();
  readonly #discs: { readonly track: number[]; readonly via: number[]; readonly vias: number[]; readonly apart: number[] };
  readonly #joined = new Set<Component>();
  readonly #joinedPieces = new Set<number>();
  #run = 0;
  #treeId = 0;
  #epoch = 0;
  #price = 0;
  #box = { x1: 0, y1: 0, x2: 0, y2: 0 };
  #aimed = false;

  constructor(job: Job, say: (line: string) => void) {
    this.#job = job;
    this.#say = say;
    this.#grid = new Grid(job);
    const { cells } = this.#grid;
    this.#used = [new Uint8Array(cells), new Uint8Array(cells)];
    this.#viaUsed = new Uint8Array(cells);
    this.#history = [new Int32Array(cells), new Int32Array(cells)];
    this.#viaHistory = new Int32Array(cells);
    this.#nearby = [0, 1, 2].map(() => [new Uint8Array(cells), new Uint8Array(cells)] as const);
    // Nodes: a cell of each layer, and the drop into a plane there.
    const nodes = 3 * cells;
    this.#cost = new Int32Array(nodes);
    this.#from = new Int32Array(nodes);
    this.#mark = new Int32Array(nodes);
    this.#tree = new Int32Array(nodes);
    this.#seen = new Int32Array(nodes);
    const disc = (mm: number): number[] => this.#disc(mm * CELLS_PER_mm);
    this.#discs = {
      track: disc(FAB.track + SPACE), via: disc((FAB.via + FAB.track) / 2 + SPACE), vias: disc(FAB.via + SPACE), apart: this.#disc(APART),
    };
    this.#nets = this.#makeNets();
  }

  #disc(reach: number): number[] {
    const offsets: number[] = [];
    for (let dy = -9; dy <= 9; dy++) {
      for (let dx = -9; dx <= 9; dx++) if (dx * dx + dy * dy < reach * reach - 0.01) offsets.push(dy * this.#grid.columns + dx);
    }
    return offsets;
  }

  #makeNets(): Net[] {
    const { names, components } = this.#grid;
    const kinds = { plain: 0, 'high-ohm': 1, digital: 2 } as const;
    const nets = names.slice(1).map((name, i): Net => {
      const own = components.filter(({ net }) => net === i + 1);
      const xs = own.filter(({ piece }) => piece === 0).map(({ centre }) => centre.x);
      const ys = own.filter(({ piece }) => piece === 0).map(({ centre }) => centre.y);
      const span = Math.max(...xs) - Math.min(...xs) + Math.max(...ys) - Math.min(...ys);
      return {
        id: i + 1, name, components: own, noVia: this.#job.noVia(name), wide: this.#job.wide(name), kind: kinds[this.#job.kind(name)], span,
        path: [], vias: [], segments: [], shadow: [[], []], viaShadow: [], isBad: false, failures: [],
      };
    });
    return nets;
  }

  run(): Routed {
    const order = [...this.#nets].sort((a, b) => a.span - b.span || a.id - b.id);
    let price = 4;
    let least = Number.POSITIVE_INFINITY;
    let stalled = 0;
    let shakes = 0;
    for (let pass = 0; pass < PASSES_most; pass++) {
      this.#price = Math.floor(price);
      for (const net of order) if (pass === 0 || net.isBad) this.#routeNet(net);
      let bad = 0;
      for (const net of this.#nets) {
        net.isBad = this.#conflicts(net) > 0;
        if (net.isBad) bad++;
      }
      this.#say(`pass ${pass}: ${bad} nets in conflict${bad > 0 && bad < 9 ? `: ${this.#nets.filter(({ isBad }) => isBad).map(({ name }) => name).join(' ')}` : ''}`);
      if (bad === 0) break;
      if (bad < least) {
        least = bad;
        stalled = 0;
      } else stalled++;
      if (stalled >= 4 && price > 60) {
        // A knot: everything near it is taken up and bargained for anew, in a wider ring each time.
        this.#shake(20 + 10 * ++shakes);
        stalled = 0;
        least = Number.POSITIVE_INFINITY;
        price = 12;
      } else price = Math.min(price * 1.35, 400);
    }
    return this.#answer();
  }

  // ------------------------------------------------------------- one net

  #routeNet(net: Net): void {
    this.#takeUp(net);
    this.#treeId++;
    this.#joined.clear();
    this.#joinedPieces.clear();
    this.#box = { x1: 1e9, y1: 1e9, x2: -1, y2: -1 };
    net.failures = [];
    if (net.components.length < 2) return;
    const { pieceArea } = this.#grid;
    const first = net.components.reduce((best, one) => (pieceArea[one.piece] > pieceArea[best.piece] ? one : best));
    const hasPlane = first.piece > 0;
    this.#join(first);
    this.#joinWhatTouches(net);
    for (;;) {
      const next = this.#nearest(net, hasPlane);
      if (next === null) break;
      this.#aimed = !hasPlane;
      const end = this.#search(net, next);
      if (end < 0) {
        this.#joined.add(next);
        net.failures.push(`${net.name}: no way from ${next.centre.x.toFixed(1)}, ${next.centre.y.toFixed(1)}`);
      } else {
        this.#keep(net, end);
        this.#join(next);
        this.#joinWhatTouches(net);
      }
    }
    this.#lay(net);
  }

  /** The component to be joined next: pieces of plane first, then the nearest to what is joined. */
  #nearest(net: Net, hasPlane: boolean): Component | null {
    let best: Component | null = null;
    let bestAway = Number.POSITIVE_INFINITY;
    for (const one of net.components) {
      if (this.#joined.has(one)) continue;
      const [x, y] = [one.centre.x, one.centre.y].map((mm) => Math.round(mm * CELLS_PER_mm));
      const away = one.piece > 0 ? -1 : hasPlane ? 0 : this.#away(x, y);
      if (away < bestAway) [best, bestAway] = [one, away];
    }
    return best;
  }

  #away(x: number, y: number): number {
    const { x1, y1, x2, y2 } = this.#box;
    const dx = x < x1 ? x1 - x : x > x2 ? x - x2 : 0;
    const dy = y < y1 ? y1 - y : y > y2 ? y - y2 : 0;
    return 10 * Math.max(dx, dy) + 4 * Math.min(dx, dy);
  }

  #addToTree(node: number): void {
    if (this.#tree[node] === this.#treeId) return;
    this.#tree[node] = this.#treeId;
    const cell = node % this.#grid.cells;
    const x = cell % this.#grid.columns;
    const y = Math.floor(cell / this.#grid.columns);
    const box = this.#box;
    if (x < box.x1) box.x1 = x;
    if (x > box.x2) box.x2 = x;
    if (y < box.y1) box.y1 = y;
    if (y > box.y2) box.y2 = y;
  }

  #join(component: Component): void {
    this.#joined.add(component);
    if (component.piece > 0) this.#joinedPieces.add(component.piece);
    for (const node of component.nodes) this.#addToTree(node);
  }

  /** Joins components that the tree runs over, and holes that stand in a joined piece of plane. */
  #joinWhatTouches(net: Net): void {
    const { pieces } = this.#grid;
    for (let again = true; again;) {
      again = false;
      for (const one of net.components) {
        if (this.#joined.has(one) || one.piece > 0) continue;
        const cell = this.#grid.cellAt(one.centre);
        const inPlane = one.isThrough && pieces.some((inner) => inner[cell] !== 0 && this.#joinedPieces.has(inner[cell]));
        if (!inPlane && !one.nodes.some((node) => this.#tree[node] === this.#treeId)) continue;
        this.#join(one);
        again = true;
      }
    }
  }

  #viaPrice(net: Net, cell: number): number {
    const owner = this.#grid.viaOwner[cell];
    if ((owner !== FREE && owner !== net.id) || net.noVia) return -1;
    const { columns } = this.#grid;
    const x = cell % columns;
    const y = Math.floor(cell / columns);
    for (const other of net.vias) {
      const dx = (other % columns) - x;
      const dy = Math.floor(other / columns) - y;
      if (dx * dx + dy * dy < 36) return -1;
    }
    return VIA_PRICE + this.#price * this.#viaUsed[cell] * 3 + this.#viaHistory[cell];
  }

  #relax(node: number, cost: number, from: number): void {
    if (this.#mark[node] === this.#run && this.#cost[node] <= cost) return;
    this.#mark[node] = this.#run;
    this.#cost[node] = cost;
    this.#from[node] = from;
    this.#heap.push(cost + this.#ahead(node), node);
  }

  #ahead(node: number): number {
    if (!this.#aimed) return 0;
    const cell = node % this.#grid.cells;
    return this.#away(cell % this.#grid.columns, Math.floor(cell / this.#grid.columns));
  }

  #mayTrack(net: Net, layer: number, cell: number): boolean {
    const owner = this.#grid.trackOwner[layer as Layer][cell];
    return owner === FREE || owner === net.id;
  }

  /** The cheapest way from a component to the tree. @returns the node where it ends, or -1 */
  #search(net: Net, start: Component): number {
    const { cells, columns, rows, pieces } = this.#grid;
    this.#run++;
    this.#heap.clear();
    if (start.piece > 0) {
      this.#aimed = false;
      for (const inner of pieces) {
        for (let cell = 0; cell < cells; cell++) {
          if (inner[cell] !== start.piece) continue;
          const price = this.#viaPrice(net, cell);
          if (price < 0) continue;
          for (const layer of [0, 1]) if (this.#mayTrack(net, layer, cell)) this.#relax(layer * cells + cell, price, -2);
        }
      }
    }
    for (const node of start.nodes) if (this.#grid.trackOwner[node < cells ? 0 : 1][node % cells] === net.id) this.#relax(node, 0, -1);
    for (;;) {
      const node = this.#heap.pop();
      if (node < 0) return -1;
      if (this.#heap.poppedKey > this.#cost[node] + this.#ahead(node)) continue;
      if (node >= 2 * cells || this.#tree[node] === this.#treeId) return node;
      const layer = node < cells ? 0 : 1;
      const cell = node - layer * cells;
      const x = cell % columns;
      const y = (cell - x) / columns;
      const before = this.#from[node];
      const isSameLayer = before >= 0 && (before < cells ? 0 : 1) === layer;
      const came = isSameLayer ? STEPS.findIndex(([dx, dy]) => dy * columns + dx === node - before) : -1;
      const cost = this.#cost[node];
      const prices = STEP_PRICE[layer];
      const used = this.#used[layer as Layer];
      const history = this.#history[layer as Layer];
      for (let k = 0; k < 8; k++) {
        const [dx, dy] = STEPS[k];
        if (x + dx < 0 || y + dy < 0 || x + dx >= columns || y + dy >= rows) continue;
        const next = cell + dy * columns + dx;
        if (!this.#mayTrack(net, layer, next)) continue;
        const turned = came < 0 || came === k ? 0 : (came - k + 8) % 8 === 1 || (came - k + 8) % 8 === 7 ? BEND_PRICE : TURN_PRICE;
        const fought = this.#price * used[next] + history[next];
        this.#relax(layer * cells + next, cost + prices[k] + turned + fought + this.#apartPrice(net, layer, next), node);
      }
      const via = this.#viaPrice(net, cell);
      if (via < 0) continue;
      const other = 1 - layer;
      if (this.#mayTrack(net, other, cell)) this.#relax(other * cells + cell, cost + via, node);
      for (const inner of pieces) {
        if (inner[cell] !== 0 && this.#joinedPieces.has(inner[cell])) this.#relax(2 * cells + cell, cost + via - PLANE_BONUS, node);
      }
    }
  }

  #apartPrice(net: Net, layer: number, cell: number): number {
    if (net.kind === 0) return 0;
    const near = (kind: 1 | 2): boolean => this.#nearby[kind][layer as Layer][cell] > 0;
    return near(net.kind === 1 ? 2 : 1) || (net.kind === 1 && near(1)) ? APART_PRICE : 0;
  }

  /** Keeps a way that was found: its nodes, vias and segments. */
  #keep(net: Net, end: number): void {
    const { cells } = this.#grid;
    const via = (cell: number): void => {
      net.vias.push(cell);
      this.#addToTree(cell);
      this.#addToTree(cells + cell);
    };
    let node = end;
    if (node >= 2 * cells) {
      via(node - 2 * cells);
      node = this.#from[node];
    }
    for (;;) {
      net.path.push(node);
      this.#addToTree(node);
      const before = this.#from[node];
      if (before === -2) via(node % cells);
      if (before < 0) return;
      if (Math.floor(before / cells) !== Math.floor(node / cells)) via(node % cells);
      else net.segments.push(before, node);
      node = before;
    }
  }

  // ------------------------------------------------------------- what nets forbid each other

  #lay(net: Net): void {
    this.#castShadow(net, 1);
    this.#epoch++;
    const { cells } = this.#grid;
    const { track, via, vias } = this.#discs;
    const cast = (layer: Layer, cell: number): void => {
      const node = layer * cells + cell;
      if (cell < 0 || cell >= cells || this.#seen[node] === this.#epoch) return;
      this.#seen[node] = this.#epoch;
      this.#used[layer][cell]++;
      net.shadow[layer].push(cell);
    };
    const castVia = (cell: number): void => {
      const node = 2 * cells + cell;
      if (cell < 0 || cell >= cells || this.#seen[node] === this.#epoch) return;
      this.#seen[node] = this.#epoch;
      this.#viaUsed[cell]++;
      net.viaShadow.push(cell);
    };
    for (const node of net.path) {
      const layer = node < cells ? 0 : 1;
      const cell = node % cells;
      for (const offset of track) cast(layer, cell + offset);
      for (const offset of via) castVia(cell + offset);
    }
    for (const cell of net.vias) {
      for (const offset of via) {
        cast(0, cell + offset);
        cast(1, cell + offset);
      }
      for (const offset of vias) castVia(cell + offset);
    }
  }

  #castShadow(net: Net, by: 1 | -1): void {
    if (net.kind === 0) return;
    const { cells } = this.#grid;
    for (const node of net.path) {
      const map = this.#nearby[net.kind][node < cells ? 0 : 1];
      const cell = node % cells;
      for (const offset of this.#discs.apart) if (cell + offset >= 0 && cell + offset < cells) map[cell + offset] += by;
    }
  }

  #takeUp(net: Net): void {
    this.#castShadow(net, -1);
    for (const layer of [0, 1] as const) {
      for (const cell of net.shadow[layer]) this.#used[layer][cell]--;
      net.shadow[layer] = [];
    }
    for (const cell of net.viaShadow) this.#viaUsed[cell]--;
    net.viaShadow = [];
    net.path = [];
    net.vias = [];
    net.segments = [];
  }

  /** Cells that a net shares with others; they grow dearer for good. */
  #conflicts(net: Net): number {
    const { cells } = this.#grid;
    let count = 0;
    for (const node of net.path) {
      const layer = node < cells ? 0 : 1;
      const cell = node % cells;
      if (this.#used[layer][cell] <= 1) continue;
      count++;
      this.#history[layer][cell] += HISTORY;
    }
    for (const cell of net.vias) {
      if (this.#viaUsed[cell] <= 1) continue;
      count++;
      this.#viaHistory[cell] += 3 * HISTORY;
    }
    return count;
  }

  #shake(reach: number): void {
    const { cells, columns } = this.#grid;
    const knots: number[] = [];
    for (const net of this.#nets) {
      if (!net.isBad) continue;
      const node = net.path.find((one) => this.#used[one < cells ? 0 : 1][one % cells] > 1);
      if (node !== undefined) knots.push(node % cells);
    }
    for (const net of this.#nets) {
      net.isBad ||= net.path.some((node) => knots.some((knot) => {
        const cell = node % cells;
        const down = Math.floor(cell / columns) - Math.floor(knot / columns);
        return Math.abs((cell % columns) - (knot % columns)) < reach && Math.abs(down) < reach;
      }));
    }
  }

  // ------------------------------------------------------------- the answer

  #answer(): Routed {
    const { cells } = this.#grid;
    for (const net of this.#nets) {
      for (const node of net.path) this.#grid.addCopper(node < cells ? 0 : 1, node % cells, net.id, 8);
      for (const cell of net.vias) for (const layer of [0, 1] as const) this.#grid.addCopper(layer, cell, net.id, 27);
    }
    const tracks: Track[] = [...this.#job.fixedTracks];
    const vias: Via[] = [...this.#job.fixedVias];
    for (const net of this.#nets) {
      tracks.push(...this.#tracksOf(net));
      for (const cell of net.vias) vias.push({ net: net.name, at: this.#grid.pointOf(cell) });
    }
    vias.push(...this.#stitching());
    const failures = this.#nets.flatMap((net) => [...net.failures, ...(net.isBad ? [`${net.name}: still in conflict`] : [])]);
    return { tracks, vias, failures };
  }

  #tracksOf(net: Net): Track[] {
    const { cells } = this.#grid;
    const pairs: Step[] = [];
    for (let k = 0; k < net.segments.length; k += 2) {
      const [a, b] = [net.segments[k], net.segments[k + 1]];
      let half = 7;
      if (net.wide) {
        for (let wanted = 30; wanted > 7; wanted--) {
          if (!this.#hasRoom(a, net.id, wanted) || !this.#hasRoom(b, net.id, wanted)) continue;
          half = wanted;
          break;
        }
        if (half > 7) for (const node of [a, b]) this.#grid.addCopper(node < cells ? 0 : 1, node % cells, net.id, half);
      }
      pairs.push({ a, b, half });
    }
    const ends = new Map<number, number>();
    for (const node of net.segments) ends.set(node, (ends.get(node) ?? 0) + 1);
    const tracks: Track[] = [];
    for (let k = 0; k < pairs.length; k++) {
      let { a } = pairs[k];
      const { b, half } = pairs[k];
      // Straight runs become one track, but for where a third one meets them; each pair lies before the one that it was reached from.
      while (k + 1 < pairs.length && ends.get(a) === 2 && goesOn(pairs[k], pairs[k + 1])) {
        k++;
        a = pairs[k].a;
      }
      tracks.push({
        net: net.name, layer: a < cells ? 0 : 1, from: this.#grid.pointOf(a % cells), to: this.#grid.pointOf(b % cells),
        width: half > 7 ? half / 50 : FAB.track,
      });
    }
    return tracks;
  }

  /** Whether a track may be that half wide (hundredths of a millimetre) at a node. */
  #hasRoom(node: number, net: number, half: number): boolean {
    const { cells, columns, rows, copperNet, copperReach } = this.#grid;
    const layer = node < cells ? 0 : 1;
    const cell = node % cells;
    const x = cell % columns;
    const y = Math.floor(cell / columns);
    if (Math.min(x, columns - 1 - x, y, rows - 1 - y) * 10 < half + 100 * FAB.edge + 1) return false;
    const reach = Math.floor((half + 44) / 10) + 1;
    for (let dy = -reach; dy <= reach; dy++) {
      for (let dx = -reach; dx <= reach; dx++) {
        if (x + dx < 0 || y + dy < 0 || x + dx >= columns || y + dy >= rows) continue;
        const other = cell + dy * columns + dx;
        const whose = copperNet[layer][other];
        if (whose !== FREE && whose !== net && 10 * Math.hypot(dx, dy) < half + copperReach[layer][other] + 16) return false;
      }
    }
    return true;
  }

  /** Ground vias every few millimetres wherever nothing is in their way: they hold the pours of both sides to the plane. */
  #stitching(): Via[] {
    const ground = this.#nets.find(({ name }) => name === this.#job.ground)!;
    const pitch = 2.5 * CELLS_PER_mm;
    const placed: Via[] = [];
    for (let row = pitch; row < this.#grid.rows - pitch / 2; row += pitch) {
      for (let column = pitch; column < this.#grid.columns - pitch / 2; column += pitch) {
        const cell = Math.round(row) * this.#grid.columns + Math.round(column);
        if (this.#viaUsed[cell] > 0 || this.#grid.viaOwner[cell] !== FREE) continue;
        if ([0, 1].some((layer) => !this.#hasRoom(layer * this.#grid.cells + cell, ground.id, 29))) continue;
        placed.push({ net: ground.name, at: this.#grid.pointOf(cell) });
      }
    }
    return placed;
  }
}

/** A step of a way from node to node, and half its width in hundredths of a millimetre. */
interface Step {
  readonly a: number;
  readonly b: number;
  readonly half: number;
}

/** Whether the next step continues a step's direction at the same width; each lies before the one that it was reached from. */
function goesOn(step: Step, next: Step): boolean {
  return next.b === step.a && next.b - next.a === step.b - step.a && next.half === step.half;
}
