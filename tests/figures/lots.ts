/** Quality of the wire maps over a lot of invented pickups, each line beside its aim. */
import { createHash } from 'node:crypto';
import { parseArgs } from 'node:util';
import { LAYOUT_VERSION } from '../../host/src/logic/layout.generated.ts';
import { logicModule } from '../../host/src/logic/module.ts';
import { runLot } from '../lots/pool.ts';
import { CONFIDENCE_EDGES, inWords, type Tally } from '../lots/tally.ts';
import type { Class } from '../lots/judge.ts';
import type { FigureLot } from './lot-worker.ts';

const WORKER = new URL('./lot-worker.ts', import.meta.url);

/** Prints the figures of a lot.
 * @param args - [N] [SEED] [--keep] [--records] [--examples K]
 */
export async function print(args: readonly string[]): Promise<void> {
  const { values, positionals } = parseArgs({
    args: [...args],
    allowPositionals: true,
    options: {
      keep: { type: 'boolean', default: false },
      records: { type: 'boolean', default: false },
      examples: { type: 'string', default: '3' },
    },
  });
  const count = Number(positionals[0] ?? 10_000);
  const seed = Number(positionals[1] ?? 1);
  if (!(count > 0) || !Number.isInteger(seed))
    throw new RangeError('figures lots: expected a number of pickups and a whole seed');
  const way = values.records ? 'records' : 'twin';
  say(
    `lot seed ${seed}, ${count} pickups, by ${way === 'twin' ? 'whole tests on the board twin' : 'records that no tester took'}, ` +
      `layout ${LAYOUT_VERSION}, logic sha256 ${logicModule().sha256.slice(0, 16)}`,
  );
  const usual = await run({ seed, way, keep: values.keep }, count, 'usual hands');
  usualLines(usual);
  // One touch for each place tells what one touch is worth; a tester would ask again.
  const faint = await run(
    { seed, way: 'records', keep: false, hands: 'faint', health: 'sound' },
    count,
    'faint touches',
  );
  faintLines(faint);
  const barely = await run(
    { seed, way: 'records', keep: false, hands: 'barely', health: 'sound' },
    Math.ceil(count / 4),
    'touches of d 8 to 14',
  );
  line(
    'sign given at d of 8 and more',
    percent(barely.givenSigns, barely.expectedSigns),
    '98 % or more',
  );
  if (way === 'twin') {
    const asked = await run(
      { seed, way, keep: false, hands: 'faint', health: 'sound' },
      Math.ceil(count / 20),
      'faint touches on the twin, which asks again',
    );
    line(
      '  signs stated and wrong on the twin',
      `${asked.wrongSigns} of ${asked.statedSigns}`,
      `by what they state ${expectedWrong(asked).toFixed(1)}`,
    );
  }
  say(`\n${inWords(usual, Number(values.examples))}`);
  const again =
    way === 'twin'
      ? `tests/lots/show.ts NUMBER ${seed}`
      : `tests/lots/run-records.ts --only NUMBER ${seed} --style full`;
  say(`see one again: node ${again}`);
  say(
    `result ${createHash('sha256')
      .update(JSON.stringify([usual, faint, barely]))
      .digest('hex')
      .slice(0, 6)}`,
  );
}

function say(text: string): void {
  process.stdout.write(`${text}\n`);
}

async function run(lot: FigureLot, count: number, title: string): Promise<Tally> {
  let told = 0;
  return runLot(WORKER, lot, count, (pickups) => {
    if (!process.stderr.isTTY || pickups < told + count / 50) return;
    told = pickups;
    process.stderr.write(`\r${title}: ${pickups} of ${count}${pickups === count ? '\n' : ''}`);
  });
}

