/** Which command an argument list asks for, and what becomes of it. */
import { isInteractive, writeOut } from '../edge/environment.ts';
import { offer } from '../text/offer.ts';
import { printable } from '../text/printable.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { HELP } from './help.ts';
import { parseArguments } from './options.ts';
import { SEED_OPTION, seedNumber } from './seed-option.ts';
import { TWIN_OPTION, twinKind } from './twin-option.ts';
import { version } from './version.ts';

type Command = (args: readonly string[]) => Promise<ExitCode>;

/** Each command is loaded when it is asked for: `solve` needs neither screen nor USB. */
const COMMANDS: ReadonlyMap<string, () => Promise<Command>> = new Map<
  string,
  () => Promise<Command>
>([
  ['solve', async () => (await import('./solve.ts')).solveCommand],
  ['enter', async () => (await import('./enter.ts')).enterCommand],
  ['rehearse', async () => (await import('./rehearse.ts')).rehearseCommand],
  ['positions', async () => (await import('./positions.ts')).positionsCommand],
  ['plan', async () => (await import('./plan.ts')).planCommand],
  ['proof', async () => (await import('./proof.ts')).proofCommand],
  ['harness', async () => (await import('./harness.ts')).harnessCommand],
  ['draw', async () => (await import('./draw.ts')).drawCommand],
  ['records', async () => (await import('./records.ts')).recordsCommand],
  ['stock', async () => (await import('./stock.ts')).stockCommand],
  ['lot', async () => (await import('./lot.ts')).lotCommand],
  ['label', async () => (await import('./label.ts')).labelCommand],
  ['listing', async () => (await import('./listing.ts')).listingCommand],
  ['sheet', async () => (await import('./sheet.ts')).sheetCommand],
  ['check', async () => (await import('./tester-commands.ts')).checkCommand],
  ['calibrate', async () => (await import('./tester-commands.ts')).calibrateCommand],
  ['flash', async () => (await import('./tester-commands.ts')).flashCommand],
]);

/** Runs what the arguments ask for.
 * @param args - after the program's name
 * @throws UserError when they ask for nothing that there is
 */
export async function runCommand(args: readonly string[]): Promise<ExitCode> {
  const [word, ...rest] = args;
  if (word !== undefined && !word.startsWith('-')) {
    const load = COMMANDS.get(word);
    if (load === undefined) {
      throw new UserError(
        `tapstone: command ${printable(word, 60)} is not known; ${offer(word, [...COMMANDS.keys()])}`,
        EXIT.usage,
      );
    }
    return (await load())(rest);
  }
  const late = args.find((arg) => COMMANDS.has(arg));
  if (late !== undefined && !args.includes('--help') && !args.includes('-h'))
    throw new UserError(`tapstone: options of ${late} stand after it; write tapstone ${late} ${printable(word ?? '', 60)}`, EXIT.usage);
  const { options, operands, wantsHelp } = parseArguments('tapstone', args, [
    { name: '--version' }, { name: '--tester', value: 'SERIAL' }, TWIN_OPTION, SEED_OPTION,
  ]);
  if (wantsHelp) await writeOut(HELP);
  else if (operands[0] !== undefined) {
    throw new UserError(
      `tapstone: ${printable(operands[0], 60)} is not expected here; write the command first`,
      EXIT.usage,
    );
  } else if (options.has('--version')) await writeOut(`tapstone ${version()}\n`);
  else {
    const twin = twinKind('tapstone', options.get('--twin'));
    const seed = seedNumber('tapstone', options.get('--seed'));
    const bench = await import('./bench.ts');
    return isInteractive()
      ? bench.benchScreen(options.get('--tester') as string | undefined, twin, seed)
      : bench.benchWithoutScreen(twin, seed);
  }
  return EXIT.done;
}
