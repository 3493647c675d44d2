// What `npm ci` runs at its end (the `prepare` script): the module, then the host's bundle, so that `npx tapstone` starts at once;
// and, where the cross compiler is installed, the firmware, so that `--twin chip` runs the module that was just built.
import { execFileSync, spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';

const hasCompiler = spawnSync('arm-none-eabi-gcc', ['--version'], { stdio: 'ignore' }).status === 0;
for (const script of ['shared-logic/build.mjs', 'host/build.mjs', ...(hasCompiler ? ['firmware/build.mjs'] : [])]) {
  execFileSync(process.execPath, [fileURLToPath(new URL(script, import.meta.url))], { stdio: 'inherit' });
}
