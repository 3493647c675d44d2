/** The program's version, told once: in package.json. */
import { readFileSync } from 'node:fs';

/** From here and from the bundle alike, the package is three folders up. */
const PACKAGE = new URL('../../../package.json', import.meta.url);

export function version(): string {
  return (JSON.parse(readFileSync(PACKAGE, 'utf8')) as { version: string }).version;
}
