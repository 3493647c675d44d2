/** A coil on the front end, its current cut as the sequence cuts it, and the logic's own fit of what comes. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { NOMINAL_WIDE_CODES } from '../../host/src/logic/calibration-page.ts';
import { FrontEnd } from '../../host/src/virtual-bench/front-end.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';
import { CALIBRATION, CalibrationLayout, OVERRANGE, RingWorkLayout, WORK } from '../../host/src/logic/layout.generated.ts';

export const SAMPLES = 448;
export const LEAD = 64;
const CUTS = 16;
const CUT_s = 0.01875;
const CODE_LEAST = 96;
const CODE_MOST = 4000;
const MIDDLE = 2048;
const UNITS_PER_CODE = 768;
export const CURRENT_A = 1e-5;
/** Where the module is given one burst, keeps the sums, and works. */
const SUMS = 65536;
const POINTS = SUMS + 4096;
const BURST = 147456;

interface Fit {
  readonly memory: { readonly buffer: ArrayBuffer };
  ringBegin(work: number, sums: number): void;
  ringAdd(work: number, sums: number, samples: number, count: number): void;
  fitRing(work: number, sums: number, points: number): number;
  startCapacitance(work: number, sums: number, current_A: number, series_ohm: number): number;
  naturalSquared(work: number): number;
  lossTime_s(work: number): number;
}

let module: Fit | null = null;

/** Compiles the fit alone. */
function fit(): Fit {
  if (module !== null) return module;
  const folder = mkdtempSync(join(tmpdir(), 'tapstone-ring-'));
  try {
    const root = fileURLToPath(new URL('../..', import.meta.url));
    const out = join(folder, 'ring.wasm');
    const args = ['shared-logic/assembly/ring/alone.ts', '-o', out, '--runtime', 'stub', '-O3', '--use', 'abort=',
      '--memoryBase', '57344', '--initialMemory', '3'];
    const run = spawnSync('node', [join(root, 'node_modules/assemblyscript/bin/asc.js'), ...args], { cwd: root, encoding: 'utf8' });
    if (run.status !== 0) throw new Error(`the fit does not compile: ${run.stderr.slice(0, 2000)}`);
    const instance = new WebAssembly.Instance(new WebAssembly.Module(readFileSync(out)), {});
    module = instance.exports as unknown as Fit;
    return module;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** What the fit says of a ring. */
export interface Fitted {
  readonly natural_Hz: number;
  readonly loss_s: number;
  readonly total_F: number | null;
  readonly u_natural: number;
  readonly u_loss: number;
  readonly u_F: number;
  readonly misfit: number;
}

/** A switch word: throws counted from 1 in the order A+, A-, B+, B-, G1, G2, DRV, RET, 0 = off. */
export function word(throws: readonly number[]): number {
  return throws.reduce((bits, at, mux) => bits | ((at > 0 ? 8 | (at - 1) : 0) << (4 * mux)), 0) >>> 0;
}

/** Sixteen cuts as the x1 input's samples, in 2^-20 V. */
export function cuts(pickup: Pickup, seed: number, throws: readonly number[]): Int32Array[] {
  const bench = new FrontEnd(pickup, seed);
  const codes = Array.from({ length: 4 }, () => new Uint16Array(SAMPLES));
  bench.setSwitches(word(throws));
  bench.setCurrent(CURRENT_A * 1e9);
  bench.advance(bench.time_s + 0.04);
  const cut = throws.map((at, mux) => (mux === 6 ? 0 : at));
  return Array.from({ length: CUTS }, () => {
    const began_s = bench.time_s;
    bench.capture(LEAD, codes);
    bench.setSwitches(word(cut));
    bench.capture(SAMPLES - LEAD, codes, LEAD);
    bench.setSwitches(word(throws));
    bench.advance(began_s + CUT_s);
    return Int32Array.from(codes[0]!, (code) => (code < CODE_LEAST || code > CODE_MOST ? OVERRANGE : (code - MIDDLE) * UNITS_PER_CODE));
  });
}

/**
 * The logic's fit of bursts; null when it finds no ring.
 * @param wideCodes - of the converter that took them, as its calibration has them
 */
export function fitOf(
  bursts: readonly Int32Array[], current_A = CURRENT_A, series_ohm = 1225, wideCodes: readonly number[] = NOMINAL_WIDE_CODES,
): Fitted | null {
  const { memory, ringBegin, ringAdd, fitRing, startCapacitance, naturalSquared, lossTime_s } = fit();
  const { wide1 } = CalibrationLayout;
  wideCodes.forEach((width, i) => new DataView(memory.buffer).setFloat32(CALIBRATION + wide1.at + 4 * i, width, true));
  ringBegin(WORK, SUMS);
  for (const burst of bursts) {
    new Int32Array(memory.buffer, BURST, SAMPLES).set(burst);
    ringAdd(WORK, SUMS, BURST, SAMPLES);
  }
  if (fitRing(WORK, SUMS, POINTS) === 0) return null;
  const hasStart = startCapacitance(WORK, SUMS, current_A, series_ohm) !== 0;
  const view = new DataView(memory.buffer, WORK);
  const value = (field: { readonly at: number }): number => view.getFloat32(field.at, true);
  return {
    natural_Hz: Math.sqrt(naturalSquared(WORK)) / (2 * Math.PI),
    loss_s: lossTime_s(WORK),
    total_F: hasStart ? value(RingWorkLayout.total_F) : null,
    u_natural: value(RingWorkLayout.u_natural),
    u_loss: value(RingWorkLayout.u_loss),
    u_F: value(RingWorkLayout.u_F),
    misfit: value(RingWorkLayout.misfit),
  };
}
