/**
 * Makes everything that follows from the netlist. Run with node from anywhere:
 *
 *   node hardware-notes/board/make.ts files       schematic, symbols, tables, parts list, decks, the twin's values (needs no KiCad)
 *   node hardware-notes/board/make.ts documents   the tables in README, error budget, assembly and safety (needs ngspice)
 *   node hardware-notes/board/make.ts footprints  copies the land patterns out of KiCad's library (once, when a part is new)
 */
import { copyFileSync, mkdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { tester } from './netlist/board.ts';
import { answers, documents } from './making/documents.ts';
import { generatedFiles } from './making/generated.ts';
import { FOOTPRINTS } from './making/kicad-share.ts';

const here = dirname(fileURLToPath(import.meta.url));

function files(): void {
  for (const [path, text] of generatedFiles(tester())) {
    mkdirSync(dirname(join(here, path)), { recursive: true });
    writeFileSync(join(here, path), text);
  }
}

function tables(): void {
  const netlist = tester();
  for (const [name, text] of documents(netlist, answers(netlist))) writeFileSync(join(here, name), text);
}

function footprints(): void {
  const wanted = new Set(tester().parts.map(({ bought }) => bought.footprint));
  for (const footprint of [...wanted].sort()) {
    const [library, name] = footprint.split(':');
    if (library !== 'tapstone') copyFileSync(join(FOOTPRINTS, `${library}.pretty`, `${name}.kicad_mod`), join(here, 'kicad/tapstone.pretty', `${name}.kicad_mod`));
  }
}

const commands: Readonly<Record<string, () => void>> = { files, documents: tables, footprints };
const command = commands[process.argv[2] ?? ''];
if (command === undefined) {
  process.stderr.write(`make.ts: say one of ${Object.keys(commands).join(', ')}\n`);
  process.exit(64);
}
command();
