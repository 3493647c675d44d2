import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';

const file = (path: string): string => fileURLToPath(new URL(path, import.meta.url));

it("the host's view of the module's memory is what the compiler says of layout.ts, to the letter", () => {
  const built = execFileSync(process.execPath, [file('../../shared-logic/build.mjs'), '--print-layout'], { encoding: 'utf8' });
  expect(readFileSync(file('../../host/src/logic/layout.generated.ts'), 'utf8')).toBe(built);
});
