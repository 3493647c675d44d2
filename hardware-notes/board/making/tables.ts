/** Tables that people and programs read: parts list, library tables, the project file with the fab's limits. */
import type { Netlist, Part } from '../netlist/model.ts';
import { FAB } from '../router/fab.ts';
import { LIBRARY } from './symbols.ts';
import { PROJECT } from './schematic.ts';

const cell = (text: string): string => (/[",]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);

/** Ref names in the order of their letters and numbers. */
export function inOrder(refs: readonly string[]): string[] {
  return [...refs].sort((a, b) => {
    const [, letterA, numberA] = /^([A-Z]+)(\d+)$/.exec(a)!;
    const [, letterB, numberB] = /^([A-Z]+)(\d+)$/.exec(b)!;
    return letterA < letterB ? -1 : letterA > letterB ? 1 : Number(numberA) - Number(numberB);
  });
}

/** The parts list: a row for each kind and value. */
export function partsList(netlist: Netlist): string {
  const rows = new Map<string, Part[]>();
  for (const part of netlist.parts) {
    if (part.bought.notBought === true) continue;
    const key = `${part.bought.description}|${part.value}|${part.bought.footprint}`;
    rows.set(key, [...(rows.get(key) ?? []), part]);
  }
  const lines = [...rows.values()].map((parts) => {
    const [{ bought, value }] = parts;
    return [String(parts.length), value, bought.description, bought.example, bought.alternate,
      bought.footprint.split(':')[1], inOrder(parts.map(({ ref }) => ref)).join(' ')];
  });
  lines.sort((a, b) => (a[6] < b[6] ? -1 : 1));
  return `${[['count', 'value', 'what to ask for', 'example', 'alternate', 'land pattern', 'references'], ...lines].map((row) => row.map(cell).join(',')).join('\n')}\n`;
}

/** KiCad's project file: the limits live here, beside the board and with its name, or the board is judged by others. */
export function projectFile(): string {
  const rules = {
    min_clearance: FAB.clearance, min_track_width: FAB.track, min_via_diameter: FAB.via,
      min_through_hole_diameter: FAB.viaDrill, min_hole_to_hole: FAB.holeToHole,
    min_hole_clearance: FAB.holeClearance, min_copper_edge_clearance: FAB.edge, min_via_annular_width: FAB.annulus,
      min_text_height: 0.6, min_text_thickness: 0.08,
  };
  const usual = { name: 'Default', clearance: FAB.clearance, track_width: FAB.track, via_diameter: FAB.via,
    via_drill: FAB.viaDrill, priority: 2147483647 };
  return `${JSON.stringify({
    board: { design_settings: { rules } }, meta: { filename: `${PROJECT}.kicad_pro`, version: 3 }, net_settings: { classes: [usual], meta: { version: 4 } },
  }, null, 2)}\n`;
}

/** Library tables that name the copies beside the board only. */
export function libraryTables(): Map<string, string> {
  const table = (kind: string, uri: string): string => `(${kind}_lib_table\n\t(version 7)\n\t(lib (name "${LIBRARY}") (type "KiCad") (uri "\${KIPRJMOD}/${uri}") (options "") (descr ""))\n)\n`;
  return new Map([['sym-lib-table', table('sym', `${LIBRARY}.kicad_sym`)], ['fp-lib-table', table('fp', `${LIBRARY}.pretty`)]]);
}
