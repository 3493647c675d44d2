/** The arguments of the commands that look at a tester or write to a board. */
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { writeOut } from '../edge/environment.ts';
import { printable } from '../text/printable.ts';
import { check } from './check.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { flash, HOW_TO_BOOT } from './flash.ts';
import { parseArguments, type OptionSpec } from './options.ts';

const CHECK_OPTIONS: readonly OptionSpec[] = [{ name: '--tester', value: 'SERIAL' }];
const FLASH_OPTIONS: readonly OptionSpec[] = [{ name: '--drive', value: 'FOLDER' }];

export const CHECK_HELP = `Usage: tapstone check [--tester SERIAL]

  tapstone check                    driver, permission, tester, firmware, board
  tapstone check --tester TS-0007   the same with one of several testers

Looks at everything that stands between this computer and a tester, lets the tester test its own board,
and says what to do for each line that is not right.
`;

/** The firmware that came with the program, or that was built here; seen from here and from the bundle alike. */
const OWN_FIRMWARE = new URL('../../../firmware/build/tapstone.uf2', import.meta.url);

export const FLASH_HELP = `Usage: tapstone flash [FILE.uf2] [--drive FOLDER]

  tapstone flash                            the program's own firmware, to the board whose boot drive is there
  tapstone flash --drive /media/RPI-RP2     to this one
  tapstone flash other.uf2                  another firmware

Writes the firmware to a board, then asks the board whether it has it.
First ${HOW_TO_BOOT}.
`;

/** `tapstone check`. @param args - after the word `check` */
export async function checkCommand(args: readonly string[]): Promise<ExitCode> {
  const { options, operands, wantsHelp } = parseArguments('tapstone check', args, CHECK_OPTIONS);
  if (wantsHelp) {
    await writeOut(CHECK_HELP);
    return EXIT.done;
  }
  if (operands[0] !== undefined) {
    throw new UserError(
      `tapstone check: ${printable(operands[0], 60)} is not expected; write --tester SERIAL to choose a tester`,
      EXIT.usage,
    );
  }
  return check(options.get('--tester') as string | undefined);
}

/** `tapstone flash`. @param args - after the word `flash` */
export async function flashCommand(args: readonly string[]): Promise<ExitCode> {
  const { options, operands, wantsHelp } = parseArguments('tapstone flash', args, FLASH_OPTIONS);
  if (wantsHelp) {
    await writeOut(FLASH_HELP);
    return EXIT.done;
  }
  if (operands.length > 1) {
    throw new UserError(
      `tapstone flash: ${operands.length} files are named; expected one firmware FILE.uf2, or none for the program's own`,
      EXIT.usage,
    );
  }
  const path = operands[0] ?? fileURLToPath(OWN_FIRMWARE);
  if (operands[0] === undefined && !existsSync(path)) {
    throw new UserError(
      'tapstone flash: no firmware came with this program; name a FILE.uf2, or in a checkout build one with npm run firmware',
      EXIT.noInput,
    );
  }
  return flash(path, options.get('--drive') as string | undefined);
}
