/** `tapstone` without arguments: the bench screen, or without a terminal one test of the invented lot. */
import { virtualBench } from '../bench/bench.ts';
import { BenchModel } from '../bench/bench-model.ts';
import { elapsed_ms, timeOfDay } from '../edge/clock.ts';
import { settleColour, writeError, writeOut } from '../edge/environment.ts';
import { freshSeed } from '../edge/random.ts';
import { demoLot } from '../virtual-bench/demo-lot.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { rehearse } from './rehearse.ts';

/** The bench screen, until the person quits. */
export async function benchScreen(): Promise<ExitCode> {
  // Before anything that draws is loaded: it looks at the environment once, when it is imported.
  settleColour();
  const { runBenchScreen } = await import('../screens/bench.tsx');
  const bench = virtualBench({ seed: freshSeed(), elapsed_ms });
  await runBenchScreen(new BenchModel(bench, { timeOfDay, ring: () => void writeOut('\x07') }));
  return EXIT.done;
}

/** Without a terminal: the first pickup of the invented lot is tested and its map printed. */
export async function benchWithoutScreen(): Promise<ExitCode> {
  const [pickup] = demoLot;
  if (pickup === undefined) throw new Error('the invented lot is empty');
  await writeError(
    `no terminal, so no screen: testing "${pickup.title ?? 'a pickup'}" on the virtual bench ("tapstone --help" tells what else there is)\n`,
  );
  await rehearse(pickup, { twin: 'board', seed: undefined, json: false, record: undefined });
  return EXIT.done;
}
