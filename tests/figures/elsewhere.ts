/** Quality of the wire maps on records made elsewhere, each line beside its aim. */
import { parseArgs } from 'node:util';
import { LAYOUT_VERSION } from '../../host/src/logic/layout.generated.ts';
import { logicModule } from '../../host/src/logic/module.ts';
import type { Tally } from '../elsewhere/judge.ts';
import { judgeSet, makeSet, readSet, SIMULATORS } from '../elsewhere/sets.ts';

const out = (line: string): void => void process.stdout.write(`${line}\n`);

/** Prints a table for each simulator, or for the one that is named.
 * @param args - [N, 1000] [SEED, 1000: seeds 1 to 99 are for work on the solver] [SIMULATOR, or a folder with a set] [--notes K]
 */
export async function print(args: readonly string[]): Promise<void> {
  const { values, positionals } = parseArgs({
    args: [...args],
    allowPositionals: true,
    options: { notes: { type: 'string', default: '0' } },
  });
  const count = Number(positionals[0] ?? 1000);
  const seed = Number(positionals[1] ?? 1000);
  if (!(Number.isInteger(count) && count > 0 && Number.isInteger(seed) && seed >= 0))
    throw new RangeError('figures elsewhere: expected a number of records and a whole seed, 0 or more');
  const wanted = positionals[2];
  out(`layout ${LAYOUT_VERSION}, logic sha256 ${logicModule().sha256.slice(0, 16)}`);
  for (const source of wanted === undefined ? SIMULATORS : [wanted]) {
    const simulated = SIMULATORS.includes(source);
    out(simulated ? `\n${source}, seed ${seed}, ${count} records` : `\n${source}`);
    const tally = await judgeSet(simulated ? makeSet(source, count, seed) : readSet(source));
    table(tally);
    for (const note of tally.notes.slice(0, Number(values.notes))) out(`  - ${note}`);
    if (simulated) out(`made by: python3 tests/elsewhere/${source}.py ${count} ${seed} FOLDER`);
  }
}

/** Wrong place, lost contact, bridge to the frame, as either simulator calls it; the other one's `bridge` is to the frame as well. */
const ASIDE: readonly (readonly string[])[] = [['wrong_place', 'wrong place'], ['intermittent', 'lost contact'], ['bridge_chassis', 'bridge']];

function table(tally: Tally): void {
  const line = (title: string, value: string, aim = ''): void => out(`  ${title.padEnd(46)} ${value.padStart(22)}   ${aim}`.trimEnd());
  /** Either name of a class: the two simulators call some alike things by other words. */
  const found = (...names: string[]): string => {
    const counts = names.flatMap((name) => tally.expected.get(name) ?? []);
    return share(counts.reduce((sum, { shownFound }) => sum + shownFound, 0), counts.reduce((sum, { shown }) => sum + shown, 0));
  };
  line('records judged, malformed', `${tally.records}, ${tally.malformed}`, 'none malformed');
  line('wrong plus and minus of those claimed', share(tally.wrong, tally.claims), '0.25 %');
  line('  at confidence 0.99 or more', String(tally.wrongSure), 'none');
  line('  misled by what a person noted', String(tally.wrongMisled));
  line('silent where the sign can be had', share(tally.silent, tally.known), '0.7 %');
  line('sound, clearly touched, not called good', share(tally.cleanNotGood, tally.clean), '1 %');
  line('  false alarms', share(tally.cleanAlarm, tally.clean), '0.5 %');
  line('verdict acceptable', share(tally.verdictOk, tally.records), '99.5 %');
  line('place right of those claimed', share(tally.placesRight, tally.placesClaimed));
  line('wrong place told', found(...ASIDE[0]), 'all');
  line('lost contact told', found(...ASIDE[1]), '95 %');
  line('  called good', String(tally.lostCalledGood), 'none');
  line('open told, where the record shows it', found('open'), 'all');
  line('bridge to the frame told, likewise', found(...ASIDE[2]), 'all');
  line('Brier score of the confidence', tally.brier.toFixed(5), '0.003');
  const rest = [...tally.expected].filter(([name]) => name !== 'open' && !ASIDE.flat().includes(name));
  line('others told', '');
  for (const [name] of rest.sort()) line(`  ${name}`, found(name));
}

const share = (part: number, whole: number): string =>
  whole === 0 ? '0 of 0' : `${part} of ${whole}, ${((100 * part) / whole).toFixed(2)} %`;
