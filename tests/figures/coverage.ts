/**
 * How often the uncertainty that a tester states covers the truth: boards drawn from the tolerances on the board twin, each of
 * them given a coil and a leak that are drawn too, read by the logic's own sequence.
 *
 *   npm run figures -- coverage [N] [SEED] [--keep]     --keep writes what the error budget's document tells (10,000 boards, seed 1)
 */
import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { BenchTest } from '../../host/src/evidence/run-test.ts';
import { createLogic, type Logic } from '../../host/src/logic/module.ts';
import { Light } from '../../host/src/logic/layout.generated.ts';
import type { BenchRecord } from '../../host/src/files/bench-record.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';
import { BoardTwin } from '../../host/src/virtual-bench/board-twin.ts';
import { copperOhm, LEAD_OHM } from '../../host/src/virtual-bench/pickup-circuit.ts';
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { QUANTITIES, type Coverage, type CoverageFile, type Quantity } from '../../hardware-notes/board/budget/coverage.ts';

/** Where the document's figures are kept. */
export const KEPT = fileURLToPath(new URL('../../hardware-notes/board/budget/coverage.json', import.meta.url));
/** Boards that a test reads again and finds the same figures of. */
export const AGAIN = 40;
/** Share of an inductance that is no error of a board: a core depends on level and frequency, and the twin's do not. */
const CORE_u = 0.02;

/** A reading, what it should have been, and what was stated. */
interface Reading {
  readonly quantity: Quantity;
  readonly error: number;
  readonly u: number;
}

interface Drawn {
  readonly pickup: Pickup;
  readonly coilClips: readonly number[];
  readonly leakClips: readonly number[];
  readonly leak_ohm: number;
}

/** A coil of 100 ohm to 100 kilohm with the henries that such wire has, and a leak of 1 to 90 megohm beside it, on clips at random. */
function draw(seed: number): Drawn {
  const random = new RandomStream(seed, 'coverage');
  const log = (low: number, high: number): number => low * (high / low) ** random.between(0, 1);
  const clips = [1, 2, 3, 4, 5, 6];
  for (let i = clips.length - 1; i > 0; i--) {
    const j = Math.floor(random.between(0, i + 1));
    [clips[i], clips[j]] = [clips[j], clips[i]];
  }
  const ohm = log(100, 100e3);
  const henry = Math.min(10, Math.max(0.05, (ohm / 4100) * 2.3 * log(1 / 3, 3)));
  const leak_ohm = log(1e6, 90e6);
  const pickup: Pickup = {
    format: 'pickup/1', temperature_C: random.between(15, 30),
    coils: [{ id: 'a', from: 'a0', to: 'a1', resistance_ohm_20C: ohm, inductance_H: henry, capacitance_F: log(50e-12, 250e-12),
      loss_ohm: log(1e5, 1e6), winding: 'cw', pole: 'N', place: 'single' }],
    couplings: [],
    leads: [['BU', 'a0'], ['YE', 'a1'], ['GY', 'shield'], ['VT', 'frame']].map(([colour, node], i) => ({ clip: clips[i], colour, node })),
    faults: [{ kind: 'bridge', a: 'shield', b: 'frame', ohm: leak_ohm }],
    touches: [{ coil: 'a', flux_Wb: 1e-3, rise_s: 0.004, hold_s: 0.3, fall_s: 0.007 }],
    magnet_readings: false,
    interference: { hum_Hz: 50, hum_V: log(1e-4, 3e-3), noise_V: 3e-4 },
  };
  return { pickup, coilClips: clips.slice(0, 2), leakClips: clips.slice(2, 4), leak_ohm };
}

/** The electrical part of a test, up to where a hand is asked for. */
async function electricalRecord(pickup: Pickup, seed: number, logic: Logic): Promise<BenchRecord> {
  let isOver: () => void = () => {};
  const over = new Promise<void>((resolve) => (isOver = resolve));
  const twin = new BoardTwin({
    pickup, seed,
    onCommand: (command, value) => {
      if (command === 'listen' || (command === 'light' && ENDS.has(value & 255))) isOver();
    },
  });
  const test = new BenchTest(twin, { setup: { clips: pickup.leads.map(({ clip }) => ({ clip })), places: ['single'] }, logic });
  const ended = test.run().then(() => {}, () => {});
  await Promise.race([over, ended]);
  const record = test.collector.record('', { serial: '', firmware: '', moduleHash: '' });
  await twin.close();
  return record;
}

