/** KiCad 9 for tests: whether it is there, said once in a line when it is not, and a copy of the project to judge. */
import { spawnSync } from 'node:child_process';
import { cpSync, mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { hasKicad, KICAD } from '../../hardware-notes/board/making/kicad-share.ts';

export const project = fileURLToPath(new URL('../../hardware-notes/board/kicad', import.meta.url));

/** Says what is skipped. @returns whether KiCad is there */
export function kicadOrSay(what: string): boolean {
  if (!hasKicad) process.stderr.write(`KiCad 9 is not installed: ${what} skipped\n`);
  return hasKicad;
}

/** A copy of the project in a folder of its own: KiCad writes beside what it reads. */
export function copyOfProject(): string {
  const folder = mkdtempSync(join(tmpdir(), 'tapstone-board-'));
  cpSync(project, folder, { recursive: true });
  return folder;
}

/** Runs kicad-cli in a folder. */
export function kicad(folder: string, ...args: string[]): { status: number | null; text: string } {
  const { status, stdout, stderr } = spawnSync(KICAD, args, { cwd: folder, encoding: 'utf8', env: { ...process.env, HOME: folder } });
  return { status, text: `${stdout}${stderr}` };
}
