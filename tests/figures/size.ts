/** Size of the module of measurement logic. */
import { statSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/** Prints the module's bytes; what bounds them is the flash of the whole image (figures chip). */
export function print(): void {
  const bytes = statSync(
    fileURLToPath(new URL('../../shared-logic/build/logic.wasm', import.meta.url)),
  ).size;
  process.stdout.write(`size, logic.wasm: ${bytes} bytes\n`);
}