const ENDS: ReadonlySet<number> = new Set([Light.magnet, Light.good, Light.fault, Light.unsure]);

const isPair = (clips: readonly number[], a: number, b: number): boolean => clips.includes(a) && clips.includes(b);

/** All readings of one board. */
export async function readBoard(seed: number, logic: Logic): Promise<Reading[]> {
  const { pickup, coilClips, leakClips, leak_ohm } = draw(seed);
  const record = await electricalRecord(pickup, seed, logic);
  const [coil] = pickup.coils;
  const readings: Reading[] = [];
  const scale_u = record.tester?.scale_u ?? 0;
  for (const { a, b, ohm, u_ohm } of record.resistances) {
    if (ohm === null || u_ohm === undefined) continue;
    if (isPair(coilClips, a, b)) {
      // What lies between the jaws: the winding and the pickup's own two leads.
      const truth = copperOhm(coil.resistance_ohm_20C, pickup.temperature_C) + 2 * LEAD_OHM;
      const quantity = truth < 1e3 ? 'ohms below 1 k' : truth < 16e3 ? 'ohms of 1 k to 16 k' : 'ohms above 16 k';
      readings.push({ quantity, error: ohm - truth, u: Math.hypot(u_ohm, scale_u * ohm) });
    } else if (isPair(leakClips, a, b)) readings.push({ quantity: leak_ohm < 1e7 ? 'leaks below 10 M' : 'leaks above 10 M', error: ohm - leak_ohm, u: u_ohm });
  }
  for (const { plus, minus, henry_H, u_H } of record.inductances ?? []) {
    if (!isPair(coilClips, plus, minus)) continue;
    const error = henry_H - coil.inductance_H;
    readings.push({ quantity: 'henries, whole', error, u: u_H });
    readings.push({ quantity: "henries, the board's part", error, u: Math.sqrt(Math.max(u_H ** 2 - (CORE_u * henry_H) ** 2, 0)) });
  }
  return readings;
}

/** Figures over boards. @param told - of each board that was read */
export async function coverage(boards: number, seed: number, told: (done: number) => void = () => {}): Promise<CoverageFile> {
  const logic = createLogic();
  const shares: number[][] = QUANTITIES.map(() => []);
  let again: Coverage[] = [];
  const summed = (): Coverage[] => QUANTITIES.map((quantity, i) => ({
    quantity, readings: shares[i].length,
    within1: shares[i].filter((share) => share <= 1).length, within2: shares[i].filter((share) => share <= 2).length,
    rms: Number(Math.sqrt(shares[i].reduce((sum, share) => sum + share * share, 0) / Math.max(1, shares[i].length)).toPrecision(4)),
    most: Number(Math.max(0, ...shares[i]).toPrecision(4)),
  }));
  for (let board = 0; board < boards; board++) {
    for (const { quantity, error, u } of await readBoard(seed + board, logic)) {
      shares[QUANTITIES.indexOf(quantity)].push(Math.abs(error) / u);
    }
    if (board + 1 === AGAIN) again = summed();
    told(board + 1);
  }
  return { boards, seed, all: summed(), againBoards: AGAIN, again };
}

/** Prints the coverage, and keeps it when asked to. */
export async function print(args: readonly string[]): Promise<void> {
  const { values, positionals } = parseArgs({ args: [...args], allowPositionals: true, options: { keep: { type: 'boolean', default: false } } });
  const boards = Number(positionals[0] ?? 10_000);
  const seed = Number(positionals[1] ?? 1);
  if (!Number.isInteger(boards) || boards < AGAIN || !Number.isInteger(seed)) throw new RangeError(`figures coverage: expected ${AGAIN} boards or more and a whole seed`);
  const file = await coverage(boards, seed, (done) => {
    if (done % 500 === 0) process.stderr.write(`${done} of ${boards} boards\n`);
  });
  for (const { quantity, readings, within1, within2, rms, most } of file.all) {
    const share = (count: number): string => `${((100 * count) / Math.max(1, readings)).toFixed(1)} %`;
    process.stdout.write(`${quantity.padEnd(28)} ${String(readings).padStart(6)} readings, k=1 ${share(within1)}, k=2 ${share(within2)}, rms ${rms} u, most ${most} u\n`);
  }
  if (values.keep) writeFileSync(KEPT, `${JSON.stringify(file, null, 2)}\n`);
}
