/**
 * Where the chip's time goes: the image with everything in flash does whole tests, solves and the longest touches, and every
 * instruction is put down to the section that holds it, with what it took and what of that it waited for the flash. What
 * waits most for its size goes into firmware/in-ram.txt, which the next build follows as far as the RAM reaches.
 */
import { spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { sectionsOf } from '../../firmware/in-ram.ts';
import { readImage } from '../../host/src/chip-twin/image.ts';
import { Machine } from '../../host/src/chip-twin/machine.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { solveBoth } from '../chip/both.ts';
import { ROOT } from '../chip/images.ts';
import { randomEvidence } from '../chip/random-evidence.ts';
import { analyse, clearScenes, faintScenes } from '../chip/touches.ts';
import { soundWith } from './electrical.ts';

const FLASH_START = 0x10000000;
const FLASH_WINDOW_halfwords = 1 << 20;
/** A whole test of six clips, with everything that happens beside the touches. */
const TEST_s = 12;
const SHOWN = 40;
/** What waits less than this part of all waiting is not worth a place in the list. */
const LEAST_PART = 1e-4;

/**
 * Runs before the RAM code is there, or is called by what does: the C library's copying, which the compiler may put in place of
 * a loop, and the start.
 */
const NEVER = /startup_c\.o|libc_nano\.a:.*mem(cpy|set|move)/;

/** Runs whenever something comes from outside: listed first, whatever the share. */
const HANDLERS = /_isr$/;

type Part = { object: string; section: string; bytes: number; cycles: number; stall: number };

const say = (line: string): void => void process.stdout.write(`${line}\n`);

/** Cycles and waiting of every half-word of flash. */
class Tally {
  readonly cycles = new Float64Array(FLASH_WINDOW_halfwords);
  readonly stall = new Float64Array(FLASH_WINDOW_halfwords);

  watch(machine: Machine): void {
    machine.watch((address, cycles, stall) => {
      const at = (address - FLASH_START) >>> 1;
      if (at >= FLASH_WINDOW_halfwords) return;
      this.cycles[at]! += cycles;
      this.stall[at]! += stall;
    });
  }
}

function doWork(image: string, tally: Tally): void {
  const test = new Machine({ image: readImage(image), pickup: soundWith(6, 1), seed: 6, serial: 'TWIN-C001', automatic: true });
  tally.watch(test);
  test.run(1e8);
  test.press(false);
  test.run(TEST_s * 1e9);
  const logic = createLogic();
  const chance = new RandomStream(1, 'random evidence');
  for (let i = 0; i < 50; i++) solveBoth(test, logic, randomEvidence(logic, chance, 3 * i));
  for (const scene of [...clearScenes(6), ...faintScenes(4)]) analyse(test, scene);
}

/** Builds, measures, tells, writes the list. */
export function profile(): void {
  const out = join(ROOT, 'build/firmware-all-in-flash');
  mkdirSync(out, { recursive: true });
  const { status, stderr } = spawnSync(process.execPath, [join(ROOT, 'firmware/build.mjs'), '--out', out, '--in-ram', 'none'], { encoding: 'utf8' });
  if (status !== 0) throw new Error(`the firmware does not build: ${stderr}`);
  const tally = new Tally();
  doWork(join(out, 'tapstone.elf'), tally);
  const parts: Part[] = sectionsOf(readFileSync(join(out, 'tapstone.map'), 'utf8'))
    .filter(({ address }) => address >= FLASH_START && address < FLASH_START + 2 * FLASH_WINDOW_halfwords)
    .map(({ object, section, address, bytes }) => {
      const [from, to] = [(address - FLASH_START) >>> 1, (address + bytes - FLASH_START) >>> 1];
      const sum = (all: Float64Array): number => all.subarray(from, to).reduce((total, one) => total + one, 0);
      return { object, section, bytes, cycles: sum(tally.cycles), stall: sum(tally.stall) };
    });
  const all = { cycles: tally.cycles.reduce((a, b) => a + b, 0), stall: tally.stall.reduce((a, b) => a + b, 0) };
  const percent = (part: number, whole: number): string => `${((100 * part) / whole).toFixed(2).padStart(6)} %`;
  say(`${(all.cycles / 1e6).toFixed(0)} M cycles, ${percent(all.stall, all.cycles).trim()} of them waiting for the flash`);
  say('of all cycles, of all waiting, of its own cycles waiting, bytes, section');
  for (const one of [...parts].sort((a, b) => b.stall - a.stall).slice(0, SHOWN)) {
    say(`${percent(one.cycles, all.cycles)}  ${percent(one.stall, all.stall)}  ${percent(one.stall, one.cycles)}  ${String(one.bytes).padStart(6)}  ${one.object} ${one.section}`);
  }
  const isHandler = (one: Part): boolean => HANDLERS.test(one.section);
  const listed = parts.filter((one) => !NEVER.test(`${one.object} ${one.section}`) && one.bytes > 4 && (isHandler(one) || one.stall > LEAST_PART * all.stall))
    .sort((a, b) => Number(isHandler(b)) - Number(isHandler(a)) || b.stall / b.bytes - a.stall / a.bytes);
  const lines = listed.map((one) => `${one.object} ${one.section}  ${one.bytes} bytes, ${percent(one.stall, all.stall).trim()} of the waiting`);
  writeFileSync(join(ROOT, 'firmware/in-ram.txt'), [
    '# What runs from RAM, hottest first; firmware/build.mjs takes from the top what fits. Made by `npm run figures -- chip profile`:',
    '# the interrupt handlers, then what waits longest for the flash for each byte of RAM that it costs.', ...lines, '',
  ].join('\n'));
  say(`firmware/in-ram.txt: ${listed.length} sections, ${listed.reduce((sum, one) => sum + one.bytes, 0)} bytes`);
}
