// What `npm ci` runs at its end (the `prepare` script): the module, then the host's bundle, so that `npx tapstone` starts at once.
import { execFileSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

for (const script of ['shared-logic/build.mjs', 'host/build.mjs']) {
  const path = fileURLToPath(new URL(script, import.meta.url));
  if (existsSync(path)) execFileSync(process.execPath, [path], { stdio: 'inherit' });
}
