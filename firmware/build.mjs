// Builds the image: logic.wasm -> wasm2c -> C -> ELF -> UF2, and says what is in it.
//   build/tapstone.elf   what the chip twin runs, with symbols
//   build/tapstone.uf2   what is copied onto the board's boot drive
//   build/tapstone.map   which part of the ELF came from which object: what in-ram.txt is made from
// The same sources give the same bytes: no paths, no dates go in.
//   node firmware/build.mjs [--out DIR] [--wasm FILE] [--in-ram FILE|none] [--define NAME=VALUE]...
import { execFileSync, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { basename, dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { segmentsOf, symbolsOf } from '../host/src/chip-twin/elf.ts';
import { MANUFACTURER, PRODUCT, PRODUCT_ID, VENDOR_ID } from '../host/src/transport/identity.ts';
import { CFLAGS, WARNINGS } from './flags.ts';
import { imageOf, uf2Of, withBootChecksum } from './image.mjs';
import { linkerLines, placed, readList } from './in-ram.ts';
import { withNames } from './function-names.mjs';

const here = dirname(fileURLToPath(import.meta.url));
const root = join(here, '..');

/** Command line: where to build; for test images another module and extra definitions. */
function options(args) {
  const found = { out: join(here, 'build'), wasm: join(root, 'shared-logic/build/logic.wasm'), inRam: join(here, 'in-ram.txt'), defines: [] };
  for (let i = 0; i < args.length; i += 2) {
    if (args[i] === '--out') found.out = resolve(args[i + 1]);
    else if (args[i] === '--wasm') found.wasm = resolve(args[i + 1]);
    else if (args[i] === '--in-ram') found.inRam = args[i + 1] === 'none' ? undefined : resolve(args[i + 1]);
    else if (args[i] === '--define') found.defines.push(`-D${args[i + 1]}`);
    else throw new Error(`unknown option ${args[i]}`);
  }
  return found;
}

function fail(sentence) {
  process.stderr.write(`firmware: ${sentence}\n`);
  process.exit(1);
}

function run(command, args, cwd) {
  const { status, error, stdout, stderr } = spawnSync(command, args, { cwd, encoding: 'utf8' });
  if (error) fail(`${command} is missing; on Debian: apt-get install gcc-arm-none-eabi libnewlib-arm-none-eabi`);
  if (status !== 0) fail(`${command} stopped with ${status}\n${stdout}${stderr}`);
  if (stderr) process.stderr.write(stderr);
  return stdout;
}

/** Addresses, offsets and enumerations of the module's memory as C, from the host's generated view. */
function layoutHeader() {
  const text = readFileSync(join(root, 'host/src/logic/layout.generated.ts'), 'utf8');
  const lines = ['/* Generated from host/src/logic/layout.generated.ts. */', '#pragma once'];
  for (const [, name, value] of text.matchAll(/^export const (\w+) = (-?[\d.e+-]+);$/gm)) {
    if (/^-?\d+$/.test(value)) lines.push(`#define LAYOUT_${name} ${value}`);
  }
  for (const [, name, body] of text.matchAll(/^export const (\w+) = \{\n([\s\S]*?)\} as const;$/gm)) {
    const block = name.replace(/Layout$/, '');
    for (const [, field, at] of body.matchAll(/^ {2}(\w+): (?:\{ at: )?(\d+)/gm)) {
      lines.push(`#define LAYOUT_${block}_${field} ${at}`);
    }
  }
  return `${lines.join('\n')}\n`;
}

function identityHeader() {
  return [
    '/* From host/src/transport/identity.ts. */', '#pragma once',
    `#define USB_VENDOR_ID 0x${VENDOR_ID.toString(16)}u`, `#define USB_PRODUCT_ID 0x${PRODUCT_ID.toString(16)}u`,
    `#define USB_MANUFACTURER ${JSON.stringify(MANUFACTURER)}`, `#define USB_PRODUCT ${JSON.stringify(PRODUCT)}`, '',
  ].join('\n');
}

function hashHeader(wasm) {
  const bytes = [...createHash('sha256').update(wasm).digest()];
  return [
    '/* SHA-256 of the module that is compiled in. */', '#pragma once', '#include <stdint.h>',
    `static const uint8_t module_sha256[32] = { ${bytes.join(', ')} };`, '',
  ].join('\n');
}

/** As in wasm-memory.h. */
const PAD_bytes = 64;

/**
 * wasm2c's loads, stores and calls with the checks of wasm-memory.h: what begins outside the memory traps, in less code.
 * Every call must be of the form that is rewritten here; a wasm2c that writes another stops the build.
 */
function withConstantMemory(generated) {
  const rewritten = generated.replace(
    /\b(\w+)_default32\(&instance->w2c_memory, \(u64\)\((\w+)\)(?: \+ (\d+)u)?/g,
    (_, name, address, offset = '0') => {
      if (Number(offset) > PAD_bytes - 8) fail(`${name} has offset ${offset}, beyond the pad behind the module's memory`);
      return `${name}_at(${address}, ${offset}u`;
    });
  if (!/^#define FUNC_PROLOGUE$/m.test(rewritten)) fail('wasm2c wrote another FUNC_PROLOGUE than the one that is replaced');
  const left = /\b\w+_default32\(&instance.*/.exec(rewritten);
  if (left) fail(`wasm2c wrote "${left[0]}", which withConstantMemory does not know`);
  return rewritten.replace(/^#define FUNC_PROLOGUE$/m, '#define FUNC_PROLOGUE wasm_rt_check_stack();')
    .replace('#include "logic.h"', '#include "logic.h"\n#include "wasm-memory.h"');
}

/** wasm2c's own of what wasm-numbers.h has, each a macro of several lines or of one. */
const NUMBERS = /^#define (?:FMIN|FMAX|I32_TRUNC_SAT_[SU]_F32)\((?:[^\n]*\\\n)*[^\n]*\n/gm;
/** Takes wasm2c's lower and higher of two numbers, and its ways to make one whole, away: those of wasm-numbers.h are the module's. */
function withNumbers(generated) {
  const found = generated.match(NUMBERS)?.length ?? 0;
  if (found !== 4) fail(`wasm2c wrote ${found} of the 4 macros that wasm-numbers.h replaces`);
  if (/\bFM(?:IN|AX)\(var_d/.test(generated)) fail('the module compares doubles, of which wasm-numbers.h knows nothing');
  return generated.replace(NUMBERS, '').replace('#include "wasm-memory.h"', '#include "wasm-memory.h"\n#include "wasm-numbers.h"');
}

/** Where wasm2c sets the module's variables to what they are at first. */
const FIRST_VALUES = /^static void init_globals\([^;{]*\) \{\n[\s\S]*?^\}$/m;
/** Leaves out those that are 0 at first, of a module that has any: its only instance is static, and the start-up code has cleared it. */
function withClearedGlobals(generated) {
  const hasGlobals = /instance->w2c_g\d+ = /.test(generated);
  if (hasGlobals && !FIRST_VALUES.test(generated)) fail('wasm2c wrote no init_globals, which withClearedGlobals knows');
  return generated.replace(FIRST_VALUES, (text) => text.replace(/^ {2}instance->w2c_g\d+ = 0(?:u|ull)?;\n/gm, ''));
}

/** A function of the module from its head to its end. */
const FUNCTION = /^[\w *]+\bw2c_logic_\w+\([^;{]*\) \{\n[\s\S]*?^\}$/gm;
/**
 * Leaves the question for room on the stack out of functions that call no other of the module: the margin has room for one frame of
 * theirs (`checkLeaves`), and they are half of all, the quickest among them.
 */
function withLeaves(named) {
  const calls = (text) => /\bw2c_logic_\w+\(/.test(text.slice(text.indexOf('{')));
  return named.replace(FUNCTION, (text) => (calls(text) ? text : text.replace('  FUNC_PROLOGUE;\n', '')));
}

/** The frame of a leaf, bytes, of which wasm-memory.h's margin has one. */
const LEAF_bytes = 256;
/** @param usage - what the compiler says of each function's frame (`-fstack-usage`) */
function checkLeaves(usage, named) {
  const asksNothing = [...named.matchAll(FUNCTION)].filter(([text]) => !text.includes('FUNC_PROLOGUE'));
  const leaves = new Set(asksNothing.map(([text]) => /\b(w2c_logic_\w+)\(/.exec(text)[1]));
  for (const [, name, bytes] of usage.matchAll(/:(\w+)(?:\.[\w.]+)?\t(\d+)\t/g)) {
    if (leaves.has(name) && Number(bytes) > LEAF_bytes) fail(`${name} takes ${bytes} bytes of stack, more than the ${LEAF_bytes} that a leaf may`);
  }
}

/** Parts of the module, and what it exports, in which what is not in the list of quick ones runs seldom: small in flash is worth more there than quick. */
const SELDOM = /^sequence_|^solver_|^evidence_|^ring_|^touch_(?!arrival_)|_0$/;

/**
 * Marks what runs seldom, so that the compiler makes it small, and what is quick as often used: else a quick function that only seldom
 * ones call would be made small as well (GCC manual, function attributes `cold`, `hot` and `optimize`). What a loop computes anew takes less
 * room than what is kept in registers across it: 1.5 KB. @param quick - names of in-ram.txt
 */
function withSeldom(named, quick) {
  return named.replace(/^static (?=[^;{]*\bw2c_logic_(?:at_)?(\w+)\([^{]*;$)/gm, (head, name) => {
    if (quick.has(name)) return `${head}__attribute__((hot)) `;
    return SELDOM.test(name) ? `${head}__attribute__((cold, optimize("Os", "no-move-loop-invariants"))) ` : head;
  });
}

/** Quick where time is spent: the module, and where samples are merged. Small functions stay functions: that is 18 KB of flash. */
const QUICK = new Set(['capture.c', 'logic.c']);
/**
 * Sections keep the names of their functions, by which in-ram.txt finds them, whatever is hot and cold. The next two leave loops and
 * blocks as they are written: 1 KB, and no time that shows; registers are given out for whole functions: 1.5 KB, and 2 % of a faint touch.
 */
const FAST = ['-O2', '-fno-inline-small-functions', '-fno-partial-inlining', '-fno-reorder-functions', '-fno-tree-ch',
  '-freorder-blocks-algorithm=simple', '-fira-region=one'];
const optimisation = (source) => (QUICK.has(basename(source)) ? FAST : ['-Os']);
/** wasm2c's output is not ours to tidy. */
const GENERATED = ['-w'];

/** Links with these sections in RAM. @returns bytes by which the RAM is too small, 0 when it is not */
function link(out, objects, inRam) {
  writeFileSync(join(out, 'in-ram.ld'), linkerLines(inRam));
  const args = ['-mcpu=cortex-m0plus', '-mthumb', '-nostartfiles', '--specs=nano.specs', '-T', 'memory.ld', '-L', out,
    '-Wl,--gc-sections', '-Wl,--build-id=none', `-Wl,-Map=${join(out, 'tapstone.map')}`,
    // Called by tests on the emulated chip, so kept under its own name.
    '-Wl,--undefined=w2c_logic_solve', ...objects, '-lm', '-lgcc', '-lc',
    '-lgcc', '-o', join(out, 'tapstone.elf')];
  const { status, stderr } = spawnSync('arm-none-eabi-gcc', args, { cwd: here, encoding: 'utf8' });
  if (status === 0) return 0;
  const [, missing] = /region `RAM' overflowed by (\d+) bytes/.exec(stderr) ?? [];
  if (missing === undefined || inRam.length === 0) fail(`the linker stopped\n${stderr}`);
  return Number(missing);
}

/**
 * Links with everything in flash, which says how long each section is and how much RAM is left, then with what of the list
 * fits. Between flash and RAM calls go through a few words of the linker's own, so it may take more than one try.
 */
function linkBest(out, objects, wanted) {
  link(out, objects, []);
  const map = readFileSync(join(out, 'tapstone.map'), 'utf8');
  let room = RAM_bytes - ramUsed(readFileSync(join(out, 'tapstone.elf')));
  for (;;) {
    const chosen = placed(wanted, map, room);
    const missing = link(out, objects, chosen);
    if (missing === 0) return chosen;
    room -= missing;
  }
}

export function build({ out, wasm: wasmFile, inRam, defines }) {
  if (!existsSync(wasmFile)) fail(`${wasmFile} is missing; run "npm run build:logic" first`);
  mkdirSync(out, { recursive: true });
  const wasm = readFileSync(wasmFile);
  const [major, minor, patch] = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')).version.split('.');
  const version = [`-DFIRMWARE_MAJOR=${major}`, `-DFIRMWARE_MINOR=${minor}`, `-DFIRMWARE_PATCH=${patch}`];
  writeFileSync(join(out, 'layout.h'), layoutHeader());
  writeFileSync(join(out, 'module_hash.h'), hashHeader(wasm));
  writeFileSync(join(out, 'usb_identity.h'), identityHeader());
  const wasm2c = createRequire(import.meta.url).resolve('wabt/bin/wasm2c');
  execFileSync(process.execPath, [wasm2c, '-n', 'logic', '--no-debug-names', wasmFile, '-o', join(out, 'logic.c')]);
  const generated = join(out, 'logic.c');
  const wanted = inRam ? readList(readFileSync(inRam, 'utf8')) : [];
  const names = wasmFile.replace(/wasm$/, 'wat');
  const constant = withClearedGlobals(withNumbers(withConstantMemory(readFileSync(generated, 'utf8'))));
  const named = existsSync(names) ? withNames(constant, readFileSync(names, 'utf8')) : constant;
  const often = readList(readFileSync(join(here, 'in-ram.txt'), 'utf8'));
  const quick = new Set(often.map(({ section }) => section.replace(/^\.text\.w2c_logic_at_/, '')));
  const text = withSeldom(withLeaves(named), quick);
  writeFileSync(generated, text);

  const sources = [
    ...readdirSync(here).filter((name) => /\.(c|S)$/.test(name)),
    ...readdirSync(join(here, 'drivers')).filter((name) => name.endsWith('.c')).map((name) => `drivers/${name}`),
  ].sort();
  const objects = [];
  const compile = (source, object, extra) => {
    // Names relative to the working folder, so that no path of this machine gets in.
    run('arm-none-eabi-gcc', [...CFLAGS, ...optimisation(source), ...extra, ...version, ...defines, `-ffile-prefix-map=${out}=.`, '-I', out, '-I', '.',
      '-c', source, '-o', object], here);
    objects.push(object);
  };
  for (const source of sources) compile(source, join(out, `${source.replace(/\W/g, '_')}.o`), WARNINGS);
  compile(join(out, 'logic.c'), join(out, 'logic.o'), [...GENERATED, '-fstack-usage']);
  checkLeaves(readFileSync(join(out, 'logic.su'), 'utf8'), text);
  const elfFile = join(out, 'tapstone.elf');
  const chosen = linkBest(out, objects, wanted);
  const elf = withBootChecksum(readFileSync(elfFile));
  writeFileSync(elfFile, elf);
  const image = imageOf(segmentsOf(elf));
  const uf2 = uf2Of(image);
  writeFileSync(join(out, 'tapstone.uf2'), uf2);
  return { elf, uf2, image, wasm, wanted, chosen };
}

const RAM_bytes = 264 * 1024;

function ramUsed(elf) {
  return symbolsOf(elf).get('ram_end').address - 0x20000000;
}

function report({ elf, uf2, image, wasm, wanted, chosen }) {
  const symbols = symbolsOf(elf);
  const at = (name) => symbols.get(name)?.address ?? 0;
  const data = at('data_end') - at('data_start');
  const stack = at('stack_top') - at('stack_bottom');
  const used = ramUsed(elf);
  const hash = (bytes) => createHash('sha256').update(bytes).digest('hex').slice(0, 16);
  process.stdout.write([
    `flash  ${image.length} bytes (aim 196608 or less)`,
    `data   ${data} bytes, ${chosen.reduce((sum, { bytes }) => sum + bytes, 0)} of them code: ${chosen.length} of the ${wanted.length} sections of in-ram.txt`,
    `bss    ${used - stack - data} bytes, the module's memory ${wasm.length ? 196608 : 0} and the ADC ring 16384 among them`,
    `stack  ${stack} bytes; ${RAM_bytes - used} bytes of RAM left over`,
    `logic.wasm sha256 ${hash(wasm)}, elf ${hash(elf)}, uf2 ${hash(uf2)} (${uf2.length} bytes)`, '',
  ].join('\n'));
}

if (process.argv[1] === fileURLToPath(import.meta.url)) report(build(options(process.argv.slice(2))));
