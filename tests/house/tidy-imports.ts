/** Who imports what: the table of DEVELOPERS.md, read and kept, and no circles. */
import { dirname, join } from 'node:path';

/** A file of the tree: its path from the root, with forward slashes, and its text. */
export interface SourceFile {
  readonly path: string;
  readonly text: string;
}

/** A row of the table: a folder (with its slash at the end) or a file, and what it may import besides its own. */
export interface Row {
  readonly of: string;
  readonly mayImport: readonly string[];
}

const SCRIPT = /\.(tsx?|mjs|js)$/;
const C = /\.[chS]$/;
/** What tests may cross is not held against them; a fixture serves specs only. */
const TEST = /\.(test|spec|fixture)\.tsx?$/;
const HEADING = '## Who imports what';

/** Parts that solve, print or plan, and so may not see what the virtual bench knows, whatever a row says. */
const BLIND = ['host/src/evidence/', 'host/src/wiremap/', 'host/src/wiring/', 'host/src/harness/', 'shared-logic/'];
/** What knows the truth about an invented pickup. */
const KNOWING = ['host/src/virtual-bench/', 'host/src/pickup/'];
/** What is built is no source: who reads it does not import whoever builds it. */
const BUILT = /\/build\/$/;

/** Circles that stand until their file is rewritten; one that is no circle any more must go from here. */
export const CIRCLES_LEFT: readonly { readonly files: readonly string[]; readonly why: string }[] =
  [];

const IMPORT = /(?:\bfrom\s+|\bimport\s*\(?\s*)'(\.{1,2}\/[^']+)'/g;
const START = /new URL\(\s*'(\.{1,2}\/[^']+)'/g;
const INCLUDE = /^#include "([^"]+)"/gm;

const resolved = (file: SourceFile, specifier: string): string =>
  join(dirname(file.path), specifier).replaceAll('\\', '/');

/** Paths that a script imports; AssemblyScript names no extension. */
function imported(file: SourceFile): string[] {
  return [...file.text.matchAll(IMPORT)].map(([, specifier]) => {
    const target = resolved(file, specifier!);
    return /\.(tsx?|mjs|js|json)$/.test(target) ? target : `${target}.ts`;
  });
}

/** Headers that a C file includes: beside it, or from the folder of the firmware; generated ones are none of the tree's. */
function included(file: SourceFile, known: ReadonlySet<string>): string[] {
  return [...file.text.matchAll(INCLUDE)]
    .map(([, name]) => [resolved(file, name!), `firmware/${name}`].find((path) => known.has(path)))
    .filter((path) => path !== undefined);
}

/** Paths from the root that a script imports, or starts as a worker. */
export function importsOf(file: SourceFile): string[] {
  const started = [...file.text.matchAll(START)].map(([, specifier]) => resolved(file, specifier!));
  return [...imported(file), ...started];
}

/** The table's rows.
 * A name in backticks is looked for in the row's own folder, then in each folder above it; one with a slash in front
 * is meant from the root. Words outside backticks are for the reader.
 * @param text - DEVELOPERS.md
 * @throws Error when the table is not there or names what is not in the tree
 */
