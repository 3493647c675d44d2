/** The arguments of the commands that look at a tester or write to it. */
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { writeOut } from '../edge/environment.ts';
import { printable } from '../text/printable.ts';
import { freshSeed } from '../edge/random.ts';
import { KNOWN_least_ohm, KNOWN_most_ohm, type KnownResistor } from '../calibrating/known-resistor.ts';
import { STEP_NAMES, type StepName } from '../calibrating/steps.ts';
import { calibrate } from './calibrate.ts';
import { check } from './check.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { flash, HOW_TO_BOOT } from './flash.ts';
import { parseArguments, type OptionSpec } from './options.ts';
import { SEED_OPTION, seedNumber } from './seed-option.ts';
import { TWIN_OPTION, twinKind } from './twin-option.ts';

const CHECK_OPTIONS: readonly OptionSpec[] = [{ name: '--tester', value: 'SERIAL' }];
const FLASH_OPTIONS: readonly OptionSpec[] = [{ name: '--drive', value: 'FOLDER' }];

export const CHECK_HELP = `Usage: tapstone check [--tester SERIAL]

  tapstone check                    driver, permission, tester, firmware, calibration, board
  tapstone check --tester TS-0007   the same with one of several testers

Looks at everything that stands between this computer and a tester, lets the tester test its own board,
and says what to do for each line that is not right.
`;

const CALIBRATE_OPTIONS: readonly OptionSpec[] = [
  { name: '--step', value: 'NAME' }, { name: '--resistor', value: 'OHMS' }, { name: '--within', value: 'OHMS' }, { name: '--tester', value: 'SERIAL' },
  TWIN_OPTION, SEED_OPTION,
];

export const CALIBRATE_HELP = `Usage: tapstone calibrate [--step NAME] [--resistor OHMS --within OHMS] [--tester SERIAL]

  tapstone calibrate                                                all steps, one after another
  tapstone calibrate --step short                                   one of them
  tapstone calibrate --resistor 3999.62 --within 0.08               the resistor, at once: 3999.54 to 3999.70 ohms
  tapstone calibrate --twin board                                   rehearse it on a simulated tester

Gives a tester what is its own, and says before each step what to clip on:
  ramp       the widths of its listening converter's wide codes   nothing on the clips
  open       the capacitance of each clip                         nothing on the clips
  short      the ohms of each lead                                all six clips joined
  resistor   the scale of all ohms                                a resistor of ${KNOWN_least_ohm} to ${KNOWN_most_ohm} ohms
             that a four-wire meter has read, on clips 1 and 2, as warm as the room
The tester keeps each step without power; of its two copies the older one is written over.

  --step NAME        one step: ${STEP_NAMES.join(', ')}
  --resistor OHMS    what the meter says; with --within the resistor is read at once, with nothing asked
  --within OHMS      by how much that may be wrong, either way: the meter's limits and the resistor's
  --tester SERIAL    which of several testers
  --twin board|chip  rehearse on a simulated tester, with what belongs there on its clips
  --seed N           decides the errors of the simulated tester; drawn when left out
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

/** `tapstone calibrate`. @param args - after the word `calibrate` */
export async function calibrateCommand(args: readonly string[]): Promise<ExitCode> {
  const command = 'tapstone calibrate';
  const { options, operands, wantsHelp } = parseArguments(command, args, CALIBRATE_OPTIONS);
  if (wantsHelp) {
    await writeOut(CALIBRATE_HELP);
    return EXIT.done;
  }
  if (operands[0] !== undefined) {
    throw new UserError(`${command}: ${printable(operands[0], 60)} is not expected; write --step ${printable(operands[0], 60)}`, EXIT.usage);
  }
  const step = stepName(options.get('--step'));
  const [ohm, limit] = [options.get('--resistor'), options.get('--within')];
  const known = ohm === undefined && limit === undefined ? undefined : knownResistor(ohm, limit, OPTION_NAMES);
  if (known !== undefined && step !== undefined && step !== 'resistor') {
    throw new UserError(`${command}: --resistor is not expected with --step ${step}; expected with --step resistor, or alone`, EXIT.usage);
  }
  const value = options.get('--twin');
  const seed = seedNumber(command, options.get('--seed'));
  const twin = value === undefined ? undefined : { kind: twinKind(command, value), seed: seed ?? freshSeed() };
  return calibrate({
    step: known === undefined ? step : 'resistor', known, unasked: known !== undefined, tester: options.get('--tester') as string | undefined, twin,
    understand: {
      ohm: (typed) => knownOhm(typed || undefined, 'the meter\'s value'),
      within: (typed) => knownWithin(typed || undefined, 'its limit'),
    },
  });
}

function stepName(value: string | true | undefined): StepName | undefined {
  if (value === undefined) return undefined;
  const found = STEP_NAMES.find((name) => name === value);
  if (found !== undefined) return found;
  throw new UserError(`tapstone calibrate: --step ${printable(String(value), 60)} is not known; expected one of ${STEP_NAMES.join(', ')}`, EXIT.usage);
}

const OPTION_NAMES = ['tapstone calibrate: --resistor', 'tapstone calibrate: --within'] as const;

/** @param names - of the two, as they are told */
function knownResistor(ohm: string | true | undefined, within: string | true | undefined, names: readonly [string, string]): KnownResistor {
  return { ohm: knownOhm(ohm, names[0]), within_ohm: knownWithin(within, names[1]) };
}

function knownOhm(value: string | true | undefined, name: string): number {
  return ohms(value, name, KNOWN_least_ohm, KNOWN_most_ohm);
}

function knownWithin(value: string | true | undefined, name: string): number {
  return ohms(value, name, 0, KNOWN_most_ohm / 1000);
}

function ohms(value: string | true | undefined, name: string, least: number, most: number): number {
  const expected = `expected ohms, ${least} to ${most}`;
  if (value === undefined) throw new UserError(`${name} is missing; ${expected}`, EXIT.usage);
  const found = /^\d{1,6}(?:\.\d{1,9})?$/.test(String(value)) ? Number(value) : NaN;
  if (!(found >= least && found <= most)) {
    throw new UserError(`${name} ${printable(String(value), 60)} is not understood; ${expected}`, EXIT.usage);
  }
  return found;
}
