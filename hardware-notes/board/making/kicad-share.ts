/** Where KiCad 9 keeps its libraries on this system, and whether it is there. */
import { existsSync } from 'node:fs';

export const KICAD = '/usr/bin/kicad-cli';
export const hasKicad = existsSync(KICAD);
export const FOOTPRINTS = '/usr/share/kicad/footprints';
export const SYMBOLS = '/usr/share/kicad/symbols';
/** The system's own Python: another one first in PATH would not know KiCad. */
export const KICAD_PYTHON = '/usr/bin/python3';
