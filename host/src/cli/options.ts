/** The command line taken apart: options, operands, and what to say when one is not known. */
import { editDistance } from '../files/edit-distance.ts';
import { printable } from '../files/printable.ts';
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';

/** An option of a command: a switch, or one that takes a value. */
export interface OptionSpec {
  /** With its dashes: `--json`. */
  readonly name: string;
  /** What the value is called in the help; left out for a switch. */
  readonly value?: string;
  /** It may be given several times. */
  readonly repeats?: true;
}

/** What stood on the command line. */
export interface Parsed {
  readonly options: ReadonlyMap<string, string | true>;
  /** Values of the options that may be given several times. */
  readonly lists: ReadonlyMap<string, readonly string[]>;
  readonly operands: readonly string[];
  readonly wantsHelp: boolean;
}

/** Takes the arguments of a command apart (POSIX XBD 12.2: `--` ends the options, `-` is an operand).
 * @param command - for messages, such as `tapstone solve`
 * @throws UserError (64) naming what is not understood and the nearest that is
 */
export function parseArguments(
  command: string,
  args: readonly string[],
  specs: readonly OptionSpec[],
): Parsed {
  const options = new Map<string, string | true>();
  const lists = new Map<string, string[]>();
  const operands: string[] = [];
  const ending = args.indexOf('--');
  const before = ending < 0 ? args : args.slice(0, ending);
  // Whoever asks for help gets it, whatever else is wrong.
  const wantsHelp = before.some((arg) => arg === '-h' || arg === '--help');
  if (wantsHelp) return { options, lists, operands, wantsHelp };
  for (let at = 0; at < before.length; at++) {
    const arg = before[at] as string;
    if (arg === '-' || !arg.startsWith('-')) {
      operands.push(arg);
      continue;
    }
    const equals = arg.indexOf('=');
    const name = equals < 0 ? arg : arg.slice(0, equals);
    const spec = specs.find((one) => one.name === name);
    if (spec === undefined) throw new UserError(unknownOption(command, name, specs), EXIT.usage);
    if (options.has(name))
      throw new UserError(`${command}: ${name} is given twice; expected once`, EXIT.usage);
    if (spec.value === undefined) {
      if (equals >= 0)
        throw new UserError(`${command}: ${name} takes no value; write ${name} alone`, EXIT.usage);
      options.set(name, true);
      continue;
    }
    const value = equals < 0 ? before[++at] : arg.slice(equals + 1);
    if (value === undefined || value === '') {
      throw new UserError(
        `${command}: ${name} needs a value; write ${name} ${spec.value}`,
        EXIT.usage,
      );
    }
    if (spec.repeats === true) lists.set(name, [...(lists.get(name) ?? []), value]);
    else options.set(name, value);
  }
  if (ending >= 0) operands.push(...args.slice(ending + 1));
  return { options, lists, operands, wantsHelp };
}

function unknownOption(command: string, name: string, specs: readonly OptionSpec[]): string {
  // A file whose name begins with a dash: shells complete it so.
  if (name.includes('.')) return `${command}: option ${printable(name, 60)} is not known; a file of this name is written ./${printable(name, 60)}`;
  const known = [...specs.map((spec) => spec.name), '--help'];
  return `${command}: option ${printable(name, 60)} is not known; ${offer(name, known)}`;
}

/** `did you mean X?`, or the whole list when nothing is near. */
export function offer(given: string, known: readonly string[]): string {
  const nearest = nearestOf(given, known);
  return nearest === null ? `expected one of ${known.join(', ')}` : `did you mean ${nearest}?`;
}

/** The nearest of some words, or null when all are farther than half of it. */
export function nearestOf(given: string, known: readonly string[]): string | null {
  let best: string | null = null;
  let least = Infinity;
  for (const word of known) {
    const distance = editDistance(given.slice(0, 40), word);
    if (distance < least) [best, least] = [word, distance];
  }
  const letters = best?.replace(/^-+/, '').length ?? 0;
  return least <= Math.max(1, Math.floor(letters / 2)) ? best : null;
}
