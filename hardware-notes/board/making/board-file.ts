/** The KiCad board file: land patterns with their nets, tracks and vias, planes and pours, words. Pours are filled by KiCad afterwards. */
import { BOARD } from '../netlist/board.ts';
import type { Netlist } from '../netlist/model.ts';
import { FAB } from '../router/fab.ts';
import type { Point, Routed } from '../router/job.ts';
import { landPattern, netOfPad, placedFootprint } from './footprints.ts';
import { GUARDS, PLANES, POUR, words } from './layout.ts';
import { lists, quoted, textOf, uuidOf, written, type List } from './sexpr.ts';

const LAYERS: readonly (readonly [number, string, string, string?])[] = [
  [0, 'F.Cu', 'signal'], [4, 'In1.Cu', 'signal'], [6, 'In2.Cu', 'signal'], [2, 'B.Cu', 'signal'], [9, 'F.Adhes', 'user', 'F.Adhesive'], [11, 'B.Adhes', 'user', 'B.Adhesive'],
  [13, 'F.Paste', 'user'], [15, 'B.Paste', 'user'], [5, 'F.SilkS', 'user', 'F.Silkscreen'], [7, 'B.SilkS', 'user', 'B.Silkscreen'], [1, 'F.Mask', 'user'], [3, 'B.Mask', 'user'],
  [17, 'Dwgs.User', 'user', 'User.Drawings'], [19, 'Cmts.User', 'user', 'User.Comments'], [25, 'Edge.Cuts', 'user'], [27, 'Margin', 'user'],
  [31, 'F.CrtYd', 'user', 'F.Courtyard'], [29, 'B.CrtYd', 'user', 'B.Courtyard'], [35, 'F.Fab', 'user'], [33, 'B.Fab', 'user'],
];

/** Net names in the order of their numbers; the first is none. */
function netNames(netlist: Netlist): string[] {
  const names = new Set<string>();
  for (const part of netlist.parts) {
    for (const pad of lists(landPattern(part.bought.footprint.split(':')[1]), 'pad')) {
      const net = textOf(pad[2]) === 'np_thru_hole' ? null : netOfPad(part, textOf(pad[1]));
      if (net !== null) names.add(net);
    }
  }
  return ['', ...[...names].sort()];
}

const xy = ({ x, y }: Point): List => ['xy', x, y];

/** The board file's text. @param routed - tracks and vias; none for a board that is only placed */
export function boardFile(netlist: Netlist, routed: Routed): string {
  const names = netNames(netlist);
  const numbers = new Map(names.map((name, number) => [name, number]));
  const netNumber = (name: string): number => {
    const number = numbers.get(name);
    if (number === undefined) throw new Error(`the board has no net ${name}`);
    return number;
  };
  const zone = (net: string, layer: string, outline: readonly Point[], name: string, more: readonly List[]): List => [
    'zone', ['net', netNumber(net)], ['net_name', quoted(net)], ['layer', quoted(layer)], ['uuid', uuidOf(`zone ${name}`)], ['name', quoted(name)], ['hatch', 'edge', 0.5],
    ...more, ['polygon', ['pts', ...outline.map(xy)]],
  ];
  const inner = [['connect_pads', ['clearance', 0.15]], ['min_thickness', 0.15], ['filled_areas_thickness', 'no'], ['fill', 'yes', ['thermal_gap', 0.2], ['thermal_bridge_width', 0.25], ['island_removal_mode', 0]]] as List[];
  const outer = [['connect_pads', 'no', ['clearance', 0.2]], ['min_thickness', 0.2], ['filled_areas_thickness', 'no'], ['fill', 'yes', ['thermal_gap', 0.2], ['thermal_bridge_width', 0.25], ['island_removal_mode', 0]]] as List[];
  const items: List[] = [
    ...netlist.parts.map((part) => placedFootprint(part, netNumber)),
    ['gr_rect', ['start', 0, 0], ['end', BOARD.width_mm, BOARD.height_mm], ['stroke', ['width', 0.05], ['type', 'default']], ['fill', 'no'], ['layer', quoted('Edge.Cuts')], ['uuid', uuidOf('edge')]],
    ...GUARDS.map(([x1, y1, x2, y2], i): List =>
      ['gr_rect', ['start', x1, y1], ['end', x2, y2], ['stroke', ['width', 0], ['type', 'default']], ['fill', 'yes'], ['layer', quoted('F.Mask')], ['uuid', uuidOf(`guard ${i}`)]]),
    ...words(netlist).map(({ text, at, size, layer }, i): List =>
      ['gr_text', quoted(text), ['at', at.x, at.y, 0], ['layer', quoted(layer)], ['uuid', uuidOf(`word ${i}`)],
        ['effects', ['font', ['size', size, size], ['thickness', Math.max(0.1, size * 0.15)]], ...(layer === 'B.SilkS' ? [['justify', 'mirror'] as List] : [])]]),
    ...routed.tracks.map(({ net, layer, from, to, width }, i): List =>
      ['segment', ['start', from.x, from.y], ['end', to.x, to.y], ['width', width], ['layer', quoted(layer === 0 ? 'F.Cu' : 'B.Cu')], ['net', netNumber(net)], ['uuid', uuidOf(`track ${i}`)]]),
    ...routed.vias.map(({ net, at }, i): List =>
      ['via', ['at', at.x, at.y], ['size', FAB.via], ['drill', FAB.viaDrill], ['layers', quoted('F.Cu'), quoted('B.Cu')], ['net', netNumber(net)], ['uuid', uuidOf(`via ${i}`)]]),
    ...PLANES.map(({ net, inner: layer, outline }, i) => zone(net, `In${layer}.Cu`, outline, `${net} ${i}`, inner)),
    zone('GND', 'F.Cu', POUR, 'guard front', outer), zone('GND', 'B.Cu', POUR, 'guard back', outer),
  ];
  return `${written(['kicad_pcb', ['version', 20241229], ['generator', quoted('tapstone')], ['generator_version', quoted('9.0')],
    ['general', ['thickness', 1.6], ['legacy_teardrops', 'no']], ['paper', quoted('A4')], ['title_block', ['title', quoted(BOARD.title)], ['rev', quoted(BOARD.revision)], ['company', quoted('never built')]],
    ['layers', ...LAYERS.map(([number, name, kind, long]): List =>
      [String(number), quoted(name), kind, ...(long === undefined ? [] : [quoted(long)])])],
    ['setup', ['pad_to_mask_clearance', 0.05], ['allow_soldermask_bridges_in_footprints', 'yes']],
    ...names.map((name, number): List => ['net', number, quoted(name)]), ...items, ['embedded_fonts', 'no']])}\n`;
}
