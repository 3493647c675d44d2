/** Every file that follows from the netlist without KiCad, by its path from the board's folder. */
import type { Netlist } from '../netlist/model.ts';
import { schematicFiles, PROJECT } from './schematic.ts';
import { TWIN_FILE, twinValues } from './twin-values.ts';
import { decks } from '../spice/decks.ts';
import { libraryTables, partsList, projectFile } from './tables.ts';

export function generatedFiles(netlist: Netlist): Map<string, string> {
  const files = new Map<string, string>();
  for (const [name, text] of schematicFiles(netlist)) files.set(`kicad/${name}`, text);
  for (const [name, text] of libraryTables()) files.set(`kicad/${name}`, text);
  files.set(`kicad/${PROJECT}.kicad_pro`, projectFile());
  files.set('parts.csv', partsList(netlist));
  files.set(TWIN_FILE, twinValues());
  for (const { name, text } of decks(netlist)) files.set(`spice/decks/${name}.cir`, text);
  return files;
}
