/** `tapstone` without arguments: the bench screen, or without a terminal one test of the invented lot. */
import type { TwinKind } from '../bench/twins.ts';
import { settleColour, writeError } from '../edge/environment.ts';
import { demoLot } from '../virtual-bench/demo-lot.ts';
import { TransportError } from '../transport/transport.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { rehearse } from './rehearse.ts';
import { readSettings } from './settings-access.ts';

/** The bench screen, until the person quits.
 * @param tester - serial number of the tester to use
 * @param twin - what the virtual bench runs on when there is no tester
 * @param seed - decides noise, hum and hand of the virtual bench; drawn when left out
 * @throws UserError when that one is not there
 */
export async function benchScreen(tester: string | undefined, twin: TwinKind, seed: number | undefined): Promise<ExitCode> {
  // Before anything that draws is loaded: it looks at the environment once, when it is imported.
  const read = await readSettings();
  settleColour(read.settings.colour);
  const { runBenchScreen } = await import('./bench-program.tsx');
  try {
    await runBenchScreen({ twin, read, ...(tester === undefined ? {} : { tester }), ...(seed === undefined ? {} : { seed }) });
  } catch (error) {
    if (error instanceof TransportError)
      throw new UserError(`tapstone: ${error.message}`, EXIT.unavailable);
    throw error;
  }
  return EXIT.done;
}

/** Without a terminal: the first pickup of the invented lot is tested and its map printed. */
export async function benchWithoutScreen(twin: TwinKind, seed: number | undefined): Promise<ExitCode> {
  const [pickup] = demoLot;
  if (pickup === undefined) throw new Error('the invented lot is empty');
  await writeError(
    `no terminal, so no screen: testing "${pickup.title ?? 'a pickup'}" on the virtual bench ("tapstone --help" tells what else there is)\n`,
  );
  await rehearse(pickup, { twin, seed, json: false, record: undefined, allWays: true });
  return EXIT.done;
}
