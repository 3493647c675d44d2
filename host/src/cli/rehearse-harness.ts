/** `tapstone rehearse` of a harness: every setting of a guitar read at its jack on the virtual bench, and the proof of it. */
import { basename } from 'node:path';
import { guitarOf } from '../bench/guitar-of.ts';
import { makeTwin, type TwinKind } from '../bench/twins.ts';
import { timeOfDay } from '../edge/clock.ts';
import { isTerminalError, writeError, writeOut } from '../edge/environment.ts';
import { writeWhole } from '../edge/files.ts';
import { freshSeed } from '../edge/random.ts';
import { BenchTest } from '../evidence/run-test.ts';
import type { BenchRecord } from '../files/bench-record.ts';
import { describe } from '../files/field-walk.ts';
import { settingNames, settingsOf } from '../harness/harness.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import { createLogic } from '../logic/module.ts';
import { asPickup } from '../pickup/pickup-file.ts';
import type { Pickup } from '../pickup/pickup.ts';
import { wiredOf } from '../proof/wired.ts';
import { jsonLine, printable } from '../text/printable.ts';
import { TransportError, type Transport } from '../transport/transport.ts';
import { Guitar, type GuitarPlan } from '../virtual-bench/guitar.ts';
import { GUITAR_FAULTS, putFault, type GuitarFault } from '../virtual-bench/guitar-faults.ts';
import { placesOf } from '../virtual-bench/person.ts';
import { RandomStream } from '../virtual-bench/random.ts';
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';
import { provedText } from './proof.ts';
import { readOne } from './read-one.ts';

/** How a harness is rehearsed. */
export interface HarnessRehearsal {
  readonly twin: TwinKind;
  /** Drawn when undefined. */
  readonly seed: number | undefined;
  readonly json: boolean;
  /** Where the records go, one a line. */
  readonly record: string | undefined;
  /** `SLOT=FILE` of pickups that stand in for those that the wire maps make up. */
  readonly pickups: readonly string[];
  /** Whether one thing is to be soldered wrong. */
  readonly withFault: boolean;
  /** Whether it is told as if nobody knew what is fitted. */
  readonly isBlind: boolean;
}

/** Reads every setting at the jack and prints the proof.
 * @param path - of the harness, which the records name
 */
export async function rehearseHarness(loaded: LoadedHarness, path: string, options: HarnessRehearsal): Promise<void> {
  const { json, record, pickups, withFault, isBlind, twin } = options;
  const behind = await pickupsBehind(loaded, pickups);
  const seed = options.seed ?? freshSeed();
  if (options.seed === undefined) await writeError(`seed ${seed}\n`);
  const wired = wiredOf(loaded);
  if (wired.pickups.length === 0)
    throw new UserError(`${printable(path)}: fitted: an empty list; expected at least one pickup to rehearse`, EXIT.badContent);
  const sound = guitarOf(wired, behind, new RandomStream(seed, 'guitar'));
  const fault = withFault ? drawFault(sound, seed) : null;
  const records = await readAll(wired, fault?.plan ?? sound, path, twin, seed);
  if (record !== undefined) await writeWhole(record, records.map(jsonLine).join(''));
  const named = records.map((one, at) => ({ source: `setting ${at + 1}`, record: one }));
  const known = isBlind ? { harness: { ...loaded.harness, fitted: [] }, pickups: [] } : loaded;
  await writeOut(provedText(known, named, json));
  if (fault !== null) await writeError(`the fault that was put in: ${printable(fault.text)}\n`);
}

/** Pickups by slot, read from their files. @throws UserError (64) for a slot that is not fitted, or is named twice */
async function pickupsBehind({ pickups }: LoadedHarness, named: readonly string[]): Promise<Map<string, Pickup>> {
  const slots = pickups.map(({ slot }) => slot.slot);
  const behind = new Map<string, Pickup>();
  for (const text of named) {
    const slot = slots.find((one) => text.startsWith(`${one}=`));
    if (slot === undefined)
      throw new UserError(`tapstone rehearse: --pickup ${describe(text)} names no fitted slot; expected SLOT=FILE with one of ${slots.join(', ')}`, EXIT.usage);
    if (behind.has(slot)) throw new UserError(`tapstone rehearse: --pickup names ${printable(slot)} twice; expected one pickup in each slot`, EXIT.usage);
    const file = text.slice(slot.length + 1);
    if (file === '') throw new UserError(`tapstone rehearse: --pickup ${describe(text)} names no file; expected SLOT=FILE`, EXIT.usage);
    behind.set(slot, await readOne(file, (document) => asPickup(document, () => {})));
  }
  return behind;
}

function drawFault(plan: GuitarPlan, seed: number): GuitarFault {
  const random = new RandomStream(seed, 'fault');
  for (;;) {
    const fault = putFault(plan, GUITAR_FAULTS[random.below(GUITAR_FAULTS.length)]!, random);
    if (fault !== null) return fault;
  }
}

async function readAll({ harness }: LoadedHarness, plan: GuitarPlan, path: string, twin: TwinKind, seed: number): Promise<BenchRecord[]> {
  const settings = settingsOf(harness);
  const isShown = isTerminalError() && settings.length > 1;
  const records: BenchRecord[] = [];
  for (const [at, positions] of settings.entries()) {
    if (isShown) await writeError(`\rsetting ${at + 1} of ${settings.length} `);
    const record = await readOnTwin(new Guitar(plan, positions), twin, seed + at);
    records.push({ ...record, harness: basename(path), setting: settingNames(harness, positions) });
  }
  if (isShown) await writeError(`\r${' '.repeat(30)}\r`);
  return records;
}

/** One whole test, two clips at the jack. */
async function readOnTwin(guitar: Guitar, twin: TwinKind, seed: number): Promise<BenchRecord> {
  let transport: Transport | undefined;
  try {
    transport = await makeTwin(twin, { pickup: guitar, seed });
    const setup = { clips: guitar.leads.map(({ clip }) => ({ clip })), places: placesOf(guitar) };
    const { collector, identity, differences } = await new BenchTest(transport, { setup, logic: createLogic() }).run();
    for (const difference of differences) await writeError(`tapstone: ${difference}\n`);
    return collector.record(timeOfDay(), identity);
  } catch (error) {
    if (error instanceof TransportError) throw new UserError(`tapstone: ${printable(error.message)}`, EXIT.unavailable);
    throw error;
  } finally {
    await transport?.close();
  }
}
