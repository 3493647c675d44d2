/**
 * Figures of the firmware on the emulated chip: cycles and milliseconds at 125 MHz, memory, and the lots that
 * are too long for the tests.
 *
 *   npm run figures -- chip                          sizes and times, beside their aims, with the flash cache and without
 *   npm run figures -- chip work                     of these, solves and touches alone
 *   npm run figures -- chip cache                    the same work under other ideas of what the cache does not tell
 *   npm run figures -- chip profile                  where the time goes, function by function; writes firmware/in-ram.txt
 *   npm run figures -- chip equal [N] [SEED]         N pickups: evidence and result on chip and host, byte for byte
 *   npm run figures -- chip evidence [N] [SEED]      N random evidence blocks solved on chip and in Node.js
 *   npm run figures -- chip power [N] [SEED]         power cycles at N random moments of a test
 *   npm run figures -- chip reports [N] [SEED]       N random reports from a host that misbehaves
 */
import { createHash } from 'node:crypto';
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import { setupOf } from '../../host/src/bench/bench.ts';
import type { FlashOptions } from '../../host/src/chip-twin/chip.ts';
import { ChipTwin } from '../../host/src/chip-twin/chip-twin.ts';
import { readImage, type Image } from '../../host/src/chip-twin/image.ts';
import { Machine } from '../../host/src/chip-twin/machine.ts';
import { BenchTest } from '../../host/src/evidence/run-test.ts';
import { BOARD, BoardLayout, Light, Report, REPORT_VERSION } from '../../host/src/logic/layout.generated.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import { ReportEncoder } from '../../host/src/transport/reports.ts';
import { conversion_s } from '../../host/src/virtual-bench/converter.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { until } from '../chip/bench.ts';
import { solveBoth } from '../chip/both.ts';
import { productImage } from '../chip/images.ts';
import { randomEvidence } from '../chip/random-evidence.ts';
import { analyse, clearScenes, faintScenes } from '../chip/touches.ts';
import type { Scene } from '../lots/touch-scenes.ts';
import { profile } from './chip-profile.ts';
import { soundWith } from './electrical.ts';
import type { Compared, EqualShare } from './equal-worker.ts';

const CLOCK_Hz = 125e6;
const FLASH_START = 0x10000000;
const RAM_START = 0x20000000;
const RAM_bytes = 264 * 1024;
/** firmware/drivers/events.h: kinds of event, in the order of `figures.longest_event_us`. */
const EVENT = { button: 0, converter: 1, burst: 2, samples: 3, time: 4, report: 5, sent: 6, link: 7 } as const;
const HAND: ReadonlySet<number> = new Set([Light.touch, Light.magnet, Light.good, Light.fault, Light.unsure]);

const say = (line: string): void => void process.stdout.write(`${line}\n`);
const ms = (us: number): string => (us / 1000).toFixed(1);

function tellSizes(image: Image): void {
  const at = (name: string): number => image.symbols.get(name)!.address;
  const end = Math.max(...image.segments.map(({ address, bytes }) => address + bytes.length).filter((one) => one < RAM_START));
  const inRam = at('ram_end') - RAM_START;
  say(`flash   ${end - FLASH_START} bytes (aim 196608 or less)`);
  say(`RAM     ${inRam} of ${RAM_bytes} bytes, the stack's ${at('stack_top') - at('stack_bottom')} and the module's 196608 among them`);
}

/**
 * What one whole test told of itself. The electrical part ends as in electrical.ts, where listening begins; the light
 * follows 0.2 s later.
 */
type Run = {
  electrical_s: number; asked_s: number; floor_s: number;
  longest_us: readonly number[]; waited_us: number; stackUsed_bytes: number; asleep: number;
  simulated_s: number; wall_s: number; cycles: number; stall: number; hits: number; verdict: string;
};

