/** Symbols drawn from the netlist's own pin tables, one for each kind of part; units are millimetres on KiCad's 2.54 grid. */
import type { Bought, Pin, PinKind } from '../netlist/model.ts';
import { quoted, type List, type Sexpr } from './sexpr.ts';

export const LIBRARY = 'tapstone';
const GRID = 2.54;

/** A pin's end on the symbol, y up, and the side it looks to. */
export interface PinEnd {
  readonly pin: Pin;
  readonly x: number;
  readonly y: number;
  readonly side: 'left' | 'right';
}

export interface Symbol {
  readonly name: string;
  readonly ends: readonly PinEnd[];
  readonly width: number;
  readonly height: number;
  readonly definition: (libraryName: string) => List;
}

/** Name of the symbol of a bought part. */
export function symbolName({ family, example, footprint }: Bought): string {
  const body = family === 'chip' ? example : family === 'connector' ? footprint.split(':')[1] : family;
  const pinCount = family === 'resistor' && footprint.includes('Array') ? ' array' : '';
  return `${body}${pinCount}`.replace(/[^\w.-]+/g, '_');
}

const font: List = ['effects', ['font', ['size', 1.27, 1.27]]];
const hidden: List = [...font, ['hide', 'yes']];

function property(name: string, value: string, x: number, y: number, hide = false): List {
  return ['property', quoted(name), quoted(value), ['at', x, y, 0], hide ? hidden : font];
}

/** The symbol of a bought part. */
export function symbolOf(bought: Bought): Symbol {
  const isSmall = bought.pins.length <= 2;
  return isSmall ? smallSymbol(bought) : box(bought);
}

const line = (points: readonly (readonly [number, number])[]): List =>
  ['polyline', ['pts', ...points.map(([x, y]): List => ['xy', x, y])], ['stroke', ['width', 0.2], ['type', 'default']], ['fill', ['type', 'none']]];
const rectangle = (x1: number, y1: number, x2: number, y2: number, fill = 'none'): List =>
  ['rectangle', ['start', x1, y1], ['end', x2, y2], ['stroke', ['width', 0.2], ['type', 'default']], ['fill', ['type', fill]]];
const circle = (x: number, y: number, radius: number): List =>
  ['circle', ['center', x, y], ['radius', radius], ['stroke', ['width', 0.2], ['type', 'default']], ['fill', ['type', 'none']]];

const DRAWN: Readonly<Record<string, readonly List[]>> = {
  resistor: [rectangle(-2.54, 1.016, 2.54, -1.016)],
  capacitor: [line([[-0.6, 2], [-0.6, -2]]), line([[0.6, 2], [0.6, -2]]), line([[-2.54, 0], [-0.6, 0]]), line([[0.6, 0], [2.54, 0]])],
  bead: [rectangle(-2.54, 1.016, 2.54, -1.016), line([[-2.54, -1.016], [2.54, 1.016]])],
  fuse: [rectangle(-2.54, 1.016, 2.54, -1.016), line([[-2.54, 0], [2.54, 0]])],
  led: [line([[-1.27, 1.27], [-1.27, -1.27]]), line([[-1.27, 0], [1.27, 1.27], [1.27, -1.27], [-1.27, 0]]),
    line([[-2.54, 0], [-1.27, 0]]), line([[1.27, 0], [2.54, 0]])],
  crystal: [rectangle(-0.8, 1.6, 0.8, -1.6), line([[-1.4, 1.6], [-1.4, -1.6]]), line([[1.4, 1.6], [1.4, -1.6]]),
    line([[-2.54, 0], [-1.4, 0]]), line([[1.4, 0], [2.54, 0]])],
  gap: [line([[-2.54, 1], [-0.3, 0], [-2.54, -1]]), line([[2.54, 1], [0.3, 0], [2.54, -1]])],
  button: [circle(-1.8, 0, 0.5), circle(1.8, 0, 0.5), line([[-2.3, 1.3], [2.3, 1.3]]), line([[0, 1.3], [0, 2.3]])],
  connector: [rectangle(-2.54, 1.6, 2.54, -1.6), circle(-1.2, 0, 0.6), circle(1.2, 0, 0.6)],
  'test point': [circle(0.6, 0, 0.6)],
  hole: [circle(0, 0, 1.6)],
};

function smallSymbol(bought: Bought): Symbol {
  const name = symbolName(bought);
  const isPoint = bought.family === 'test point';
  const ends: PinEnd[] = bought.pins.map((pin, i) => ({ pin, x: i === 0 ? -5.08 : 5.08, y: 0, side: i === 0 ? 'left' : 'right' }));
  const drawn = DRAWN[bought.family];
  if (drawn === undefined) throw new Error(`nobody can draw a ${bought.family}`);
  return {
    name, ends, width: isPoint ? 5.08 : 10.16, height: 5.08,
    definition: (libraryName) => head(libraryName, bought, 3.2, -3.2, true, [
      ['symbol', quoted(`${name}_0_1`), ...drawn],
      ['symbol', quoted(`${name}_1_1`), ...ends.map((end) => pinOf(end, isPoint ? 5.08 : 2.54))],
    ]),
  };
}

