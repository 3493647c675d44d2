/** What a fab and an assembler are sent, and pictures to look at first, out of the committed board by KiCad. */
import { execFileSync } from 'node:child_process';
import { copyFileSync, cpSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { KICAD } from './kicad-share.ts';
import { PROJECT } from './schematic.ts';

const boardFolder = fileURLToPath(new URL('..', import.meta.url));
const COPPER = ['F.Cu', 'In1.Cu', 'In2.Cu', 'B.Cu'] as const;
const FAB_LAYERS = [...COPPER, 'F.Paste', 'F.SilkS', 'B.SilkS', 'F.Mask', 'B.Mask', 'Edge.Cuts'];

/** KiCad writes beside what it reads, so it reads a copy. */
function withCopy<T>(use: (folder: string, kicad: (...args: string[]) => void) => T): T {
  const folder = mkdtempSync(join(tmpdir(), 'tapstone-outputs-'));
  cpSync(join(boardFolder, 'kicad'), folder, { recursive: true });
  try {
    return use(folder, (...args) => void execFileSync(KICAD, args, { cwd: folder, stdio: ['ignore', 'ignore', 'inherit'], env: { ...process.env, HOME: folder } }));
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** Writes everything for the fab and the assembler. @param into - a folder, made when it is not there */
export function fabOutputs(into: string): void {
  mkdirSync(into, { recursive: true });
  withCopy((_, kicad) => {
    const board = `${PROJECT}.kicad_pcb`;
    kicad('pcb', 'export', 'gerbers', '--no-protel-ext', '-l', FAB_LAYERS.join(','), '-o', `${into}/`, board);
    kicad('pcb', 'export', 'drill', '--excellon-separate-th', '--generate-map', '--map-format', 'gerberx2', '-o', `${into}/`, board);
    kicad('pcb', 'export', 'pos', '--format', 'csv', '--units', 'mm', '--side', 'front', '--exclude-dnp', '-o', join(into, 'placement.csv'), board);
    kicad('pcb', 'export', 'step', '--no-dnp', '-f', '-o', join(into, `${PROJECT}.step`), board);
    kicad('pcb', 'export', 'pdf', '--mode-single', '-l', 'F.Fab,Edge.Cuts', '--sp', '--drill-shape-opt', '0', '--black-and-white', '-o', join(into, 'where-each-part-goes.pdf'), board);
    kicad('sch', 'export', 'pdf', '-o', join(into, 'schematic.pdf'), `${PROJECT}.kicad_sch`);
  });
  undate(into);
  copyFileSync(join(boardFolder, 'parts.csv'), join(into, 'parts.csv'));
}

/** Takes the moment out of the Gerbers and drill files of a folder: the same board gives the same bytes. */
function undate(folder: string): void {
  for (const name of readdirSync(folder).filter((one) => /\.(gbr|drl|gbrjob)$/.test(one))) {
    const text = readFileSync(join(folder, name), 'utf8');
    writeFileSync(join(folder, name), text.replace(/\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d([+-]\d\d:?\d\d|Z)?/g, '2000-01-01T00:00:00'));
  }
}

/** Writes both sides as they will look, and each layer of copper. @param into - a folder, made when it is not there */
export function pictures(into: string): void {
  mkdirSync(into, { recursive: true });
  withCopy((folder, kicad) => {
    const board = `${PROJECT}.kicad_pcb`;
    for (const side of ['top', 'bottom']) {
      kicad('pcb', 'render', '--side', side, '--width', '1100', '--height', '896', '--zoom', '0.95', '--background', 'opaque', '-o', join(into, `${side}.png`), board);
    }
    for (const layer of COPPER) {
      const svg = join(folder, `${layer}.svg`);
      kicad('pcb', 'export', 'svg', '--mode-single', '--page-size-mode', '2', '--exclude-drawing-sheet', '-l', `${layer},Edge.Cuts`, '-o', svg, board);
      execFileSync('rsvg-convert', ['-w', '1000', '-b', 'white', svg, '-o', join(into, `${layer}.png`)]);
    }
  });
}
