/** Finds out what there is to work with: an attached tester, or else the virtual bench, and says why. */
import type { BenchSetup } from '../evidence/collect.ts';
import { chooseTester, findTesters, type Found } from '../transport/discovery.ts';
import { loadDriver, messageOf, type HidDriver } from '../transport/driver.ts';
import { HidTransport } from '../transport/hid.ts';
import { TransportError } from '../transport/transport.ts';
import { testerBench, virtualBench, type Bench } from './bench.ts';
import type { TwinKind } from './twins.ts';

export type Opened =
  | { readonly kind: 'virtual'; readonly bench: Bench; readonly notice: string | null }
  | {
    readonly kind: 'tester'; readonly serial: string; readonly driver: HidDriver;
    /** The bench for a lot, once the person has said what lies there. */
    bench(setup: BenchSetup, name: string, count: number): Bench;
  };

/**
 * @param wanted - serial number that the user named
 * @throws TransportError when a tester was named, or several are there and none was
 */
export async function openBench(options: {
  readonly seed: number; readonly twin: TwinKind; readonly elapsed_ms: () => number; readonly wanted?: string; readonly remembered?: string;
}): Promise<Opened> {
  const virtual = (notice: string | null): Opened => ({ kind: 'virtual', bench: virtualBench(options), notice });
  let driver: HidDriver;
  let found: Found;
  try {
    driver = await loadDriver();
    found = await findTesters(driver);
  } catch (error) {
    if (options.wanted !== undefined) throw error;
    return virtual(`${messageOf(error)}; this is the virtual bench`);
  }
  const tester = chooseTester(found, options.wanted, options.remembered);
  if (tester === null) return virtual(found.foreign[0] ?? null);
  const { serial } = tester;
  return { kind: 'tester', serial, driver, bench: (setup, name, count) => testerBench(() => connectTo(driver, serial), setup, name, count) };
}

/** A connection to a tester, wherever it is plugged in by now; not yet opened. @throws TransportError when it is not there */
export async function connectTo(driver: HidDriver, serial: string): Promise<HidTransport> {
  const tester = chooseTester(await findTesters(driver), serial, undefined);
  if (tester === null) throw new TransportError(`tester ${serial} is not plugged in`);
  return new HidTransport(driver, tester);
}
