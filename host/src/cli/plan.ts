/** `tapstone plan`: what to do to the pickups of a harness so that most settings sound, in phase and without hum. */
import { isTerminalError, writeError, writeOut } from '../edge/environment.ts';
import { jsonLine } from '../text/printable.ts';
import { ALLOWANCES, type Allowance } from '../harness/options.ts';
import { planText } from '../harness/plan-text.ts';
import { planOf, TooManyCombinations, type PlanResult } from '../harness/plan.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import { offer } from '../text/offer.ts';
import { printable } from '../text/printable.ts';
import { COLUMNS } from '../harness/table.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { parseArguments, type OptionSpec } from './options.ts';
import { readHarness } from './read-harness.ts';

const OPTIONS: readonly OptionSpec[] = [{ name: '--allow', value: 'way|magnet', repeats: true }, { name: '--json' }];

export const PLAN_HELP = `Usage: tapstone plan FILE.harness.json [--allow way] [--allow magnet] [--json]

  tapstone plan two.harness.json                  the best that leads exchanged can do
  tapstone plan two.harness.json --allow magnet   magnets may be turned over as well
  tapstone plan two.harness.json --json           one line of JSON, up to ten proposals

Tries every combination of changes to the fitted pickups and says which makes most settings sound, in
phase and with hum cancelled, for the least work; and why what is missing cannot be had.

  --allow way     also series, parallel or one coil alone in place of one another
  --allow magnet  also turn the magnet of a pickup over
  --json          print JSON and nothing else on standard output
  -h, --help      print this
`;

/** Searches longer than this are watched. */
const LONG_combinations = 10_000;

/** Runs the command.
 * @param args - after the word `plan`
 */
export async function planCommand(args: readonly string[]): Promise<ExitCode> {
  const { options, lists, operands, wantsHelp } = parseArguments('tapstone plan', args, OPTIONS);
  if (wantsHelp) {
    await writeOut(PLAN_HELP);
    return EXIT.done;
  }
  const allowed = new Set((lists.get('--allow') ?? []).map(allowance));
  const loaded = await readHarness('tapstone plan', operands);
  const result = search(loaded, allowed, printable(operands[0] as string));
  await writeOut(options.has('--json') ? jsonLine(result.document) : planText(loaded, result, allowed));
  return EXIT.done;
}

function allowance(word: string): Allowance {
  const known = ALLOWANCES.find((one) => one === word);
  if (known !== undefined) return known;
  throw new UserError(`tapstone plan: --allow ${printable(word, 60)} is not known; ${offer(word, ALLOWANCES)}`, EXIT.usage);
}

/** Runs the search; a long one says on a screen how far it is. */
function search(loaded: LoadedHarness, allowed: ReadonlySet<Allowance>, file: string): PlanResult {
  const isShown = isTerminalError();
  let shown = false;
  const progress = (tried: number, of: number): boolean => {
    if (isShown && of >= LONG_combinations) {
      shown = true;
      void writeError(`\rtried ${tried} of ${of} combinations; Ctrl-C stops `);
    }
    return true;
  };
  try {
    return planOf(loaded, allowed, progress) as PlanResult;
  } catch (error) {
    if (error instanceof TooManyCombinations) throw new UserError(`${file}: ${error.message}`, EXIT.badContent);
    throw error;
  } finally {
    if (shown) void writeError(`\r${' '.repeat(COLUMNS - 1)}\r`);
  }
}
