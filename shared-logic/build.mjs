// Builds the one module and the host's view of its memory.
//   build/logic.wasm                          what runs in the host and, through wasm2c, on the chip
//   ../host/src/logic/layout.generated.ts     addresses, offsets and enumerations, as the compiler itself computes them
import { execFileSync } from 'node:child_process';
import { mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { createHash } from 'node:crypto';
import { instantiate } from '@assemblyscript/loader';

const here = dirname(fileURLToPath(import.meta.url));
const asc = createRequire(import.meta.url).resolve('assemblyscript/bin/asc.js');
const build = join(here, 'build');
mkdirSync(build, { recursive: true });

const compile = (...args) => execFileSync(process.execPath, [asc, ...args], { cwd: here, stdio: 'inherit' });

/** Names declared in layout.ts: the compiler gives the values, this only says what to ask for. */
function declaredNames(source) {
  const text = source.replace(/\/\*[\s\S]*?\*\//g, '').replace(/\/\/.*$/gm, '');
  const constants = [...text.matchAll(/export const (\w+): (\w+)/g)].map(([, name]) => name);
  const enums = [...text.matchAll(/export enum (\w+) \{([^}]*)\}/g)].map(([, name, body]) => ({
    name, members: [...body.matchAll(/(\w+) =/g)].map(([, member]) => member),
  }));
  const blocks = [...text.matchAll(/@unmanaged export class (\w+) \{([^}]*)\}/g)].map(
    ([, name, body]) => ({
      name,
      fields: [...body.matchAll(/(\w+): (\w+);/g)].map(([, field, type]) => ({ field, type })),
    }));
  return { constants, enums, blocks };
}

/** Compiles a module that exports each value as a global and reads it back. */
async function layoutValues({ constants, enums, blocks }) {
  const questions = [];
  const ask = (key, expression) => questions.push({ key, expression });
  for (const name of constants) ask(name, name);
  for (const { name, members } of enums) for (const m of members) ask(`${name}.${m}`, `${name}.${m}`);
  for (const { name, fields } of blocks) {
    ask(`${name}#size`, `offsetof<${name}>()`);
    for (const { field } of fields) ask(`${name}#${field}`, `offsetof<${name}>("${field}")`);
  }
  const names = [...constants, ...enums.map((e) => e.name), ...blocks.map((b) => b.name)];
  const probe = join(build, 'layout-probe.ts');
  writeFileSync(probe, [
    `import { ${names.join(', ')} } from ${JSON.stringify('../assembly/layout')};`,
    ...questions.map(({ expression }, i) => `export function q${i}(): f64 { return <f64>(${expression}); }`),
  ].join('\n'));
  const empty = join(build, 'empty.asconfig.json');
  writeFileSync(empty, '{}');
  const out = join(build, 'layout-probe.wasm');
  compile('build/layout-probe.ts', '--config', 'build/empty.asconfig.json', '--runtime', 'stub', '-o', 'build/layout-probe.wasm');
  const { exports } = await instantiate(readFileSync(out));
  const values = new Map(questions.map(({ key }, i) => [key, exports[`q${i}`]()]));
  for (const file of [probe, empty, out]) rmSync(file);
  return values;
}

/** Text of the generated view. */
function view({ constants, enums, blocks }, values) {
  const lines = [
    '// Generated from shared-logic/assembly/layout.ts by `npm run build:logic`. Do not edit.', '',
  ];
  for (const name of constants) lines.push(`export const ${name} = ${values.get(name)};`);
  for (const { name, members } of enums) {
    lines.push('', `export const ${name} = {`);
    for (const m of members) lines.push(`  ${m}: ${values.get(`${name}.${m}`)},`);
    lines.push('} as const;');
  }
  lines.push('', '/** Byte offset and type of each field; `size` is the end of the last field, rounded to 4. */');
  for (const { name, fields } of blocks) {
    const size = Math.ceil(values.get(`${name}#size`) / 4) * 4;
    lines.push('', `export const ${name}Layout = {`, `  size: ${size},`);
    for (const { field, type } of fields) {
      lines.push(`  ${field}: { at: ${values.get(`${name}#${field}`)}, type: '${type}' },`);
    }
    lines.push('} as const;');
  }
  return `${lines.join('\n')}\n`;
}

const names = declaredNames(readFileSync(join(here, 'assembly/layout.ts'), 'utf8'));
const text = view(names, await layoutValues(names));
const target = process.argv.includes('--print-layout') ? undefined
  : join(here, '../host/src/logic/layout.generated.ts');
if (target === undefined) {
  process.stdout.write(text);
} else {
  mkdirSync(dirname(target), { recursive: true });
  writeFileSync(target, text);
  // The text beside it only gives the functions their names: firmware/build.mjs reads them.
  compile('--config', 'asconfig.json', '--target', 'release', '--textFile', 'build/logic.wat');
  const wasm = readFileSync(join(build, 'logic.wasm'));
  process.stderr.write(`logic.wasm ${wasm.length} bytes, sha256 ${
    createHash('sha256').update(wasm).digest('hex').slice(0, 16)}\n`);
}
