/** How often the true cause of a fault comes first when a guitar is proved at its jack, and how often a sound one is accused. */
import { TouchReader } from '../../host/src/evidence/touch-reader.ts';
import { proveOne } from '../harness/jack-lot.ts';

/** Prints counts. @param args - number of guitars with a fault, and of sound ones (200), and the seed (1) */
export function print([count = '200', seed = '1']: readonly string[]): void {
  const reader = new TouchReader();
  const all = Array.from({ length: Number(count) }, (_, number) => proveOne(Number(seed), number, false, reader));
  const shown = all.filter(({ isShown }) => isShown);
  const first = shown.filter(({ outcome }) => outcome === 'first');
  const alike = first.filter(({ alike: members }) => members > 1);
  process.stdout.write(
    `proof, ${count} guitars with one fault, seed ${seed}: ${shown.length} show at the jack; true cause first in ${first.length} ` +
      `(${((100 * first.length) / shown.length).toFixed(1)} %; aim 90 or more), ${alike.length} of them together with others that every setting shows alike\n`,
  );
  for (const { name, number, fault, outcome, judged } of shown.filter((one) => one.outcome !== 'first'))
    process.stdout.write(`  ${number}: ${name}: ${fault!.text}: ${outcome}, ${judged.groups[0]?.members[0]?.text ?? judged.verdict}\n`);
  const hidden = all.filter(({ isShown }) => !isShown);
  process.stdout.write(`  of ${hidden.length} whose fault changes nothing at the jack beyond the spread of parts, wrongly accused: ${hidden.filter(({ outcome }) => outcome === 'accused').length}\n`);
  const sound = Array.from({ length: Number(count) }, (_, number) => proveOne(Number(seed), number, true, reader));
  process.stdout.write(`proof, ${count} sound guitars, seed ${seed}: accused ${sound.filter(({ outcome }) => outcome === 'accused').length} (aim 0)\n`);
}
