/** Land patterns: read from the copies beside the board, placed with their nets, and turned into outlines for the router. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import type { Part, Place } from '../netlist/model.ts';
import type { Layer, Point, RouterPad } from '../router/job.ts';
import { pathOf } from './schematic.ts';
import { child, isList, lists, parsed, quoted, textOf, uuidOf, written, type List, type Sexpr } from './sexpr.ts';
import { LIBRARY } from './symbols.ts';

const library = new Map<string, List>();

/** A land pattern by its name. */
export function landPattern(name: string): List {
  let found = library.get(name);
  if (found === undefined) {
    found = parsed(readFileSync(fileURLToPath(new URL(`../kicad/${LIBRARY}.pretty/${name}.kicad_mod`, import.meta.url)), 'utf8'));
    library.set(name, found);
  }
  return found;
}

const numbers = (list: List): number[] => list.slice(1).map((one) => Number(textOf(one))).filter((one) => !Number.isNaN(one));

/** A point of a land pattern on the board: KiCad turns counter-clockwise with y down. */
export function onBoard({ x, y, turn }: Place, dx: number, dy: number): Point {
  const angle = (turn * Math.PI) / 180;
  return { x: x + dx * Math.cos(angle) + dy * Math.sin(angle), y: y - dx * Math.sin(angle) + dy * Math.cos(angle) };
}

/** Name of the net that KiCad gives to a pad which is open on purpose. */
function openNet(part: Part, number: string): string {
  const pin = part.bought.pins.find((one) => one.number === number);
  return pin === undefined ? '' : pin.name === number ? `unconnected-(${part.ref}-Pad${number})` : `unconnected-(${part.ref}-${pin.name}-Pad${number})`;
}

/** Net of a pad; null for one without a number. */
export function netOfPad(part: Part, number: string): string | null {
  return number === '' ? null : (part.nets.get(number) ?? openNet(part, number)) || null;
}

/** Pads of a part for the router. @throws when the land pattern lacks a pin */
export function routerPads(part: Part): RouterPad[] {
  const name = part.bought.footprint.split(':')[1];
  const pads = lists(landPattern(name), 'pad');
  const have = new Set(pads.map((pad) => textOf(pad[1])));
  for (const { number } of part.bought.pins) if (!have.has(number)) throw new Error(`${part.ref}: ${name} has no pad ${number}`);
  return pads.flatMap((pad): RouterPad[] => {
    const on = lists(pad, 'layers')[0].slice(1).map(textOf);
    const isHole = textOf(pad[2]) === 'np_thru_hole';
    const layers: Layer[] = isHole ? [] : on.includes('*.Cu') ? [0, 1] : on.includes('F.Cu') ? [0] : on.includes('B.Cu') ? [1] : [];
    const drill = child(pad, 'drill');
    if (layers.length === 0 && !isHole) return [];
    const [x, y] = numbers(child(pad, 'at')!);
    return [{
      net: isHole ? null : netOfPad(part, textOf(pad[1])), layers, drill: drill === undefined ? 0 : Math.max(...numbers(drill)),
      centre: onBoard(part.place, x, y),
      outline: outlineOf(pad, false).map((point) => onBoard(part.place, point.x, point.y)),
      core: outlineOf(pad, true).map((point) => onBoard(part.place, point.x, point.y)),
    }];
  });
}

/** Points on a circle's quarter, from 0 to 90 degrees. */
const QUARTER = [0, 1, 2, 3].map((k) => (k * Math.PI) / 6);

/**
 * Outline of a pad in its land pattern.
 * @param isCore - never larger than the pad: rounded corners are cut, or else never smaller: corners are taken square, circles with points outside
 */