function usualLines(tally: Tally): void {
  const sound = (name: Class): string =>
    `${tally.classes[name]?.soundPickups ?? 0} of ${tally.sound} sound pickups wrong`;
  const found = (name: string): string => {
    const { met, found: told } = tally.faults[name] ?? { met: 0, found: 0 };
    return `${told} of ${met} (${percent(told, met)})`;
  };
  say(`\n${'figure'.padEnd(40)} ${'measured'.padEnd(42)} aim`);
  line('coils', sound('coils wrong'), 'none');
  line('joined clips', sound('joined wrong'), 'none');
  line('chassis', sound('chassis wrong'), 'none');
  line(
    'plus and minus wrong',
    `${tally.wrongSigns} of ${tally.statedSigns} stated`,
    'at most 1 in 10,000',
  );
  line(
    'plus and minus given',
    `${tally.givenSigns} of ${tally.expectedSigns} (${percent(tally.givenSigns, tally.expectedSigns)})`,
    '99.5 % or more',
  );
  line('wrong with more than 0.99', `${tally.confidentlyWrong}`, 'none');
  line(
    'place wrong',
    `${tally.classes['place wrong']?.count ?? 0}`,
    'none stated with a slip of the hand',
  );
  line(
    'pole or winding wrong',
    `${(tally.classes['pole wrong']?.count ?? 0) + (tally.classes['winding wrong']?.count ?? 0)}`,
    'none',
  );
  line('poles_differ wrong', `${tally.classes['poles_differ wrong']?.count ?? 0}`, 'none');
  line('bridges found', found('bridge'), 'all');
  line('opens found', found('open'), 'all');
  line('live leads found', found('live'), 'all');
  line('leaks up to 50 Mohm found', found('leak up to 50 Mohm'), '99 % or more');
  line('leaks above 50 Mohm found', found('leak above 50 Mohm'), '(no aim)');
  line(
    'shorted turns of 10 % and more found',
    found('shorted turns of 10 % or more'),
    '90 % or more',
  );
  line('shorted turns below 10 % found', found('shorted turns below 10 %'), '(no aim)');
  line(
    'intermittent leads found',
    found('intermittent'),
    '(no aim: the gap may fall between readings)',
  );
  const alarms = tally.classes['false alarm']?.soundPickups ?? 0;
  line(
    'false alarms on sound pickups',
    `${alarms} of ${tally.sound} (${percent(alarms, tally.sound)})`,
    'at most 0.5 %',
  );
  const vain = tally.classes['not good though sound']?.soundPickups ?? 0;
  line(
    'sound, touched well, not called good',
    `${vain} (${percent(vain, tally.sound)})`,
    '(no aim)',
  );
  limitLines(tally);
  if (tally.sums.test_s !== undefined) {
    line(
      'whole test, simulated, mean',
      `${(tally.sums.test_s / tally.pickups).toFixed(1)} s`,
      '(no aim)',
    );
    const { soundTested = 0, soundUnsure = 0, soundTouches = 0, soundPlaces = 0 } = tally.sums;
    line('touches for each place, sound', (soundTouches / soundPlaces).toFixed(3), '1.1');
    line('sound pickups that ended unsure', `${soundUnsure} of ${soundTested} (${percent(soundUnsure, soundTested)})`, '1 %');
    line('bytes that differ, twin against host', `${tally.sums.differences} tests`, 'none');
  }
}

/** The best possible detector, and a person with a hand-held meter, on the same touches. */
function limitLines(tally: Tally): void {
  const touches = tally.sums.touches ?? 0;
  const wrong = tally.sums.idealWrong ?? 0;
  line(
    '  limit: matched filter of known shape',
    `${wrong.toFixed(2)} wrong expected of ${touches}`,
    '(the limit)',
  );
  const part = (name: string): string => percent(tally.sums[name] ?? 0, touches);
  line(
    '  hand-held meter, 2.5 readings a second',
    `right ${part('meterRight')}, wrong ${part('meterWrong')}, still ${part('meterNothing')}`,
    '(for comparison)',
  );
}

function faintLines(tally: Tally): void {
  say('\nfaint touches, matched-filter d from 1 to 8, one touch for each place:');
  tally.calibration.forEach(({ count, confidence, right }, i) => {
    if (count === 0) return;
    const [stated, true_] = [confidence / count, right / count];
    const spread = Math.sqrt(Math.max(stated * (1 - stated), 1e-6) / count);
    line(
      `  stated ${CONFIDENCE_EDGES[i]} to ${CONFIDENCE_EDGES[i + 1] ?? 1}`,
      `${count} signs, mean ${stated.toFixed(4)}, right ${true_.toFixed(4)}`,
      `within 0.03 (chance alone: ${(2 * spread).toFixed(3)}): off by ${Math.abs(stated - true_).toFixed(4)}`,
    );
  });
  line(
    '  signs stated, and wrong',
    `${tally.statedSigns} of ${tally.sums.touches}, ${tally.wrongSigns} wrong`,
    `${expectedWrong(tally).toFixed(1)} by what they state`,
  );
  limitLines(tally);
}

/** Wrong signs that the stated confidences themselves announce. */
function expectedWrong(tally: Tally): number {
  return tally.calibration.reduce((sum, { count, confidence }) => sum + count - confidence, 0);
}

function line(name: string, measured: string, aim: string): void {
  say(`${name.padEnd(40)} ${measured.padEnd(42)} ${aim}`);
}

function percent(part: number, whole: number): string {
  return whole === 0 ? 'none met' : `${((100 * part) / whole).toFixed(2)} %`;
}
