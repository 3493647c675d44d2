/** Where the program keeps its state on this system. */
import { mkdirSync } from 'node:fs';
import { homedir } from 'node:os';
import { join } from 'node:path';
import { FileProblem } from './files.ts';

/**
 * The platform's usual folder for a program's data.
 * @see XDG Base Directory Specification for Linux: XDG_DATA_HOME, else ~/.local/share
 */
export function dataFolder(environment: Record<string, string | undefined> = process.env): string {
  const home = homedir();
  const base =
    process.platform === 'win32'
      ? (environment.APPDATA ?? join(home, 'AppData', 'Roaming'))
      : process.platform === 'darwin'
        ? join(home, 'Library', 'Application Support')
        : environment.XDG_DATA_HOME || join(home, '.local', 'share');
  return join(base, 'tapstone');
}

/** The same folder, made when it is not there. @throws FileProblem when it cannot be made */
export function madeDataFolder(): string {
  const folder = dataFolder();
  try {
    mkdirSync(folder, { recursive: true });
  } catch (error) {
    throw new FileProblem(folder, 'writing', error);
  }
  return folder;
}
