/** Short hands for placing: two-ended parts by the way they look, and values that carry their print. */
import { printed, type Bought, type Netlist, type Place, type Sheet } from './model.ts';
import * as bought from './bought.ts';

/** Where the first end looks: `left`, `right`, `up`, `down`. */
export type Way = 'left' | 'right' | 'up' | 'down';
const TURN: Readonly<Record<Way, number>> = { left: 0, right: 180, up: 270, down: 90 };

export const at = (x: number, y: number, turn = 0): Place => ({ x: round(x), y: round(y), turn });
const round = (mm: number): number => Number(mm.toFixed(3));

/** Adds two-ended parts of one sheet; numbers them from a first one on. */
export class TwoEnds {
  readonly #netlist: Netlist;
  readonly #sheet: Sheet;
  readonly #next: Record<string, number>;

  constructor(netlist: Netlist, sheet: Sheet, first: number) {
    this.#netlist = netlist;
    this.#sheet = sheet;
    this.#next = { R: first, C: first, L: first, D: first, TP: first };
  }

  /** A resistor. @param first - net of the end that looks `way` @returns its name */
  r(ohm: number, first: string, second: string, x: number, y: number, way: Way = 'left', kind: Bought = bought.R0603): string {
    const tolerance = kind === bought.R0603_FINE ? 0.001 : kind === bought.R0805_REFERENCE ? 0.0005 : 0.01;
    return this.#add('R', kind, ohm, tolerance, first, second, at(x, y, TURN[way]));
  }

  /** A capacitor. */
  c(farad: number, first: string, second: string, x: number, y: number, way: Way = 'left', kind: Bought = bought.C0603): string {
    return this.#add('C', kind, farad, kind === bought.C0603_C0G ? 0.05 : 0.1, first, second, at(x, y, TURN[way]));
  }

  /** A part without a size: bead, fuse. */
  other(letter: 'L', kind: Bought, first: string, second: string, x: number, y: number, way: Way = 'left'): void {
    this.#netlist.add(`${letter}${this.#next[letter]++}`, kind, this.#sheet, { '#1': first, '#2': second }, at(x, y, TURN[way]));
  }

  #add(letter: 'R' | 'C', kind: Bought, size: number, tolerance: number, first: string, second: string, place: Place): string {
    const ref = `${letter}${this.#next[letter]++}`;
    this.#netlist.add(ref, kind, this.#sheet, { '#1': first, '#2': second }, place, { value: printed(size), size, tolerance });
    return ref;
  }
}