function outlineOf(pad: List, isCore: boolean): Point[] {
  const [x, y, turn = 0] = numbers(child(pad, 'at')!);
  const [width, height] = numbers(child(pad, 'size')!);
  const shape = textOf(pad[3]);
  const place = { x, y, turn };
  const custom = child(pad, 'primitives');
  if (custom !== undefined) {
    return lists(lists(custom, 'gr_poly')[0], 'pts')[0].slice(1).map((one) => onBoard(place, ...(numbers(one as List) as [number, number])));
  }
  const rounding = child(pad, 'roundrect_rratio');
  const isRound = shape === 'circle' || shape === 'oval';
  const ratio = isRound ? 0.5 : isCore && rounding !== undefined ? numbers(rounding)[0] : 0;
  const radius = ratio * Math.min(width, height);
  // Between points on the circle the outline runs inside of it; points a little further out bring it outside.
  const reach = isCore ? radius : radius / Math.cos(Math.PI / 12);
  return ([[1, 1], [-1, 1], [-1, -1], [1, -1]] as const).flatMap(([i, j], corner) =>
    (radius === 0 ? [0] : QUARTER).map((angle) => {
      const at = angle + (corner * Math.PI) / 2;
      return onBoard(place, i * (width / 2 - radius) + reach * Math.cos(at), j * (height / 2 - radius) + reach * Math.sin(at));
    }));
}

const DROPPED = new Set(['version', 'generator', 'generator_version', 'layer', 'property', 'model', 'embedded_fonts']);
const font = (mm: number): List => ['effects', ['font', ['size', mm, mm], ['thickness', 0.12]]];

/** A part's land pattern on the board. @param netNumber - number of a net's name */
export function placedFootprint(part: Part, netNumber: (name: string) => number): List {
  const { ref, value, bought, place } = part;
  const name = bought.footprint.split(':')[1];
  let count = 0;
  const turned = (item: Sexpr): Sexpr => {
    if (!isList(item)) return item;
    const kind = item[0];
    if (kind === 'pad') return turnedPad(item);
    if (kind === 'fp_text') return [...item.map((one) => (isList(one) && one[0] === 'at' ? turnedAt(one) : one)), ['uuid', uuidOf(`item ${ref} ${count++}`)]];
    return typeof kind === 'string' && kind.startsWith('fp_') ? [...item, ['uuid', uuidOf(`item ${ref} ${count++}`)]] : item;
  };
  const turnedAt = (at: List): List => {
    const [x, y, angle = 0] = numbers(at);
    return ['at', x, y, (angle + place.turn) % 360];
  };
  const turnedPad = (pad: List): List => {
    const number = textOf(pad[1]);
    const net = textOf(pad[2]) === 'np_thru_hole' ? null : netOfPad(part, number);
    const pin = bought.pins.find((one) => one.number === number);
    return [...pad.map((one) => (isList(one) && one[0] === 'at' ? turnedAt(one) : one)),
      ...(net === null ? [] : [['net', netNumber(net), quoted(net)] as List]),
      ...(pin === undefined ? [] : [['pinfunction', quoted(pin.name)] as List, ['pintype', quoted(part.nets.has(number) ? pin.kind : `${pin.kind}+no_connect`)] as List]),
      ['uuid', uuidOf(`pad ${ref} ${number} ${count++}`)]];
  };
  // Most land patterns write the name on the body themselves; twice could not be read.
  const names = written(landPattern(name)).includes('${REFERENCE}');
  return [
    'footprint', quoted(`${LIBRARY}:${name}`), ['layer', quoted('F.Cu')], ['uuid', uuidOf(`footprint ${ref}`)], ['at', place.x, place.y, place.turn],
    ['property', quoted('Reference'), quoted(ref), ['at', 0, 0, place.turn], ['layer', quoted('F.Fab')], ['uuid', uuidOf(`ref ${ref}`)], ...(names ? [['hide', 'yes'] as List] : []), font(0.6)],
    ['property', quoted('Value'), quoted(value), ['at', 0, 1.2, place.turn], ['layer', quoted('F.Fab')], ['hide', 'yes'], ['uuid', uuidOf(`value ${ref}`)], font(0.5)],
    ['property', quoted('Datasheet'), quoted(''), ['at', 0, 0, 0], ['layer', quoted('F.Fab')], ['hide', 'yes'], ['uuid', uuidOf(`sheet ${ref}`)], font(1)],
    ['property', quoted('Description'), quoted(bought.description), ['at', 0, 0, 0], ['layer', quoted('F.Fab')], ['hide', 'yes'], ['uuid', uuidOf(`text ${ref}`)], font(1)],
    ['path', quoted(pathOf(part))],
    ...landPattern(name).slice(2).filter((item) => !isList(item) || !DROPPED.has(textOf(item[0]))).map(turned), ['embedded_fonts', 'no'],
  ];
}