async function run(pickup: Pickup, seed: number, image: string, flash: Partial<FlashOptions>): Promise<Run> {
  let begun_s = Number.NaN;
  let wired_s = Number.NaN;
  let asked_s = Number.NaN;
  let floor_s = 0;
  const start_ms = performance.now();
  const twin = new ChipTwin({
    pickup, seed, image, flash,
    onCommand: (command, value, time_s) => {
      if (!Number.isNaN(asked_s)) return;
      if (command === 'light' && floor_s === 0) begun_s = time_s;
      // The last switches before a person is asked are those of the listening, or all off where there is none.
      if (command === 'switches') wired_s = time_s;
      if (command === 'convert') floor_s += conversion_s(value >>> 8);
      else if (command === 'light' && floor_s > 0 && HAND.has(value & 255)) asked_s = time_s;
    },
  });
  const outcome = await new BenchTest(twin, { setup: setupOf(pickup), logic: createLogic() }).run();
  const { machine } = twin;
  const { chip } = machine;
  const words = machine.symbol('stack_top').address - machine.symbol('stack_bottom').address;
  let untouched = 4;
  while (untouched < words && chip.mcu.readUint32(RAM_START + untouched) === STACK_PAINT) untouched += 4;
  const result = {
    electrical_s: wired_s - begun_s, asked_s: asked_s - begun_s, floor_s,
    longest_us: Object.values(EVENT).map((kind) => machine.word('figures', 1 + kind)),
    waited_us: machine.word('figures', 0), stackUsed_bytes: words - untouched,
    asleep: chip.slept_ns / chip.now_ns, simulated_s: machine.time_s, wall_s: (performance.now() - start_ms) / 1000,
    cycles: chip.cycles, stall: chip.stall_cycles / chip.cycles, hits: chip.flash.hits / chip.flash.accesses,
    verdict: outcome.map.verdict,
  };
  await twin.close();
  return result;
}

/** firmware/stack.c */
const STACK_PAINT = 0x5ac65ac6;

/** How the flash is counted: as the chip does, and as if every access hit. */
const COUNTED: Partial<FlashOptions> = {};
const UNCOUNTED: Partial<FlashOptions> = { counts: false };

async function tellTimes(image: string): Promise<void> {
  const worst = [COUNTED, UNCOUNTED].map(() => ({ waited_us: 0, stackUsed_bytes: 0, samples_us: 0, other_us: 0 }));
  const both = (figure: (one: (typeof worst)[number]) => number): string => beside(ms(figure(worst[0]!)), ms(figure(worst[1]!)));
  for (let clips = 2; clips <= 6; clips++) {
    const with_ = await run(soundWith(clips, 1), clips, image, COUNTED);
    const without = await run(soundWith(clips, 1), clips, image, UNCOUNTED);
    const verdict = [with_, without].map((one) => ms(one.longest_us[EVENT.samples]! + one.longest_us[EVENT.converter]!));
    say(`${clips} clips  electrical ${beside(with_.electrical_s.toFixed(2), without.electrical_s.toFixed(2))} s (floor ${with_.floor_s.toFixed(2)} s, ` +
      `ratio ${beside((with_.electrical_s / with_.floor_s).toFixed(2), (without.electrical_s / without.floor_s).toFixed(2))}, aim 1.5), ` +
      `first light after ${beside(with_.asked_s.toFixed(2), without.asked_s.toFixed(2))} s, touch to verdict at most ` +
      `${beside(verdict[0]!, verdict[1]!)} ms (aim 300), ${with_.verdict}`);
    say(`         whole test ${with_.simulated_s.toFixed(1)} s simulated, ${beside(with_.wall_s.toFixed(1), without.wall_s.toFixed(1))} s of wall time (aim 20), ` +
      `${beside((with_.cycles / 1e6).toFixed(0), (without.cycles / 1e6).toFixed(0))} M cycles awake, ${(100 * with_.stall).toFixed(1)} % of them waiting, ` +
      `hits ${(100 * with_.hits).toFixed(2)} %, asleep ${(100 * with_.asleep).toFixed(0)} %`);
    for (const [i, one] of [with_, without].entries()) {
      worst[i]!.waited_us = Math.max(worst[i]!.waited_us, one.waited_us);
      worst[i]!.stackUsed_bytes = Math.max(worst[i]!.stackUsed_bytes, one.stackUsed_bytes);
      worst[i]!.samples_us = Math.max(worst[i]!.samples_us, one.longest_us[EVENT.samples]!);
      worst[i]!.other_us = Math.max(worst[i]!.other_us, ...one.longest_us.filter((_, kind) => kind !== EVENT.samples));
    }
  }
  say(`longest event: samples ${both((one) => one.samples_us)} ms (a touch is analysed), any other ${both((one) => one.other_us)} ms`);
  say(`longest wait from interrupt to event ${both((one) => one.waited_us)} ms (behind the analysis of a touch)`);
  say(`stack   at most ${worst[0]!.stackUsed_bytes} bytes used`);
}

