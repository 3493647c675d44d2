/** The option `--seed`, the same wherever a virtual bench is run. */
import { printable } from '../text/printable.ts';
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';
import type { OptionSpec } from './options.ts';

export const SEED_OPTION: OptionSpec = { name: '--seed', value: 'N' };

/**
 * A seed as the user wrote it: decimal, or 0x and hexadecimal.
 * @param command - for the message, such as `tapstone rehearse` @param value - as parsed
 * @returns 0 to 2^32 - 1; undefined when none was given
 * @throws UserError (64) when it is no such number
 */
export function seedNumber(command: string, value: string | true | undefined): number | undefined {
  if (value === undefined) return undefined;
  const text = String(value);
  const seed = /^(?:\d{1,10}|0x[0-9a-fA-F]{1,8})$/.test(text) ? Number(text) : NaN;
  if (!(seed < 2 ** 32)) {
    throw new UserError(`${command}: --seed ${printable(text, 60)} is not a seed; expected a whole number, 0 to ${2 ** 32 - 1}`, EXIT.usage);
  }
  return seed;
}