export function rowsOf(text: string, files: readonly SourceFile[]): Row[] {
  const table = text.split(HEADING)[1]?.split('\n## ')[0] ?? '';
  const exists = (path: string): boolean =>
    files.some((file) => (path.endsWith('/') ? file.path.startsWith(path) : file.path === path));
  const find = (name: string, row: string): string => {
    if (name.startsWith('/')) return name.slice(1);
    for (let folder = row; ; folder = folder.replace(/[^/]*\/?$/, '')) {
      if (exists(folder + name)) return folder + name;
      if (folder === '') throw new Error(`DEVELOPERS.md, row ${row}: ${name} is not in the tree`);
    }
  };
  const rows = table
    .split('\n')
    .map((line) => line.split('|').map((cell) => cell.trim()))
    .filter((cells) => cells[1]?.startsWith('`'))
    .map(([, of, , names]) => {
      const row = of!.replaceAll('`', '');
      if (!exists(row)) throw new Error(`DEVELOPERS.md: the row ${row} is not in the tree`);
      return { of: row, mayImport: [...names!.matchAll(/`([^`]+)`/g)].map(([, name]) => find(name!, row)) };
    });
  if (rows.length === 0) throw new Error(`DEVELOPERS.md has no table under "${HEADING}"`);
  return rows;
}

/** The row of a path: the longest that it lies in. */
function rowFor(path: string, rows: readonly Row[]): Row | undefined {
  return rows
    .filter(({ of }) => path.startsWith(of))
    .sort((a, b) => b.of.length - a.of.length)[0];
}

/** Imports that the table does not allow, and code that no row speaks of. */
export function forbiddenImports(files: readonly SourceFile[], rows: readonly Row[]): string[] {
  const known = new Set(files.map(({ path }) => path));
  const found: string[] = [];
  for (const file of files) {
    const isScript = SCRIPT.test(file.path);
    if (TEST.test(file.path) || !(isScript || C.test(file.path))) continue;
    const row = rowFor(file.path, rows);
    if (row === undefined) {
      found.push(`${file.path}: no row of DEVELOPERS.md says what it may import. Add one`);
      continue;
    }
    for (const target of isScript ? importsOf(file) : included(file, known)) {
      const isOwn = rowFor(target, rows) === row;
      const isBlind =
        BLIND.some((prefix) => file.path.startsWith(prefix)) &&
        KNOWING.some((prefix) => target.startsWith(prefix));
      if (isBlind || !(isOwn || row.mayImport.some((prefix) => target.startsWith(prefix)))) {
        found.push(
          `${file.path}: imports ${target}; by DEVELOPERS.md ${row.of} may import ` +
            `${row.mayImport.join(', ') || 'nothing'}. Hand it in as an argument`,
        );
      }
    }
  }
  return found;
}

/** What hangs together in circles: each list holds nodes that reach one another. */
function circlesOf(graph: ReadonlyMap<string, readonly string[]>): string[][] {
  const reach = new Map<string, ReadonlySet<string>>();
  for (const start of graph.keys()) {
    const reached = new Set<string>();
    const open = [start];
    for (let node = open.pop(); node !== undefined; node = open.pop()) {
      for (const next of graph.get(node) ?? []) {
        if (reached.has(next)) continue;
        reached.add(next);
        open.push(next);
      }
    }
    reach.set(start, reached);
  }
  const circles: string[][] = [];
  const told = new Set<string>();
  for (const [node, reached] of reach) {
    if (told.has(node) || !reached.has(node)) continue;
    const circle = [...reached].filter((other) => reach.get(other)?.has(node)).sort();
    for (const member of circle) told.add(member);
    circles.push(circle);
  }
  return circles;
}

/** Files that import each other in a circle; a C file and its header are one. */
export function importCircles(files: readonly SourceFile[], left = CIRCLES_LEFT): string[] {
  const known = new Set(files.map(({ path }) => path));
  const node = (path: string): string => path.replace(C, '');
  const graph = new Map<string, string[]>();
  for (const file of files) {
    const isScript = SCRIPT.test(file.path);
    if (!isScript && !C.test(file.path)) continue;
    const targets = isScript ? imported(file) : included(file, known);
    const from = graph.get(node(file.path)) ?? [];
    // A header of the same name is no circle.
    from.push(...targets.map(node).filter((target) => isScript || target !== node(file.path)));
    graph.set(node(file.path), from);
  }
  const circles = circlesOf(graph);
  const isLeft = (circle: readonly string[]): boolean =>
    left.some((one) => [...one.files].sort().join() === circle.join());
  const gone = left.filter(
    ({ files: one }) => !circles.some((circle) => circle.join() === [...one].sort().join()),
  );
  return [
    ...circles
      .filter((circle) => !isLeft(circle))
      .map((circle) => `${circle.join(', ')}: import each other in a circle. Return what the other needs, or put it below both`),
    ...gone.map((one) => `${one.files.join(', ')}: no circle any more. Take it off CIRCLES_LEFT`),
  ];
}

/** Rows that may import each other in a circle: one of them imports upwards. */
export function rowCircles(rows: readonly Row[]): string[] {
  const graph = new Map<string, string[]>();
  for (const { of, mayImport } of rows) {
    const targets = rows.filter((row) =>
      mayImport.some((name) => !BUILT.test(name) && (row.of.startsWith(name) || rowFor(name, rows) === row)),
    );
    graph.set(of, targets.map((row) => row.of).filter((target) => target !== of));
  }
  return circlesOf(graph).map(
    (circle) => `DEVELOPERS.md: ${circle.join(', ')} may import each other in a circle`,
  );
}
