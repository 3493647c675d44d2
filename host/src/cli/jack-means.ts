/** What the screen at the jack is made from: the tester that is plugged in, and files that readings are kept in. */
import { connectTo } from '../bench/open-bench.ts';
import { timeOfDay } from '../edge/clock.ts';
import { writeOut } from '../edge/environment.ts';
import { FileProblem, isThere, writeWhole } from '../edge/files.ts';
import type { BenchRecord } from '../files/bench-record.ts';
import { attachedJack, type JackBench } from '../jack/jack-bench.ts';
import { JackModel, type JackModelOptions } from '../jack/jack-model.ts';
import { jsonLine, printable } from '../text/printable.ts';
import { chooseTester, findTesters, whenBack } from '../transport/discovery.ts';
import { loadDriver } from '../transport/driver.ts';
import { openObstacle } from '../transport/hid.ts';
import { TransportError } from '../transport/transport.ts';

/** Where a guitar is read. */
export interface JackPlace {
  readonly bench: JackBench;
  /** Calls when the tester is plugged in again. @returns a function that ends it */
  readonly follow: (plugged: () => void) => () => void;
}

/** The tester that is plugged in.
 * @param wanted - serial number of the one that is meant @param instead - what else can be done without one
 * @throws TransportError when there is none, or it cannot be opened
 */
export async function jackOfTester(wanted: string | undefined, instead: string): Promise<JackPlace> {
  const driver = await loadDriver();
  const tester = chooseTester(await findTesters(driver), wanted, undefined);
  if (tester === null) throw new TransportError(`no tester is plugged in; plug one in, ${instead}`);
  const { serial } = tester;
  const obstacle = await openObstacle(serial, tester.path);
  if (obstacle !== null) throw new TransportError(obstacle);
  return { bench: attachedJack(() => connectTo(driver, serial)), follow: (plugged) => whenBack(driver, serial, plugged) };
}

/** The screen's model, with the impure things that it needs. @throws MisfitRecord for a record that is of another harness */
export function jackModel(
  bench: JackBench, options: Pick<JackModelOptions, 'loaded' | 'harness' | 'records' | 'file' | 'places'>,
): JackModel {
  return new JackModel(bench, { ...options, timeOfDay, isThere, write: written, ring: () => void writeOut('\x07') });
}

async function written(file: string, records: readonly BenchRecord[]): Promise<string | null> {
  try {
    await writeWhole(file, records.map(jsonLine).join(''));
    return null;
  } catch (error) {
    if (error instanceof FileProblem) return `${printable(file)} cannot be written (${printable(error.code, 60)})`;
    throw error;
  }
}
