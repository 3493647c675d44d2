/** The house rules that a machine can check; each finding says what to do instead. */
import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';

/** A file of the tree: its path from the root, with forward slashes, and its text. */
export interface SourceFile {
  readonly path: string;
  readonly text: string;
}

/** Folders that are built, fetched or not ours. */
const SKIPPED = new Set(['node_modules', 'build', 'dist', '.git']);
const TEXT = /\.(ts|tsx|mjs|js|json|md|c|h|S|ld|sh|wat|rules)$|^\.ci\/run$/;
const CODE = /\.(ts|tsx|mjs|c|h|S)$/;

/** Longest line of code, in characters; a sentence in quotes and a comment do not count, since nobody should cut them up. */
const COLUMNS_most = 140;
const PROSE = /'[^']*'|`[^`]*`|"[^"]*"|\/\*.*|\/\/.*|^ *\*.*/g;

/** Reads every text file of the repository; without git, every one under the root. */
export function readTree(root: string): SourceFile[] {
  const files: SourceFile[] = [];
  const listed = spawnSync('git', ['ls-files'], { cwd: root, encoding: 'utf8' });
  const known = listed.status === 0 ? new Set(listed.stdout.split('\n')) : null;
  const walk = (folder: string): void => {
    for (const entry of readdirSync(folder, { withFileTypes: true })) {
      if (SKIPPED.has(entry.name)) continue;
      const full = join(folder, entry.name);
      if (entry.isDirectory()) walk(full);
      else if (entry.isFile()) {
        const path = relative(root, full).replaceAll('\\', '/');
        if (known?.has(path) !== false && TEXT.test(path) && path !== 'package-lock.json')
          files.push({ path, text: readFileSync(full, 'utf8') });
      }
    }
  };
  walk(root);
  return files.sort((a, b) => (a.path < b.path ? -1 : 1));
}

/** What each folder may import, besides Node's own modules and packages: the table of DEVELOPERS.md.
 * The longest prefix that fits a file is its rule.
 */
const MAY_IMPORT: readonly (readonly [string, readonly string[]])[] = [
  ['shared-logic/', ['shared-logic/']],
  // The solver and the reading of touches are pure functions of what was measured: no board, no sequence.
  [
    'shared-logic/assembly/solver/',
    [
      'shared-logic/assembly/solver/',
      'shared-logic/assembly/layout.ts',
      'shared-logic/assembly/evidence.ts',
      'shared-logic/assembly/record.fixture.ts',
      'shared-logic/assembly/waves.ts',
    ],
  ],
  [
    'shared-logic/assembly/touch/',
    [
      'shared-logic/assembly/touch/',
      'shared-logic/assembly/layout.ts',
      'shared-logic/assembly/waves.ts',
    ],
  ],
  [
    'shared-logic/assembly/ring/',
    [
      'shared-logic/assembly/ring/',
      'shared-logic/assembly/layout.ts',
      'shared-logic/assembly/waves.ts',
    ],
  ],
  ['firmware/', ['firmware/', 'hardware-notes/', 'shared-logic/']],
  ['hardware-notes/', ['hardware-notes/']],
  ['host/', ['host/']],
  // The chip twin runs the image that is flashed; the version is told once, in package.json.
  ['host/src/chip-twin/', ['host/', 'firmware/build/']],
  ['host/src/cli/', ['host/', 'package.json', 'firmware/build/']],
  [
    'host/src/edge/',
    [
      'host/src/edge/',
      'host/src/cli/errors.ts',
      'host/src/cli/exit-codes.ts',
      'host/src/cli/printable.ts',
    ],
  ],
  ['host/src/logic/', ['host/src/logic/']],
  // The bench is physics: it knows the board's commands and the layout of reports, nothing that solves.
  [
    'host/src/virtual-bench/',
    ['host/src/virtual-bench/', 'host/src/logic/', 'host/src/transport/transport.ts'],
  ],
];

/** Parts that solve, print or plan, and so may not see what the virtual bench knows. */
const BLIND = ['host/src/evidence/', 'host/src/wiremap/', 'host/src/wiring/', 'shared-logic/'];

const IMPORT = /(?:\bfrom\s+|\bimport\s*\(?\s*|new URL\(\s*)'(\.{1,2}\/[^']+)'/g;

/** Paths from the root that a file imports (or starts as a worker). */
export function importsOf(file: SourceFile): string[] {
  const targets: string[] = [];
  for (const [, specifier] of file.text.matchAll(IMPORT)) {
    const target = join(dirname(file.path), specifier!).replaceAll('\\', '/');
    targets.push(file.path.startsWith('shared-logic/assembly/') ? `${target}.ts` : target);
  }
  return targets;
}

