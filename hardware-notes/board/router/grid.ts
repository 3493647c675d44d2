/**
 * The board as a grid of 0.1 mm. For each layer a map says which net's track may have its centre in a cell, another which
 * net's via may: pads claim cells by true distance from their outline, so that no rule is left to the end.
 */
import type { Job, Layer, Point, RouterPad } from './job.ts';
import { FAB } from './fab.ts';

export const CELLS_PER_mm = 10;
export const FREE = 0;
export const NOBODY = -1;

const HALF_TRACK = FAB.track / 2;
const VIA_RADIUS = FAB.via / 2;
const HOLE_RADIUS = FAB.viaDrill / 2;
/** Beyond the rule, since tracks lie on a grid: a diagonal passes a corner by a hundredth less. */
const TO_PAD = FAB.clearance + 0.005;
const TO_HOLE = FAB.holeClearance + 0.01;

/** A thing of a net that is joined in itself: a pad, a fixed piece of copper, a piece of plane. */
export interface Component {
  readonly net: number;
  /** Number of its plane piece, 0 for none. */
  readonly piece: number;
  readonly centre: Point;
  /** Nodes (layer * cells + cell) that it covers. */
  readonly nodes: number[];
  readonly isThrough: boolean;
}

interface Hole {
  readonly centre: Point;
  readonly radius: number;
  /** Whether no copper is round it. */
  readonly isPlain: boolean;
}

export class Grid {
  readonly columns: number;
  readonly rows: number;
  readonly cells: number;
  readonly names: string[] = [''];
  readonly #ids = new Map<string, number>();
  readonly trackOwner: readonly [Int16Array, Int16Array];
  readonly viaOwner: Int16Array;
  /** Number of the plane piece at a cell of either inner layer, 0 for none. */
  readonly pieces: readonly [Uint8Array, Uint8Array];
  readonly pieceArea: number[] = [0];
  readonly components: Component[] = [];
  /** Copper for widening: whose, and how far it reaches from the cell's centre, hundredths of a millimetre. */
  readonly copperNet: readonly [Int16Array, Int16Array];
  readonly copperReach: readonly [Uint8Array, Uint8Array];

