/** How long a plan takes: 4 pickups of 3 coils, 32 settings, as large as plans are meant to be, and the example harnesses. */
import { planOf } from '../../host/src/harness/plan.ts';
import { largeHarness } from '../harness/large-harness.ts';
import { example, exampleNames, load } from '../harness/example-harnesses.ts';

/** Prints seconds, combinations and settings solved a second. */
export function print(): void {
  for (const selects of ['one or two at a time', 'all four always'] as const) {
    const loaded = load(largeHarness(selects === 'all four always'));
    const start_ms = performance.now();
    const plan = planOf(loaded, new Set());
    const seconds = (performance.now() - start_ms) / 1000;
    const { settings, hum_cancelled } = plan.document.proposals[0]!.count;
    process.stdout.write(
      `plan, 4 pickups of 3 coils, ${settings} settings, ${selects}: ${plan.tried} combinations in ${seconds.toFixed(2)} s (aim 5 or less); ` +
        `best has hum cancelled in ${hum_cancelled}\n`,
    );
  }
  const start_ms = performance.now();
  for (const name of exampleNames) planOf(load(example(name)), new Set(['magnet']));
  process.stdout.write(`plan of each of ${exampleNames.length} example harnesses, magnets allowed: ${((performance.now() - start_ms) / exampleNames.length).toFixed(0)} ms on average\n`);
}