/** A figure with the flash cache, and in brackets without. */
const beside = (with_: string, without: string): string => `${with_} [${without}]`;
const inMs = (cycles: number): string => ((cycles / CLOCK_Hz) * 1000).toFixed(1);

function bareMachine(image: string, seed = 1, flash: Partial<FlashOptions> = COUNTED): Machine {
  return new Machine({ image: readImage(image), pickup: demoLot[0], seed, serial: 'TWIN-C001', automatic: true, flash });
}

/** Cycles of what must be quick, each in its worst case, on a machine. */
type Work = { readonly solve: readonly number[]; readonly clear: readonly number[]; readonly faint: readonly number[] };

const SOLVES = 50;
const CLEAR = 6;
const FAINT = 4;

function work(machine: Machine): Work {
  machine.run(1e8);
  const logic = createLogic();
  const chance = new RandomStream(1, 'random evidence');
  const solve = Array.from({ length: SOLVES }, (_, i) => solveBoth(machine, logic, randomEvidence(logic, chance, 3 * i)).cycles);
  const touches = (scenes: readonly Scene[]): number[] => scenes.map((scene) => analyse(machine, scene).cycles);
  return { solve, clear: touches(clearScenes(CLEAR)), faint: touches(faintScenes(FAINT)) };
}

function tellWork(image: string): void {
  const [with_, without] = [COUNTED, UNCOUNTED].map((flash) => work(bareMachine(image, 1, flash)));
  const mean = (all: readonly number[]): number => all.reduce((sum, one) => sum + one, 0) / all.length;
  const both = (pick: (one: Work) => number): string => beside(inMs(pick(with_!)), inMs(pick(without!)));
  say(`solve   mean ${both((one) => mean(one.solve))} ms, most ${both((one) => Math.max(...one.solve))} ms (aim 100), ${SOLVES} random blocks`);
  say(`touch   longest captures: clear at most ${both((one) => Math.max(...one.clear))} ms (aim 270), ` +
    `faint on both channels at most ${both((one) => Math.max(...one.faint))} ms (aim 450)`);
}

/** What the data sheet leaves open, every way. */
function tellPolicies(image: string): void {
  for (const fill of ['word', 'line'] as const) {
    for (const replace of ['least recent', 'random'] as const) {
      const machine = bareMachine(image, 1, { policy: { fill, replace } });
      const { solve, clear, faint } = work(machine);
      const { hits, accesses, word_cycles } = machine.chip.flash;
      say(`a miss fetches a ${fill} (${word_cycles} cycles a word), replaced ${replace}: solve at most ${inMs(Math.max(...solve))} ms, ` +
        `clear touch ${inMs(Math.max(...clear))} ms, faint ${inMs(Math.max(...faint))} ms, hits ${((100 * hits) / accesses).toFixed(2)} %`);
    }
  }
}

async function equal(count: number, seed: number, image: string): Promise<void> {
  say(`lot seed 0x${seed.toString(16)}, ${count} pickups on the chip twin`);
  let done = 0;
  let unequal = 0;
  const tell = ({ number, title, lines }: Compared): void => {
    if (lines.length > 0) {
      unequal++;
      say(`pickup ${number} (${title ?? 'no title'}): ${lines.join('; ')}`);
    }
    if (++done % 20 === 0) say(`${done} done, ${unequal} with differences`);
  };
  const step = Math.min(availableParallelism(), count);
  await Promise.all(Array.from({ length: step }, (_, first) => new Promise<void>((resolve, reject) => {
    const workerData: EqualShare = { seed, first, step, count, image };
    const worker = new Worker(new URL('./equal-worker.ts', import.meta.url), { workerData });
    worker.on('message', tell);
    worker.on('error', reject);
    worker.on('exit', () => resolve());
  })));
  say(`${done - unequal} of ${count} pickups: evidence and result equal byte for byte on chip and host`);
}

