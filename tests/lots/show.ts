/**
 * Shows one pickup of a lot again: what it is, what the truth says, what was measured, what the map says.
 *
 *   node tests/lots/show.ts NUMBER SEED [--hands faint|barely] [--health sound]
 */
import { parseArgs } from 'node:util';
import { createLogic } from '../../host/src/logic/module.ts';
import type { BenchRecord } from '../../host/src/files/bench-record.ts';
import { testOne } from './twin-lot.ts';

/** A record without its samples, for reading. */
export function withoutSamples(record: BenchRecord): unknown {
  return {
    ...record,
    touches: record.touches?.map((touch) => ({
      ...touch,
      channels: touch.channels.map(({ plus, minus, volts_V }) => ({
        plus,
        minus,
        samples: volts_V.length,
      })),
    })),
  };
}

if (import.meta.main) {
  const { values, positionals } = parseArgs({
    allowPositionals: true,
    options: { hands: { type: 'string' }, health: { type: 'string' } },
  });
  const [number, seed] = positionals.map(Number);
  const tested = await testOne(
    createLogic(),
    {
      seed: seed ?? 1,
      ...(values.hands === 'faint' || values.hands === 'barely' ? { hands: values.hands } : {}),
      ...(values.health === 'sound' ? { health: 'sound' } : {}),
    },
    number ?? 0,
  );
  const { one, truth, outcome, map, judged } = tested;
  const record = outcome.collector.record('', {
    serial: 'TWIN-0001',
    firmware: '0',
    moduleHash: '',
  });
  console.log(`family: ${one.family}; slip: ${one.slip}; simulated ${tested.test_s.toFixed(1)} s`);
  console.log(`pickup: ${JSON.stringify(one.pickup)}`);
  console.log(`truth: ${JSON.stringify(truth)}`);
  console.log(`record: ${JSON.stringify(withoutSamples(record))}`);
  console.log(`map: ${JSON.stringify(map, null, 1)}`);
  console.log(outcome.differences.join('\n'));
  console.log(
    judged.disagreements.map((item) => `${item.class}: ${item.detail}`).join('\n') ||
      'as the truth has it',
  );
}