const RIGHT_KINDS: readonly PinKind[] = ['output', 'power_in', 'power_out', 'tri_state', 'open_collector', 'no_connect'];

function box(bought: Bought): Symbol {
  const name = symbolName(bought);
  const right = bought.pins.filter(({ kind }) => RIGHT_KINDS.includes(kind));
  const left = bought.pins.filter(({ kind }) => !RIGHT_KINDS.includes(kind));
  while (left.length > right.length + 6) right.push(left.pop()!);
  const rows = Math.max(left.length, right.length);
  const longest = Math.max(...left.map(({ name: pin }) => pin.length)) + Math.max(0, ...right.map(({ name: pin }) => pin.length));
  const half = Math.max(2, Math.ceil((longest * 1.1 + 4) / 2 / GRID)) * GRID;
  const top = Math.ceil(rows / 2) * GRID;
  const ends = [
    ...left.map((pin, i): PinEnd => ({ pin, x: -half - GRID, y: top - i * GRID, side: 'left' })),
    ...right.map((pin, i): PinEnd => ({ pin, x: half + GRID, y: top - i * GRID, side: 'right' })),
  ];
  const bottom = top - (rows - 1) * GRID;
  return {
    name, ends, width: 2 * half + 2 * GRID, height: top - bottom + 4 * GRID,
    definition: (libraryName) => head(libraryName, bought, top + GRID + 1.5, bottom - GRID - 1.5, false, [
      ['symbol', quoted(`${name}_0_1`), rectangle(-half, top + GRID, half, bottom - GRID, 'background')],
      ['symbol', quoted(`${name}_1_1`), ...ends.map((end) => pinOf(end, GRID))],
    ]),
  };
}

function pinOf({ pin, x, y, side }: PinEnd, length: number): List {
  return ['pin', pin.kind, 'line', ['at', x, y, side === 'left' ? 0 : 180], ['length', length], ['name', quoted(pin.name), font], ['number', quoted(pin.number), font]];
}

function head(libraryName: string, bought: Bought, top: number, bottom: number, hideNames: boolean, units: readonly Sexpr[]): List {
  const hide: Sexpr[] = hideNames ? [['pin_numbers', ['hide', 'yes']], ['pin_names', ['offset', 0], ['hide', 'yes']]] : [['pin_names', ['offset', 0.5]]];
  return [
    'symbol', quoted(libraryName), ...hide, ['exclude_from_sim', 'no'], ['in_bom', bought.notBought === true ? 'no' : 'yes'], ['on_board', 'yes'],
    property('Reference', refLetters(bought), 0, top), property('Value', symbolName(bought), 0, bottom),
    property('Footprint', '', 0, 0, true), property('Datasheet', '', 0, 0, true),
    property('Description', bought.family, 0, 0, true), ...units, ['embedded_fonts', 'no'],
  ];
}

function refLetters({ family }: Bought): string {
  const letters: Readonly<Record<string, string>> = {
    resistor: 'R', capacitor: 'C', bead: 'L', diodes: 'D', led: 'D', crystal: 'Y', fuse: 'F', gap: 'SG', button: 'SW', 'test point': 'TP', hole: 'H', connector: 'J', chip: 'U',
  };
  return letters[family];
}

/** The mark that says "this net is fed through something that only passes": KiCad's rule check wants one. */
export function flagDefinition(libraryName: string): List {
  return [
    'symbol', quoted(libraryName), ['power'], ['pin_numbers', ['hide', 'yes']], ['pin_names', ['offset', 0], ['hide', 'yes']],
    ['exclude_from_sim', 'no'], ['in_bom', 'yes'], ['on_board', 'yes'],
    property('Reference', '#FLG', 0, 3, true), property('Value', 'FED', 0, 3.5), property('Footprint', '', 0, 0, true), property('Datasheet', '', 0, 0, true),
    property('Description', 'net is fed through a passive part', 0, 0, true),
    ['symbol', quoted('FED_0_0'), ['pin', 'power_out', 'line', ['at', 0, 0, 90], ['length', 0], ['name', quoted('fed'), font], ['number', quoted('1'), font]]],
    ['symbol', quoted('FED_0_1'), line([[0, 0], [0, 1.27], [-1, 2], [0, 2.7], [1, 2], [0, 1.27]])], ['embedded_fonts', 'no'],
  ];
}