/** Imports that the table does not allow. */
export function forbiddenImports(files: readonly SourceFile[]): string[] {
  const found: string[] = [];
  for (const file of files) {
    if (!/\.tsx?$/.test(file.path)) continue;
    const [rule] = MAY_IMPORT.filter(([prefix]) => file.path.startsWith(prefix)).sort(
      (a, b) => b[0].length - a[0].length,
    );
    // A test may cross what its subject may not; the blind parts' tests too.
    if (rule === undefined || /\.(test|spec)\.tsx?$/.test(file.path)) continue;
    for (const target of importsOf(file)) {
      const blind =
        BLIND.some((prefix) => file.path.startsWith(prefix)) &&
        target.startsWith('host/src/virtual-bench/');
      if (blind || !rule[1].some((prefix) => target.startsWith(prefix))) {
        found.push(
          `${file.path}: imports ${target}; ${rule[0]} may import ${rule[1].join(', ')}. Hand it in as an argument`,
        );
      }
    }
  }
  return found;
}

/** Code that nothing imports, starts or names. */
export function unreferencedFiles(files: readonly SourceFile[]): string[] {
  const isTest = (path: string): boolean => /\.(test|spec)\.tsx?$/.test(path);
  // What only its own test imports is not in use.
  const ownTest = (target: string): string => target.replace(/\.(tsx?)$/, '.test.$1');
  const imported = new Set(
    files.flatMap((file) => importsOf(file).filter((target) => file.path !== ownTest(target))),
  );
  return files
    .filter(
      ({ path }) =>
        /\.(ts|tsx|mjs)$/.test(path) && !isTest(path) && !/^[^/]*config\.ts$/.test(path),
    )
    .filter(({ path }) => !imported.has(path))
    .filter(({ path }) => {
      const name = path.split('/').at(-1)!;
      // Scripts are named by package.json, a build file or another script: by folder and name, or by name in a call.
      return !files.some(
        (other) =>
          ![path, ownTest(path)].includes(other.path) &&
          !other.path.endsWith('.md') &&
          other.text.includes(name),
      );
    })
    .map(({ path }) => `${path}: nothing imports or starts it. Remove it, or use it`);
}

interface Banned {
  readonly pattern: RegExp;
  readonly instead: string;
  /** Where it is allowed. */
  readonly except?: RegExp;
}

const BANNED_IN_CODE: readonly Banned[] = [
  {
    pattern: /\bMath\.random\b/,
    instead: 'draw from the seed that is handed in',
    except: /^host\/src\/edge\//,
  },
  {
    pattern: /\bDate\.now\b|\bnew Date\(\)/,
    instead: 'take the time that is handed in',
    // The age of a lock that a dead builder left is wall-clock time.
    except: /^host\/src\/edge\/|^tests\/chip\/images\.ts$/,
  },
  { pattern: /\b(TODO|FIXME|XXX|HACK)\b/, instead: 'do it now, or open an issue' },
  { pattern: /@ts-(ignore|nocheck)|eslint-disable/, instead: 'mend the type' },
  {
    pattern: /\bit\.(only|skip)\(|\bdescribe\.(only|skip)\(/,
    instead: 'run every test, or say why one is skipped with skipIf',
  },
  {
    pattern: /\bit\('[^']*\bshould\b/,
    instead: 'name what happens: "is minus at to when steel leaves"',
  },
];

/** Words that say where or by what a text was made, which no reader needs. */
const BANNED_EVERYWHERE: readonly Banned[] = [
  {
    pattern: /\/work\/(main|shared)|\/tmp\/brief/,
    instead: 'name the file from the root of the repository',
  },
  {
    pattern: /\b(subagents?|chatbots?|language models?|seed documents?)\b/i,
    instead: 'say what the thing does',
  },
];

/** Lines with a banned word, or that are too long. */
export function bannedLines(files: readonly SourceFile[]): string[] {
  const found: string[] = [];
  for (const { path, text } of files) {
    if (path.startsWith('tests/tidy')) continue;
    const rules = CODE.test(path) ? [...BANNED_IN_CODE, ...BANNED_EVERYWHERE] : BANNED_EVERYWHERE;
    text.split('\n').forEach((line, index) => {
      for (const { pattern, instead, except } of rules) {
        const [word] = pattern.exec(line) ?? [];
        if (word !== undefined && except?.test(path) !== true)
          found.push(`${path}:${index + 1}: "${word}": ${instead}`);
      }
      const columns = line.length > COLUMNS_most ? line.replace(PROSE, '').length : 0;
      if (CODE.test(path) && columns > COLUMNS_most) {
        found.push(
          `${path}:${index + 1}: ${columns} columns of code: break the line before column ${COLUMNS_most}`,
        );
      }
    });
  }
  return found;
}

/** Packages that what ships imports without depending on them. */
export function undeclaredPackages(
  files: readonly SourceFile[],
  dependencies: readonly string[],
): string[] {
  const found: string[] = [];
  for (const { path, text } of files) {
    if (!/^host\/(src|bin)\/.*\.(ts|tsx|js|mjs)$/.test(path) || /\.test\.tsx?$/.test(path))
      continue;
    for (const [, specifier] of text.matchAll(/(?:\bfrom\s+|\bimport\s*\(?\s*)'([^'.][^']*)'/g)) {
      if (specifier!.startsWith('node:')) continue;
      const name = specifier!
        .split('/')
        .slice(0, specifier!.startsWith('@') ? 2 : 1)
        .join('/');
      if (!dependencies.includes(name))
        found.push(`${path}: imports ${name}, which package.json has not under dependencies`);
    }
  }
  return found;
}