  constructor(job: Job) {
    this.columns = Math.round(job.width * CELLS_PER_mm) + 1;
    this.rows = Math.round(job.height * CELLS_PER_mm) + 1;
    this.cells = this.columns * this.rows;
    const small = (): Int16Array => new Int16Array(this.cells);
    const bytes = (): Uint8Array => new Uint8Array(this.cells);
    this.trackOwner = [small(), small()];
    this.viaOwner = small();
    this.pieces = [bytes(), bytes()];
    this.copperNet = [small(), small()];
    this.copperReach = [bytes(), bytes()];
    this.#edges();
    for (const pad of job.pads) this.#pad(pad);
    this.#fixed(job);
    this.#planes(job);
    for (const { layer, of, area } of job.keepouts) {
      this.#inside(area, 0, (cell) => {
        if (of === 'via') this.viaOwner[cell] = NOBODY;
        else this.trackOwner[layer][cell] = NOBODY;
      });
    }
  }

  /** Number of a net, from 1. */
  id(name: string): number {
    let id = this.#ids.get(name);
    if (id === undefined) {
      id = this.names.length;
      this.names.push(name);
      this.#ids.set(name, id);
    }
    return id;
  }

  cellAt({ x, y }: Point): number {
    return Math.round(y * CELLS_PER_mm) * this.columns + Math.round(x * CELLS_PER_mm);
  }

  pointOf(cell: number): Point {
    return { x: (cell % this.columns) / CELLS_PER_mm, y: Math.floor(cell / this.columns) / CELLS_PER_mm };
  }

  #edges(): void {
    for (let row = 0; row < this.rows; row++) {
      for (let column = 0; column < this.columns; column++) {
        const edge = Math.min(column, this.columns - 1 - column, row, this.rows - 1 - row) / CELLS_PER_mm;
        const cell = row * this.columns + column;
        if (edge < FAB.edge + HALF_TRACK) this.trackOwner[0][cell] = this.trackOwner[1][cell] = NOBODY;
        if (edge < FAB.edge + VIA_RADIUS) this.viaOwner[cell] = NOBODY;
      }
    }
  }

  #pad({ net, layers, drill, centre, outline, core }: RouterPad): void {
    const id = net === null ? NOBODY : this.id(net);
    const component: Component = { net: id, piece: 0, centre, nodes: [], isThrough: drill > 0 && layers.length > 0 };
    this.#claim(outline, 0, layers, id, component, drill === 0, { centre, radius: drill / 2, isPlain: layers.length === 0 }, core);
    if (net !== null) this.components.push(component);
  }

  #fixed({ fixedTracks, fixedVias }: Job): void {
    const of = new Map<string, Component>();
    const component = (net: string, centre: Point, isThrough: boolean): Component => {
      const known = of.get(net);
      if (known !== undefined && !isThrough) return known;
      const made: Component = { net: this.id(net), piece: 0, centre, nodes: [], isThrough };
      this.components.push(made);
      if (!isThrough) of.set(net, made);
      return made;
    };
    for (const { net, layer, from, to, width } of fixedTracks) {
      this.#claim([from, to], width / 2, [layer], this.id(net), component(net, from, false), false);
    }
    for (const { net, at } of fixedVias) {
      const hole = { centre: at, radius: HOLE_RADIUS, isPlain: false };
      this.#claim([at], VIA_RADIUS, [0, 1], this.id(net), component(net, at, true), false, hole);
    }
  }

  #planes({ planes }: Job): void {
    // A via that ends in a piece wants copper all round it.
    const margin = 0.45;
    for (const { net, inner, areas } of planes) {
      const piece = this.pieceArea.length;
      this.pieceArea.push(0);
      this.components.push({ net: this.id(net), piece, centre: { x: 0, y: 0 }, nodes: [], isThrough: false });
      for (const area of areas) {
        this.#inside(area, margin, (cell) => {
          if (this.pieces[inner - 1][cell] !== 0) return;
          this.pieces[inner - 1][cell] = piece;
          this.pieceArea[piece]++;
        });
      }
    }
  }

  #inside([x1, y1, x2, y2]: readonly [number, number, number, number], margin: number, visit: (cell: number) => void): void {
    for (let row = Math.ceil((y1 + margin) * CELLS_PER_mm); row <= Math.floor((y2 - margin) * CELLS_PER_mm); row++) {
      for (let column = Math.ceil((x1 + margin) * CELLS_PER_mm); column <= Math.floor((x2 - margin) * CELLS_PER_mm); column++) {
        visit(row * this.columns + column);
      }
    }
  }

  /** Claims what an outline grown by a radius forbids to others, and notes what it covers. */
  #claim(
    outline: readonly Point[], grown: number, layers: readonly Layer[], net: number, component: Component, isSurface: boolean,
    hole: Hole = { centre: outline[0], radius: 0, isPlain: false },
    core: readonly Point[] = outline,
  ): void {
    const reach = 0.8 + grown;
    const xs = outline.map(({ x }) => x);
    const ys = outline.map(({ y }) => y);
    const [left, right] = [Math.min(...xs) - reach, Math.max(...xs) + reach].map((x) => Math.round(x * CELLS_PER_mm));
    const [top, bottom] = [Math.min(...ys) - reach, Math.max(...ys) + reach].map((y) => Math.round(y * CELLS_PER_mm));
    for (let row = Math.max(0, top); row <= Math.min(this.rows - 1, bottom); row++) {
      for (let column = Math.max(0, left); column <= Math.min(this.columns - 1, right); column++) {
        const cell = row * this.columns + column;
        const x = column / CELLS_PER_mm;
        const y = row / CELLS_PER_mm;
        const distance = fromOutline(x, y, outline) - grown;
        const fromHole = hole.radius > 0 ? Math.hypot(x - hole.centre.x, y - hole.centre.y) - hole.radius : 1;
        for (const layer of layers) {
          if (distance < HALF_TRACK + TO_PAD) claimFor(this.trackOwner[layer], cell, net);
          if (distance <= 0) this.addCopper(layer, cell, net, 10);
          if (distance <= 0 && fromOutline(x, y, core) <= grown) component.nodes.push(layer * this.cells + cell);
        }
        if (fromHole <= 0) for (const layer of [0, 1] as const) this.addCopper(layer, cell, net, 22);
        if (layers.length > 0 && distance < Math.max(VIA_RADIUS + TO_PAD, HOLE_RADIUS + TO_HOLE)) claimFor(this.viaOwner, cell, net);
        if (isSurface && distance < VIA_RADIUS) this.viaOwner[cell] = NOBODY;
        if (fromHole < HOLE_RADIUS + TO_HOLE) this.viaOwner[cell] = NOBODY;
        if (hole.isPlain) {
          if (fromHole < HALF_TRACK + TO_HOLE) this.trackOwner[0][cell] = this.trackOwner[1][cell] = NOBODY;
          if (fromHole < VIA_RADIUS + TO_HOLE) this.viaOwner[cell] = NOBODY;
        }
      }
    }
  }

  /** Notes copper for the widening. @param reach - hundredths of a millimetre from the cell's centre */
  addCopper(layer: Layer, cell: number, net: number, reach: number): void {
    const whose = this.copperNet[layer];
    whose[cell] = whose[cell] !== FREE && whose[cell] !== net ? NOBODY : net;
    if (reach > this.copperReach[layer][cell]) this.copperReach[layer][cell] = reach;
  }
}

function claimFor(map: Int16Array, cell: number, net: number): void {
  if (map[cell] === FREE) map[cell] = net;
  else if (map[cell] !== net) map[cell] = NOBODY;
}

/** Distance of a point from an outline; 0 inside. Two points are a line, one is a point. */
function fromOutline(x: number, y: number, outline: readonly Point[]): number {
  let nearest = Number.POSITIVE_INFINITY;
  let inside = false;
  for (let i = 0, j = outline.length - 1; i < outline.length; j = i++) {
    const a = outline[i];
    const b = outline[j];
    if (outline.length > 2 && a.y > y !== b.y > y && x < ((b.x - a.x) * (y - a.y)) / (b.y - a.y) + a.x) inside = !inside;
    const dx = b.x - a.x;
    const dy = b.y - a.y;
    const squared = dx * dx + dy * dy;
    const share = squared === 0 ? 0 : Math.min(1, Math.max(0, ((x - a.x) * dx + (y - a.y) * dy) / squared));
    nearest = Math.min(nearest, Math.hypot(x - a.x - share * dx, y - a.y - share * dy));
  }
  return inside ? 0 : nearest;
}
