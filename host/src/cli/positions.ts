/** `tapstone positions`: what every setting of a harness does. */
import { writeOut } from '../edge/environment.ts';
import { jsonLine } from '../text/printable.ts';
import { positionsText } from '../harness/positions-text.ts';
import { positionsOf } from '../harness/positions.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { parseArguments, type OptionSpec } from './options.ts';
import { readHarness } from './read-harness.ts';

const OPTIONS: readonly OptionSpec[] = [{ name: '--json' }];

export const POSITIONS_HELP = `Usage: tapstone positions FILE.harness.json [--json]

  tapstone positions two.harness.json          a table of settings, and the soldering list
  tapstone positions two.harness.json --json   one line of JSON

Solves a harness as a circuit: for every position of its switches what sounds, in phase or not, how much
hum is left, ohms at the jack and the resonance. Wire maps are looked for in the folder of the harness.

  --json     print JSON and nothing else on standard output
  -h, --help print this
`;

/** Runs the command.
 * @param args - after the word `positions`
 */
export async function positionsCommand(args: readonly string[]): Promise<ExitCode> {
  const { options, operands, wantsHelp } = parseArguments('tapstone positions', args, OPTIONS);
  if (wantsHelp) {
    await writeOut(POSITIONS_HELP);
    return EXIT.done;
  }
  const loaded = await readHarness('tapstone positions', operands);
  const positions = positionsOf(loaded);
  await writeOut(options.has('--json') ? jsonLine(positions) : positionsText(loaded, positions));
  return EXIT.done;
}
