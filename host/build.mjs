// Builds the host's bundle, host/dist/app: one file per command that is loaded when it is asked for.
// The folder is as deep as the sources' own, so that a file named relative to a source is found from the bundle too.
import { build } from 'esbuild';
import { rmSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const here = fileURLToPath(new URL('.', import.meta.url));
rmSync(`${here}dist`, { recursive: true, force: true });
await build({
  absWorkingDir: here,
  entryPoints: { main: 'src/main.ts', 'solve-worker': 'src/cli/solve-worker.ts' },
  outdir: 'dist/app',
  bundle: true,
  splitting: true,
  format: 'esm',
  platform: 'node',
  target: 'node22.12',
  // Ink and React go into the bundle: read from it they start in half the time. What has native parts, and the emulator, stay outside.
  external: ['node-hid', 'rp2040js', 'react-devtools-core'],
  // Some of Ink's packages are CommonJS and ask for Node's own modules by `require`.
  banner: { js: "import { createRequire as __createRequire } from 'node:module'; const require = __createRequire(import.meta.url);" },
  // Nothing here fetches. The layout library only asks whether it could, and the question alone makes Node.js load its HTTP client.
  define: { 'process.env.NODE_ENV': '"production"', 'process.env.DEV': '"false"', fetch: 'undefined' },
  jsx: 'automatic',
  legalComments: 'none',
  logLevel: 'warning',
});
