/** The house rules that a machine can check; each finding says what to do instead. */
import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { importsOf, type SourceFile } from './tidy-imports.ts';

/** Folders that are built, fetched or not ours. */
const SKIPPED = new Set(['node_modules', 'build', 'dist', '.git']);
const TEXT = /\.(ts|tsx|mjs|js|json|md|c|h|S|ld|sh|wat|rules|py)$|^\.ci\/run$/;
const CODE = /\.(ts|tsx|mjs|c|h|S)$/;

/** A test or a spec, by its name. */
const TEST = /\.(test|spec)\.tsx?$/;

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
    if (path.startsWith('tests/house/tidy')) continue;
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

/** What package.json says, as far as the rule below asks. */
export interface PackageFile {
  readonly scripts?: Readonly<Record<string, string>>;
  readonly dependencies?: Readonly<Record<string, string>>;
  readonly devDependencies?: Readonly<Record<string, string>>;
  readonly optionalDependencies?: Readonly<Record<string, string>>;
}

/** Node.js for one kind of machine each: the start file puts the name together. */
const NODE_BINARY = /^node-(linux|win)-(x64|arm64)$/;
const ASKS_FOR_NODE = "'node-' +";

/** Packages that are listed and used nowhere: neither imported, nor resolved, nor run, nor the types of what is.
 * @param commandsOf - names of the commands that a package brings
 */
export function unusedPackages(
  files: readonly SourceFile[],
  { scripts, dependencies, devDependencies, optionalDependencies }: PackageFile,
  commandsOf: (name: string) => readonly string[],
): string[] {
  const code = files.filter(({ path }) => CODE.test(path) || path.endsWith('.js'));
  const says = (text: string): boolean => code.some((file) => file.text.includes(text));
  const runs = Object.values(scripts ?? {}).flatMap((line) => line.split(/[\s;&|]+/));
  const isUsed = (name: string): boolean =>
    says(`'${name}'`) ||
    says(`'${name}/`) ||
    commandsOf(name).some((command) => runs.includes(command) || says(`bin('${command}')`)) ||
    (NODE_BINARY.test(name) && says(ASKS_FOR_NODE)) ||
    (name.startsWith('@types/') && (name === '@types/node' || isUsed(name.slice('@types/'.length))));
  return Object.keys({ ...dependencies, ...devDependencies, ...optionalDependencies })
    .filter((name) => !isUsed(name))
    .map((name) => `package.json: lists ${name}, which nothing imports or runs. Remove it, or use it`);
}

/** Documents that are cited and are not in the repository, and numbered sections that they do not have. */
export function missingDocuments(files: readonly SourceFile[]): string[] {
  const nameOf = (path: string): string => path.split('/').at(-1)!;
  const documents = new Map(files.filter(({ path }) => path.endsWith('.md')).map(({ path, text }) => [nameOf(path), text]));
  const tests = new Set(files.map(({ path }) => nameOf(path)).filter((name) => TEST.test(name)));
  return files.flatMap(({ path, text }) => {
    const lacks = (name: string, section: string | undefined): string[] => {
      const document = documents.get(name);
      if (document === undefined) return [`${path}: cites ${name}, which is not in the repository. Bring what it says in, or cite what is`];
      const known = section === undefined || new RegExp(`^## ${section}\\. `, 'm').test(document);
      return known ? [] : [`${path}: cites section ${section} of ${name}, which has none of that number`];
    };
    const elsewhere = [...text.matchAll(/(?<![\w$}.*-])([A-Za-z][\w-]*\.md)\b(?:(?:,? section)? (\d+)\b(?: and (\d+)\b)?)?/g)];
    // Within a page a section without a page's name is its own.
    const own = path.endsWith('.md') ? [...text.matchAll(/(?<!\.md,? )\bsection (\d+)\b(?! of)/g)] : [];
    const gone = [...text.matchAll(/(?<![\w$}.*-])[a-z][\w-]*\.(?:test|spec)\.tsx?\b/g)].filter(([name]) => !tests.has(name));
    return [
      ...elsewhere.flatMap(([, name, first, second]) => [...lacks(name!, first), ...(second === undefined ? [] : lacks(name!, second))]),
      ...own.flatMap(([, section]) => lacks(nameOf(path), section)),
      ...gone.map(([name]) => `${path}: cites ${name}, which is not in the repository`),
    ];
  });
}
