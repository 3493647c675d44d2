/** `tapstone rehearse` of a harness: every setting of a guitar read at its jack on the virtual bench, and the proof of it. */
import { basename } from 'node:path';
import type { TwinKind } from '../bench/twins.ts';
import { timeOfDay } from '../edge/clock.ts';
import { isTerminalError, writeError, writeOut } from '../edge/environment.ts';
import { writeWhole } from '../edge/files.ts';
import { freshSeed } from '../edge/random.ts';
import type { BenchRecord } from '../files/bench-record.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import { simulatedJack, simulatedPlaces, type JackBench } from '../jack/jack-bench.ts';
import { JackResults } from '../jack/jack-results.ts';
import { jackSteps, type JackStep } from '../jack/jack-steps.ts';
import { JackTest } from '../jack/jack-test.ts';
import { jsonLine, printable } from '../text/printable.ts';
import { TransportError, type Transport } from '../transport/transport.ts';
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';
import { provedText } from './proof.ts';
import { simulatedGuitar, type GuitarOptions } from './simulated-guitar.ts';

/** How a harness is rehearsed. */
export interface HarnessRehearsal extends Omit<GuitarOptions, 'seed'> {
  readonly twin: TwinKind;
  /** Drawn when undefined. */
  readonly seed: number | undefined;
  readonly json: boolean;
  /** Where the records go, one a line. */
  readonly record: string | undefined;
}

/** Reads every setting at the jack and prints the proof.
 * @param path - of the harness, which the records name
 */
export async function rehearseHarness(loaded: LoadedHarness, path: string, options: HarnessRehearsal): Promise<void> {
  const { json, record, twin } = options;
  const seed = options.seed ?? freshSeed();
  const { plan, known, fault } = await simulatedGuitar('tapstone rehearse', loaded, path, { ...options, seed });
  if (options.seed === undefined) await writeError(`seed ${seed}\n`);
  const steps = jackSteps(loaded.harness, simulatedPlaces(plan));
  const records = await readAll(simulatedJack(plan, { twin, seed, automatic: true }), new JackResults(known), steps, path);
  if (record !== undefined) await writeWhole(record, records.map(jsonLine).join(''));
  const named = records.map((one, at) => ({ source: `setting ${at + 1}`, record: one }));
  await writeOut(provedText(known, named, json));
  if (fault !== null) await writeError(`the fault that was put in: ${fault}\n`);
}

async function readAll(bench: JackBench, results: JackResults, steps: readonly JackStep[], path: string): Promise<BenchRecord[]> {
  const isShown = isTerminalError() && steps.length > 1;
  const records: BenchRecord[] = [];
  for (const [at, step] of steps.entries()) {
    if (isShown) await writeError(`\rsetting ${at + 1} of ${steps.length} `);
    records.push({ ...await readOnTwin(bench, results, step), harness: basename(path), setting: step.names });
  }
  if (isShown) await writeError(`\r${' '.repeat(30)}\r`);
  return records;
}

/** One whole test, two clips at the jack. */
async function readOnTwin(bench: JackBench, results: JackResults, step: JackStep): Promise<BenchRecord> {
  let transport: Transport | undefined;
  try {
    transport = await bench.connect(step, 0);
    const test = new JackTest(transport, {
      places: step.places, timeOfDay,
      swings: (record) => results.swings({ ...record, setting: step.names }),
      isExpected: (place) => results.planned(step.setting)?.sounding.includes(place) ?? null,
    });
    const { differences } = await test.run();
    for (const difference of differences) await writeError(`tapstone: ${difference}\n`);
    return test.record();
  } catch (error) {
    if (error instanceof TransportError) throw new UserError(`tapstone: ${printable(error.message)}`, EXIT.unavailable);
    throw error;
  } finally {
    await transport?.close();
  }
}