function evidence(count: number, seed: number, image: string): void {
  const machine = bareMachine(image);
  machine.run(1e8);
  const logic = createLogic();
  const chance = new RandomStream(seed, 'random evidence');
  const hash = createHash('sha256');
  let unequal = 0;
  for (let i = 0; i < count; i++) {
    const { chip, host } = solveBoth(machine, logic, randomEvidence(logic, chance, i));
    if (Buffer.compare(chip, host) !== 0) unequal++;
    hash.update(host);
  }
  say(`${count - unequal} of ${count} random evidence blocks solved to equal bytes (seed ${seed}, results ${hash.digest('hex').slice(0, 12)})`);
}

function power(count: number, seed: number, image: string): void {
  const chance = new RandomStream(seed, 'power cycles');
  let unclean = 0;
  for (let i = 0; i < count; i++) {
    const machine = bareMachine(image, i);
    machine.run(chance.between(0, 0.1) * 1e9);
    machine.press(false);
    machine.run(chance.between(0, 5) * 1e9);
    const brownOut = chance.bits() % 2 === 0;
    if (brownOut) machine.brownOut();
    else machine.powerOn();
    const off = machine.converter.current_nA === 0 && machine.switches.word === 0;
    machine.run(2e8);
    const told = machine.memory.getUint8(BOARD + BoardLayout.resetReason.at) === (brownOut ? 5 : 0);
    if (!off || !told || (machine.light & 255) !== Light.ready || machine.chip.complaints.length > 0) {
      unclean++;
      say(`cycle ${i}: off ${off}, reason ${told}, light ${machine.light}, ${machine.chip.complaints.join('; ')}`);
    }
  }
  say(`${count - unclean} of ${count} power cycles at random moments came up clean (seed ${seed})`);
}

async function reports(count: number, seed: number, image: string): Promise<void> {
  const machine = bareMachine(image);
  await until(machine, machine.usb.plugIn());
  await until(machine, machine.usb.control(Uint8Array.of(0, 9, 1, 0, 0, 0, 0, 0)));
  const kinds = new Map<number, number>();
  machine.usb.onReport = (report) => void kinds.set(report[1], (kinds.get(report[1]) ?? 0) + 1);
  const chance = new RandomStream(seed, 'random reports');
  let driven = 0;
  for (let i = 0; i < count; i++) {
    const report = Uint8Array.from({ length: i % 7 === 0 ? chance.bits() % 65 : 64 }, () => chance.bits() & 255);
    if (i % 2 === 0) report[0] = REPORT_VERSION;
    if (i % 4 === 0) report[1] = Report.hello + 1 + (chance.bits() % 5);
    await until(machine, machine.usb.interruptOut(1, report));
    if (machine.converter.current_nA > 0 || machine.switches.word !== 0) driven++;
  }
  kinds.clear();
  await until(machine, machine.usb.interruptOut(1, new ReportEncoder().hello()));
  machine.run(1e8);
  const answers = (kinds.get(Report.identity) ?? 0) > 0;
  say(`${count} random reports (seed ${seed}): ${driven} times anything was driven, ${machine.starts - 1} restarts, ` +
    `${answers ? 'answers' : 'does not answer'} a hello afterwards`);
}

/** @param args - what to print, then how many and from which seed */
export async function print(args: readonly string[]): Promise<void> {
  const image = productImage();
  const [what = 'figures'] = args;
  const count = (usual: number): number => Number(args[1] ?? usual);
  const seed = Number(args[2] ?? 1);
  switch (what) {
    case 'figures':
      tellSizes(readImage(image));
      tellWork(image);
      await tellTimes(image);
      return;
    case 'work': return tellWork(image);
    case 'cache': return tellPolicies(image);
    case 'profile': return profile();
    case 'equal': return equal(count(200), seed, image);
    case 'evidence': return evidence(count(2000), seed, image);
    case 'power': return power(count(500), seed, image);
    case 'reports': return reports(count(100_000), seed, image);
    default: throw new Error(`figures chip: "${what}" is not one of work, cache, profile, equal, evidence, power, reports`);
  }
}
