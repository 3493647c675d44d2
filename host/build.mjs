// Builds the host's bundle, host/dist/app: one file per command that is loaded when it is asked for.
// The folder is as deep as the sources' own, so that a file named relative to a source is found from the bundle too.
// Beside it host/dist/notices.json, the licences of what went into the bundle and the module, for the package that is released.
import { build } from 'esbuild';
import { rmSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { EXTERNAL } from './external.mjs';
import { packageNotice, packageOf } from './notices.mjs';

const here = fileURLToPath(new URL('.', import.meta.url));
rmSync(`${here}dist`, { recursive: true, force: true });
const { metafile } = await build({
  absWorkingDir: here,
  entryPoints: { main: 'src/main.ts', 'solve-worker': 'src/cli/solve-worker.ts' },
  outdir: 'dist/app',
  bundle: true,
  splitting: true,
  format: 'esm',
  platform: 'node',
  target: 'node22.16',
  // Ink and React go into the bundle: read from it they start in half the time. Ink's panel for developers is no part of it.
  external: [...EXTERNAL, 'react-devtools-core'],
  // Some of Ink's packages are CommonJS and ask for Node's own modules by `require`.
  banner: { js: "import { createRequire as __createRequire } from 'node:module'; const require = __createRequire(import.meta.url);" },
  // Nothing here fetches. The layout library only asks whether it could, and the question alone makes Node.js load its HTTP client.
  define: { 'process.env.NODE_ENV': '"production"', 'process.env.DEV': '"false"', fetch: 'undefined' },
  jsx: 'automatic',
  legalComments: 'linked',
  metafile: true,
  logLevel: 'warning',
});

const used = Object.values(metafile.outputs).flatMap(({ inputs }) => Object.keys(inputs).filter((path) => inputs[path].bytesInOutput > 0));
// Paths of the bundler are relative to this folder.
const packages = new Set(used.map((path) => packageOf(path.replace(/^\.\.\//, ''))).filter((folder) => folder !== null));
// The module holds some of AssemblyScript's library.
const notices = [...packages, 'node_modules/assemblyscript'].map(packageNotice);
writeFileSync(`${here}dist/notices.json`, `${JSON.stringify(notices)}\n`);
