/** The KiCad schematic: a sheet for each part of the board, symbols in the netlist's order, the net's name on every pin. */
import { BOARD } from '../netlist/board.ts';
import { SHEETS, type Netlist, type Part, type Sheet } from '../netlist/model.ts';
import { fedNets } from '../rules.ts';
import { quoted, uuidOf, written, type List, type Sexpr } from './sexpr.ts';
import { flagDefinition, LIBRARY, symbolName, symbolOf, type Symbol } from './symbols.ts';

export const PROJECT = 'tapstone';
const VERSION = 20250114;
const PAGE = { width: 420, height: 297, left: 15.24, top: 20.32, right: 400, bottom: 250 } as const;
const GRID = 2.54;
const LABEL_mm = 1.25;

const TITLES: Readonly<Record<Sheet, string>> = {
  clips: 'Clips: spark gaps, protection, clamps', switches: 'Switch matrix and its registers', ports: 'Ports, drives, returns, converter',
  listening: 'Listening: differences times 1 and times 8', supplies: 'Supplies and USB', controller: 'Controller, panel, wand, test points',
};

const font: List = ['effects', ['font', ['size', 1.27, 1.27]]];
const rootUuid = uuidOf('root sheet');
const sheetUuid = (sheet: Sheet): ReturnType<typeof uuidOf> => uuidOf(`sheet ${sheet}`);

/** UUID of a part's symbol, and its path from the root: the board's footprint carries the same. */
export function pathOf({ ref, sheet }: Part): string {
  return `/${sheetUuid(sheet).text}/${uuidOf(`symbol ${ref}`).text}`;
}

/** Files of the schematic by name. */
export function schematicFiles(netlist: Netlist): Map<string, string> {
  const files = new Map<string, string>();
  const flags = fedNets(netlist);
  for (const sheet of SHEETS) {
    const parts = netlist.parts.filter((part) => part.sheet === sheet);
    files.set(`${sheet}.kicad_sch`, `${written(page(sheet, parts, sheet === 'supplies' ? flags : []))}\n`);
  }
  files.set(`${PROJECT}.kicad_sch`, `${written(root())}\n`);
  files.set(`${LIBRARY}.kicad_sym`, `${written(library(netlist))}\n`);
  return files;
}

function library(netlist: Netlist): List {
  const symbols = new Map(netlist.parts.map(({ bought }) => [symbolName(bought), symbolOf(bought)]));
  return ['kicad_symbol_lib', ['version', 20241209], ['generator', quoted(PROJECT)], ['generator_version', quoted('9.0')],
    ...[...symbols].map(([name, symbol]) => symbol.definition(name)), flagDefinition('FED')];
}

function titleBlock(title: string): List {
  return ['title_block', ['title', quoted(`${BOARD.title}: ${title}`)], ['rev', quoted(BOARD.revision)], ['company', quoted('never built')],
    ['comment', 1, quoted('made from hardware-notes/board/netlist; edit there')]];
}

function root(): List {
  const sheets = SHEETS.map((sheet, i): List => {
    const x = 25.4 + (i % 3) * 101.6;
    const y = 38.1 + Math.floor(i / 3) * 63.5;
    return ['sheet', ['at', x, y], ['size', 76.2, 38.1], ['exclude_from_sim', 'no'], ['in_bom', 'yes'], ['on_board', 'yes'], ['dnp', 'no'],
      ['stroke', ['width', 0.15], ['type', 'solid']], ['fill', ['color', 0, 0, 0, 0]], ['uuid', sheetUuid(sheet)],
      ['property', quoted('Sheetname'), quoted(TITLES[sheet]), ['at', x, y - 0.8, 0], ['effects', ['font', ['size', 1.27, 1.27]], ['justify', 'left', 'bottom']]],
      ['property', quoted('Sheetfile'), quoted(`${sheet}.kicad_sch`), ['at', x, y + 39, 0], ['effects', ['font', ['size', 1.27, 1.27]], ['justify', 'left', 'top']]],
      ['instances', ['project', quoted(PROJECT), ['path', quoted(`/${rootUuid.text}`), ['page', quoted(String(i + 2))]]]]];
  });
  return ['kicad_sch', ['version', VERSION], ['generator', quoted(PROJECT)], ['generator_version', quoted('9.0')], ['uuid', rootUuid], ['paper', quoted('A3')],
    titleBlock('all sheets'), ['lib_symbols'], ...sheets, ['sheet_instances', ['path', quoted('/'), ['page', quoted('1')]]], ['embedded_fonts', 'no']];
}

const snap = (mm: number): number => Math.ceil(mm / GRID) * GRID;

