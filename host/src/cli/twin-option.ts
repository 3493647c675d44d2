/** The option `--twin`, the same wherever a virtual bench is run. */
import { TWINS, type TwinKind } from '../bench/twins.ts';
import { offer } from '../text/offer.ts';
import { printable } from '../text/printable.ts';
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';
import { type OptionSpec } from './options.ts';

export const TWIN_OPTION: OptionSpec = { name: '--twin', value: 'board|chip' };

/**
 * @param command - for the message, such as `tapstone rehearse` @param value - as parsed
 * @throws UserError (64) when it is neither
 */
export function twinKind(command: string, value: string | true | undefined): TwinKind {
  if (value === undefined) return 'board';
  const twin = TWINS.find((one) => one === value);
  if (twin === undefined) {
    throw new UserError(`${command}: --twin ${printable(String(value), 60)} is not known; ${offer(String(value), TWINS)}`, EXIT.usage);
  }
  return twin;
}
