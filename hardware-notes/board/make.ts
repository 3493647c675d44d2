/**
 * Makes everything that follows from the netlist. Run with node from anywhere:
 *
 *   node hardware-notes/board/make.ts files       schematic, symbols, tables, parts list, decks, the twin's values (needs no KiCad)
 *   node hardware-notes/board/make.ts placed      the board without a track, to judge the placement
 *   node hardware-notes/board/make.ts route       routes the board anew, fills its planes; then look at it, judge it, commit it
 *   node hardware-notes/board/make.ts outputs     Gerbers, drill, placement, parts list, STEP and schematic for the fab, into build/board
 *   node hardware-notes/board/make.ts pictures    both sides and each layer, into hardware-notes/board/pictures (needs rsvg-convert)
 *   node hardware-notes/board/make.ts documents   the tables in README, error budget, assembly and safety (needs ngspice)
 *   node hardware-notes/board/make.ts footprints  copies the land patterns out of KiCad's library (once, when a part is new)
 */
import { execFileSync } from 'node:child_process';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { tester } from './netlist/board.ts';
import { boardFile } from './making/board-file.ts';
import { answers, documents } from './making/documents.ts';
import { generatedFiles } from './making/generated.ts';
import { FOOTPRINTS, KICAD_PYTHON } from './making/kicad-share.ts';
import { jobOf } from './making/layout.ts';
import { fabOutputs, pictures } from './making/outputs.ts';
import { route } from './router/router.ts';

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
    if (library === 'tapstone') continue;
    // A hole without copper that is on "front and back" becomes one on all layers in a board of four: the copy says so at once.
    const text = readFileSync(join(FOOTPRINTS, `${library}.pretty`, `${name}.kicad_mod`), 'utf8').replaceAll('"F&B.Cu"', '"*.Cu"');
    writeFileSync(join(here, 'kicad/tapstone.pretty', `${name}.kicad_mod`), text);
  }
}

const BOARD_FILE = join(here, 'kicad/tapstone.kicad_pcb');

function placed(): void {
  writeFileSync(BOARD_FILE, boardFile(tester(), { tracks: [], vias: [], failures: [] }));
}

function routed(): void {
  const netlist = tester();
  const answer = route(jobOf(netlist), (line) => process.stderr.write(`${line}\n`));
  for (const failure of answer.failures) process.stderr.write(`${failure}\n`);
  const millimetres = answer.tracks.reduce((sum, { from, to }) => sum + Math.hypot(to.x - from.x, to.y - from.y), 0);
  process.stderr.write(`${(millimetres / 1000).toFixed(2)} m of track, ${answer.vias.length} vias\n`);
  writeFileSync(BOARD_FILE, boardFile(netlist, answer));
  execFileSync(KICAD_PYTHON, [join(here, 'making/fill.py'), BOARD_FILE], { stdio: 'inherit' });
  // KiCad has written the project file again, with all that it takes for granted: ours holds what we mean.
  files();
  if (answer.failures.length > 0) process.exitCode = 1;
}

function outputs(): void {
  const into = join(here, '../../build/board');
  fabOutputs(into);
  process.stdout.write(`${into}\n`);
}

const commands: Readonly<Record<string, () => void>> = {
  files, documents: tables, placed, route: routed, outputs, pictures: () => pictures(join(here, 'pictures')), footprints,
};
const command = commands[process.argv[2] ?? ''];
if (command === undefined) {
  process.stderr.write(`make.ts: say one of ${Object.keys(commands).join(', ')}\n`);
  process.exit(64);
}
command();
