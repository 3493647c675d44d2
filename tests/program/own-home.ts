/** A home of the tests' own: the program must never find, or change, the records of whoever runs them. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const home = mkdtempSync(join(tmpdir(), 'tapstone-home-'));
process.on('exit', () => rmSync(home, { recursive: true, force: true }));

/** Variables of the environment by which the program finds that home, and no server. */
export const OWN_HOME: Readonly<Record<string, string>> = {
  HOME: home, XDG_DATA_HOME: join(home, 'data'), XDG_CONFIG_HOME: join(home, 'config'), APPDATA: join(home, 'data'), TAPSTONE_RECORDS: '',
};