function page(sheet: Sheet, parts: readonly Part[], flags: readonly string[]): List {
  const symbols = new Map(parts.map(({ bought }) => [symbolName(bought), symbolOf(bought)]));
  const items: Sexpr[] = [];
  let x: number = PAGE.left;
  let y: number = PAGE.top;
  let rowHeight = 0;
  const longest = (part: Part, symbol: Symbol, side: 'left' | 'right'): number =>
    Math.max(0, ...symbol.ends.filter((end) => end.side === side).map(({ pin }) =>
      (part.nets.get(pin.number) ?? '').length)) * LABEL_mm + 5;
  // Two-ended parts stand in cells of one width, so that they line up.
  const big = parts.filter(({ bought }) => bought.pins.length > 2);
  const small = parts.filter(({ bought }) => bought.pins.length <= 2);
  for (const part of [...big, ...small]) {
    const symbol = symbols.get(symbolName(part.bought))!;
    const isSmall = part.bought.pins.length <= 2;
    const leftLabel = isSmall ? 20.32 : longest(part, symbol, 'left');
    const width = isSmall ? 20.32 * 2 + symbol.width : symbol.width + leftLabel + longest(part, symbol, 'right');
    const height = symbol.height + (isSmall ? 7.62 : 7.62);
    if (x + width > PAGE.right || (part === small[0] && x > PAGE.left)) {
      x = PAGE.left;
      y = snap(y + rowHeight);
      rowHeight = 0;
    }
    const centre = { x: snap(x + leftLabel + symbol.width / 2), y: snap(y + height / 2) };
    items.push(...placed(part, symbol, centre, sheet));
    x += width + GRID;
    rowHeight = Math.max(rowHeight, height);
  }
  if (y + rowHeight > PAGE.bottom + 20) throw new Error(`sheet ${sheet} is full: ${Math.round(y + rowHeight)} mm`);
  flags.forEach((net, i) => {
    const spot = { x: snap(PAGE.left + 10 + i * 30), y: snap(y + rowHeight + 12) };
    items.push(...flag(net, i, spot, sheet));
  });
  const definitions = [...symbols].map(([name, symbol]) => symbol.definition(`${LIBRARY}:${name}`));
  if (flags.length > 0) definitions.push(flagDefinition(`${LIBRARY}:FED`));
  return ['kicad_sch', ['version', VERSION], ['generator', quoted(PROJECT)], ['generator_version', quoted('9.0')], ['uuid', uuidOf(`file ${sheet}`)], ['paper', quoted('A3')],
    titleBlock(TITLES[sheet]), ['lib_symbols', ...definitions], ...items, ['embedded_fonts', 'no']];
}

interface Spot {
  readonly x: number;
  readonly y: number;
}

function property(name: string, value: string, x: number, y: number, hide = false): List {
  return ['property', quoted(name), quoted(value), ['at', x, y, 0], hide ? [...font, ['hide', 'yes']] : font];
}

function instance(lib: string, ref: string, spot: Spot, sheet: Sheet, properties: readonly List[],
  pinNumbers: readonly string[], inBom: boolean): List {
  return ['symbol', ['lib_id', quoted(`${LIBRARY}:${lib}`)], ['at', spot.x, spot.y, 0], ['unit', 1], ['exclude_from_sim', 'no'], ['in_bom', inBom ? 'yes' : 'no'],
    ['on_board', 'yes'], ['dnp', 'no'], ['uuid', uuidOf(`symbol ${ref}`)], ...properties,
    ...pinNumbers.map((number): List => ['pin', quoted(number), ['uuid', uuidOf(`pin ${ref}.${number}`)]]),
    ['instances', ['project', quoted(PROJECT), ['path', quoted(`/${rootUuid.text}/${sheetUuid(sheet).text}`), ['reference', quoted(ref)], ['unit', 1]]]]];
}

function label(net: string, ref: string, pin: string, x: number, y: number, side: 'left' | 'right'): List {
  return ['global_label', quoted(net), ['shape', 'passive'], ['at', x, y, side === 'left' ? 180 : 0],
    ['effects', ['font', ['size', 1.27, 1.27]], ['justify', side === 'left' ? 'right' : 'left']], ['uuid', uuidOf(`label ${ref}.${pin}`)],
    ['property', quoted('Intersheetrefs'), quoted('${INTERSHEET_REFS}'), ['at', x, y, 0], [...font, ['hide', 'yes']]]];
}

function placed(part: Part, symbol: Symbol, spot: Spot, sheet: Sheet): Sexpr[] {
  const { ref, value, bought, nets } = part;
  const ends = symbol.ends.map((end) => end.y);
  const isBox = bought.pins.length > 2;
  // A box reaches a step beyond its pins; what it is called stands above it, what it is below.
  const above = isBox ? Math.max(...ends) + GRID + 1.3 : symbol.height / 2 + 0.6;
  const below = isBox ? GRID + 1.3 - Math.min(...ends) : symbol.height / 2 + 0.8;
  const properties = [
    property('Reference', ref, spot.x, spot.y - above), property('Value', value, spot.x, spot.y + below),
    property('Footprint', `${LIBRARY}:${bought.footprint.split(':')[1]}`, spot.x, spot.y, true), property('Datasheet', '', spot.x, spot.y, true),
    property('Description', bought.description, spot.x, spot.y, true),
  ];
  const items: Sexpr[] = [instance(symbol.name, ref, spot, sheet, properties, bought.pins.map(({ number }) =>
    number), bought.notBought !== true)];
  for (const { pin, x, y, side } of symbol.ends) {
    const net = nets.get(pin.number);
    const at = { x: spot.x + x, y: spot.y - y };
    items.push(net === undefined ? ['no_connect', ['at', at.x, at.y], ['uuid', uuidOf(`open ${ref}.${pin.number}`)]] : label(net, ref, pin.number, at.x, at.y, side));
  }
  return items;
}

function flag(net: string, index: number, spot: Spot, sheet: Sheet): Sexpr[] {
  const ref = `#FLG${index + 1}`;
  const properties = [property('Reference', ref, spot.x, spot.y - 3, true), property('Value', 'FED', spot.x, spot.y - 3.5), property('Footprint', '', spot.x, spot.y, true),
    property('Datasheet', '', spot.x, spot.y, true), property('Description', 'net is fed through a passive part', spot.x, spot.y, true)];
  return [instance('FED', ref, spot, sheet, properties, ['1'], true), label(net, ref, '1', spot.x, spot.y, 'right')];
}
