/**
 * Where the chip's time goes: the image with everything in flash does a whole test, solves and the longest touches, and every
 * instruction is put down to the section that holds it, with what it took and what of that it waited for the flash; so is
 * every call from one section to another. From that follows what is worth a place in RAM, and goes into firmware/in-ram.txt.
 */
import { spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { functionOf, sectionsOf } from '../../firmware/in-ram.ts';
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
const HALFWORDS = 1 << 18;
/** A whole test of six clips, with everything that happens beside the touches. */
const TEST_s = 12;
const SHOWN_EACH = 20;
/** What the linker puts between a call from flash to RAM, or back: push, load, move, pop, branch, and a place in flash. */
const DETOUR_cycles = 10;
const DETOUR_bytes = 16;
/** RAM that the list is made for: what the build has left, and something for the module's next edits. */
const ROOM_bytes = 24 * 1024;

/** Runs before the RAM code is there: the start, and the copying that the compiler may put in place of its loops. */
const NEVER = /startup_c\.o|libc_nano\.a:.*mem(cpy|set|move)/;
/** Runs whenever something comes from outside: always listed, so that an interrupt does not wait for the flash. */
const HANDLER = /_isr$/;

/** One function, all of its sections together. */
type Part = { readonly object: string; readonly section: string; bytes: number; cycles: number; stall: number };

const say = (line: string): void => void process.stdout.write(`${line}\n`);
const sum = (all: Iterable<number>): number => [...all].reduce((total, one) => total + one, 0);

/** Parts of an image, and what each of them and the calls between them took. */
class Tally {
  readonly parts: Part[] = [];
  /** Calls between two parts, by caller * parts + called. */
  readonly calls = new Map<number, number>();
  readonly #partAt = new Int16Array(HALFWORDS).fill(-1);
  readonly #isEntry = new Uint8Array(HALFWORDS);

  constructor(map: string) {
    const index = new Map<string, number>();
    for (const one of sectionsOf(map)) {
      const from = (one.address - FLASH_START) >>> 1;
      if (one.address < FLASH_START || from >= HALFWORDS) continue;
      const section = functionOf(one.section);
      const key = `${one.object} ${section}`;
      if (!index.has(key)) {
        index.set(key, this.parts.length);
        this.parts.push({ object: one.object, section, bytes: 0, cycles: 0, stall: 0 });
      }
      const part = index.get(key)!;
      this.parts[part]!.bytes += Math.ceil(one.bytes / 4) * 4;
      this.#partAt.fill(part, from, from + (one.bytes >>> 1));
      this.#isEntry[from] = 1;
    }
  }

  watch(machine: Machine): void {
    let before = -1;
    machine.watch((address, cycles, stall) => {
      const at = (address - FLASH_START) >>> 1;
      const part = at < HALFWORDS ? this.#partAt[at]! : -1;
      if (part < 0) return;
      const one = this.parts[part]!;
      one.cycles += cycles;
      one.stall += stall;
      if (part !== before && this.#isEntry[at] === 1 && before >= 0) {
        const call = before * this.parts.length + part;
        this.calls.set(call, (this.calls.get(call) ?? 0) + 1);
      }
      before = part;
    });
  }
}

function doWork(image: string, tally: Tally): void {
  const machine = new Machine({ image: readImage(image), pickup: soundWith(6, 1), seed: 6, serial: 'TWIN-C001', automatic: true });
  tally.watch(machine);
  machine.run(1e8);
  machine.press(false);
  machine.run(TEST_s * 1e9);
  const logic = createLogic();
  const chance = new RandomStream(1, 'random evidence');
  for (let i = 0; i < 50; i++) solveBoth(machine, logic, randomEvidence(logic, chance, 3 * i));
  for (const scene of [...clearScenes(6), ...faintScenes(4)]) analyse(machine, scene);
}

/**
 * Which parts to keep in RAM: the most waiting saved, less the detours of calls that then cross, within the room. One part at
 * a time goes in or out, whatever gains most for its bytes, until nothing gains: good, not proven best.
 */
function choose({ parts, calls }: Tally): Set<number> {
  const neighbours: [number, number][][] = parts.map(() => []);
  for (const [call, count] of calls) {
    const [from, to] = [Math.floor(call / parts.length), call % parts.length];
    neighbours[from]!.push([to, count]);
    neighbours[to]!.push([from, count]);
  }
  const fixed = new Set(parts.keys().filter((i) => HANDLER.test(parts[i]!.section)));
  const barred = (i: number): boolean => NEVER.test(`${parts[i]!.object} ${parts[i]!.section}`);
  const chosen = new Set(fixed);
  /** Cycles gained by moving a part to the other side. */
  const gain = (i: number): number => {
    const inside = chosen.has(i);
    const crossings = sum(neighbours[i]!.map(([other, count]) => (chosen.has(other) === inside ? count : -count)));
    return (inside ? -1 : 1) * parts[i]!.stall - DETOUR_cycles * crossings;
  };
  const used = (): number => sum(chosen.values().map((i) => parts[i]!.bytes + DETOUR_bytes));
  // The hot core of the work goes in together, since each of it alone would only make its calls longer.
  const heat = (one: Part): number => one.cycles / one.bytes;
  const byHeat = [...parts.keys()].filter((i) => !barred(i) && parts[i]!.cycles > 0).sort((a, b) => heat(parts[b]!) - heat(parts[a]!));
  for (const i of byHeat) if (used() + parts[i]!.bytes + DETOUR_bytes <= ROOM_bytes) chosen.add(i);
  for (;;) {
    const out = [...chosen].filter((i) => !fixed.has(i)).sort((a, b) => gain(b) - gain(a))[0];
    if (out !== undefined && gain(out) > 0) {
      chosen.delete(out);
      continue;
    }
    const room = ROOM_bytes - used();
    const into = byHeat.filter((i) => !chosen.has(i) && parts[i]!.bytes + DETOUR_bytes <= room && gain(i) > 0)
      .sort((a, b) => gain(b) / parts[b]!.bytes - gain(a) / parts[a]!.bytes)[0];
    if (into === undefined) return chosen;
    chosen.add(into);
  }
}

/** Builds, measures, tells, writes the list. */
export function profile(): void {
  const out = join(ROOT, 'build/firmware-all-in-flash');
  mkdirSync(out, { recursive: true });
  const { status, stderr } = spawnSync(process.execPath, [join(ROOT, 'firmware/build.mjs'), '--out', out, '--in-ram', 'none'], { encoding: 'utf8' });
  if (status !== 0) throw new Error(`the firmware does not build: ${stderr}`);
  const tally = new Tally(readFileSync(join(out, 'tapstone.map'), 'utf8'));
  doWork(join(out, 'tapstone.elf'), tally);
  const { parts } = tally;
  const all = { cycles: sum(parts.map((one) => one.cycles)), stall: sum(parts.map((one) => one.stall)) };
  const percent = (part: number, whole: number): string => `${((100 * part) / whole).toFixed(2).padStart(6)} %`;
  say(`${(all.cycles / 1e6).toFixed(0)} M cycles, ${percent(all.stall, all.cycles).trim()} of them waiting for the flash`);
  say('of all cycles, of all waiting, of its own cycles waiting, bytes, section');
  const most = (key: 'cycles' | 'stall'): Part[] => [...parts].sort((a, b) => b[key] - a[key]).slice(0, SHOWN_EACH);
  for (const one of new Set([...most('cycles'), ...most('stall')])) {
    say(`${percent(one.cycles, all.cycles)}  ${percent(one.stall, all.stall)}  ${percent(one.stall, one.cycles)}  ${String(one.bytes).padStart(6)}  ${one.object} ${one.section}`);
  }
  const listed = [...choose(tally)].map((i) => parts[i]!)
    .sort((a, b) => Number(HANDLER.test(b.section)) - Number(HANDLER.test(a.section)) || b.cycles / b.bytes - a.cycles / a.bytes);
  writeFileSync(join(ROOT, 'firmware/in-ram.txt'), [
    '# What runs from RAM, of which firmware/build.mjs takes from the top what fits. Made by `npm run figures -- chip profile`: the',
    '# interrupt handlers, then the functions that together save the most waiting for the flash, less the detours of the calls',
    '# that cross between flash and RAM. A name that is gone does no harm; make the list anew when the module has changed.',
    ...listed.map((one) => `${one.object} ${one.section}  ${one.bytes} bytes, ${percent(one.cycles, all.cycles).trim()} of the time`), '',
  ].join('\n'));
  say(`firmware/in-ram.txt: ${listed.length} functions, ${sum(listed.map((one) => one.bytes))} bytes, ` +
    `${percent(sum(listed.map((one) => one.stall)), all.stall).trim()} of the waiting`);
}
