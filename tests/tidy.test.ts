/** House rules over the whole tree; `tests/tidy-rules.ts` holds them, and here they are seen to bite. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import {
  bannedLines,
  forbiddenImports,
  importsOf,
  readTree,
  undeclaredPackages,
  unreferencedFiles,
} from './tidy-rules.ts';

const root = fileURLToPath(new URL('..', import.meta.url));
const tree = readTree(root);
const packageFile = JSON.parse(readFileSync(new URL('../package.json', import.meta.url), 'utf8'));

describe('the tree', () => {
  it('imports only what the table of folders allows', () => {
    expect(forbiddenImports(tree)).toEqual([]);
  });
  it('holds no file that nothing uses', () => {
    expect(unreferencedFiles(tree)).toEqual([]);
  });
  it('has no banned word and no overlong line', () => {
    expect(bannedLines(tree)).toEqual([]);
  });
  it('ships only packages that it declares', () => {
    const named = Object.keys({ ...packageFile.dependencies, ...packageFile.optionalDependencies });
    expect(undeclaredPackages(tree, named)).toEqual([]);
  });
});

describe('the rules', () => {
  const file = (path: string, text: string): { path: string; text: string } => ({ path, text });
  it('find an import of the virtual bench in what solves', () => {
    const bad = file(
      'host/src/evidence/load.ts',
      "import { x } from '../virtual-bench/pickup.ts';",
    );
    expect(forbiddenImports([bad])[0]).toMatch(
      /^host\/src\/evidence\/load\.ts: imports host\/src\/virtual-bench\/pickup\.ts/,
    );
  });
  it('find an import of what solves in the virtual bench', () => {
    const bad = file(
      'host/src/virtual-bench/coil.ts',
      "import type { X } from '../wiremap/wiremap.ts';",
    );
    expect(forbiddenImports([bad])).toHaveLength(1);
    const fine = file(
      'host/src/virtual-bench/coil.ts',
      "import { X } from '../logic/layout.generated.ts';",
    );
    expect(forbiddenImports([fine])).toEqual([]);
  });
  it('find an import of the sequence in the solver', () => {
    const path = 'shared-logic/assembly/solver/solve.ts';
    const bad = file(path, "import { clipMask } from '../sequence/setup';");
    expect(forbiddenImports([bad])).toHaveLength(1);
    expect(forbiddenImports([file(path, "import { EVIDENCE } from '../layout';")])).toEqual([]);
  });
  it('find a file that nothing names, and not one that a worker starts', () => {
    const orphan = file('host/src/lost.ts', '');
    const worker = file('tests/figures/worker.ts', '');
    const user = file(
      'tests/figures/pool.ts',
      "new Worker(new URL('./worker.ts', import.meta.url)); // pool.ts",
    );
    const start = file('package.json', '"figures": "node tests/figures/pool.ts"');
    expect(unreferencedFiles([orphan, worker, user, start])).toEqual([
      'host/src/lost.ts: nothing imports or starts it. Remove it, or use it',
    ]);
  });
  it('find chance and time outside the edge', () => {
    const line = `const x = Math.${'random'}() + Date.${'now'}();`;
    expect(bannedLines([file('host/src/wiring/plan.ts', line)])).toHaveLength(2);
    expect(bannedLines([file('host/src/edge/clock.ts', line)])).toEqual([]);
  });
  it('find words left for later and paths of one machine', () => {
    expect(bannedLines([file('firmware/main.c', `/* ${'TO'}DO */`)])).toHaveLength(1);
    expect(bannedLines([file('README.md', `see /${'work'}/main/x`)])).toHaveLength(1);
  });
  it('find a package that is only there for the tests', () => {
    const bad = file('host/src/cli/run.ts', "import { Matrix } from 'ml-matrix';");
    expect(undeclaredPackages([bad], ['ink'])).toHaveLength(1);
  });
  it("follow the module's own imports, which name no extension", () => {
    expect(
      importsOf(file('shared-logic/assembly/index.ts', "export { solve } from './solve';")),
    ).toEqual(['shared-logic/assembly/solve.ts']);
  });
});
