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
  return madeFolder(dataFolder());
}

/** A folder, made with those above it when it is not there. @throws FileProblem when it cannot be made */
export function madeFolder(folder: string): string {
  try {
    mkdirSync(folder, { recursive: true });
  } catch (error) {
    throw new FileProblem(folder, 'writing', error);
  }
  return folder;
}

/**
 * The platform's usual folder for a program's configuration.
 * @see XDG Base Directory Specification for Linux: XDG_CONFIG_HOME, else ~/.config
 */
export function configFolder(environment: Record<string, string | undefined> = process.env): string {
  if (process.platform === 'win32' || process.platform === 'darwin') return dataFolder(environment);
  return join(environment.XDG_CONFIG_HOME || join(homedir(), '.config'), 'tapstone');
}

/** A folder as a person writes it: `~/` is their home. */
export function folderOf(text: string): string {
  return text === '~' ? homedir() : text.startsWith('~/') ? join(homedir(), text.slice(2)) : text;
}
