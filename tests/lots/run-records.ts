/**
 * Solves a lot of records that no tester took, and prints what the wire maps got wrong.
 *
 *   node tests/lots/run-records.ts [N] [SEED] [--style "late start"] [--hands faint|barely] [--health sound] [--asks 2]
 *   node tests/lots/run-records.ts --only 217 SEED ...      one pickup: its truth, record and wire map
 */
import { parseArgs } from 'node:util';
import { createLogic } from '../../host/src/logic/module.ts';
import { runLot } from './pool.ts';
import { withoutSamples } from './show.ts';
import { solveOne, type RecordLot } from './record-lot.ts';
import { STYLES, type Style } from './synthetic-record.ts';
import { inWords } from './tally.ts';

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    only: { type: 'string' },
    style: { type: 'string' },
    hands: { type: 'string' },
    health: { type: 'string' },
    asks: { type: 'string' },
    examples: { type: 'string', default: '5' },
  },
});
const numbers = positionals.map(Number);
const [count, seed] =
  values.only === undefined ? [numbers[0] ?? 1000, numbers[1] ?? 1] : [1, numbers[0] ?? 1];
if (values.style !== undefined && !STYLES.includes(values.style as Style)) {
  throw new RangeError(`--style ${values.style}: expected one of ${STYLES.join(', ')}`);
}
const lot: RecordLot = {
  seed,
  ...(values.style === undefined ? {} : { style: values.style as Style }),
  ...(values.hands === 'faint' || values.hands === 'barely' ? { hands: values.hands } : {}),
  ...(values.health === 'sound' ? { health: 'sound' } : {}),
  ...(values.asks === undefined ? {} : { asks: Number(values.asks) }),
};

if (values.only !== undefined) {
  const { one, truth, style, record, map, judged } = solveOne(
    createLogic(),
    lot,
    Number(values.only),
  );
  console.log(`family: ${one.family}; slip: ${one.slip}; style: ${style}`);
  console.log(`pickup: ${JSON.stringify(one.pickup)}`);
  console.log(`truth: ${JSON.stringify(truth)}`);
  console.log(`record: ${JSON.stringify(withoutSamples(record))}`);
  console.log(`map: ${JSON.stringify(map, null, 1)}`);
  console.log(
    judged.disagreements.map((item) => `${item.class}: ${item.detail}`).join('\n') ||
      'as the truth has it',
  );
} else {
  console.log(`lot seed ${seed}, ${count} records`);
  const tally = await runLot(new URL('./record-worker.ts', import.meta.url), lot, count, () => {});
  console.log(inWords(tally, Number(values.examples)));
  console.log(`again: node tests/lots/run-records.ts --only NUMBER ${seed} with the same options`);
}
