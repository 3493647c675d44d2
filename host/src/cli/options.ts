/** The command line taken apart: options, operands, and what to say when one is not known. */
import { parseArgs } from 'node:util';
import { offer } from '../text/offer.ts';
import { printable } from '../text/printable.ts';
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

/** Asks for every way of wiring a pickup. */
export const ALL_WAYS = '--all-ways';

const HELP_OPTIONS: readonly string[] = ['-h', '--help'];

/** What stood on the command line. */
export interface Parsed {
  readonly options: ReadonlyMap<string, string | true>;
  /** Values of the options that may be given several times. */
  readonly lists: ReadonlyMap<string, readonly string[]>;
  readonly operands: readonly string[];
  readonly wantsHelp: boolean;
}

/** Takes the arguments of a command apart (Node's `util.parseArgs`; POSIX XBD 12.2: `--` ends the options, `-` is an operand).
 * @param command - for messages, such as `tapstone solve`
 * @throws UserError (64) naming what is not understood and the nearest that is
 */
export function parseArguments(
  command: string,
  args: readonly string[],
  specs: readonly OptionSpec[],
): Parsed {
  const known = new Map(specs.map((spec) => [spec.name, spec]));
  const { tokens } = parseArgs({
    args: [...args],
    options: Object.fromEntries(specs.map(({ name, value }) => [name.slice(2), { type: value === undefined ? 'boolean' : 'string' }])),
    allowPositionals: true,
    strict: false,
    tokens: true,
  });
  const options = new Map<string, string | true>();
  const lists = new Map<string, string[]>();
  const operands: string[] = [];
  const refuse = (sentence: string): never => {
    throw new UserError(`${command}: ${sentence}`, EXIT.usage);
  };
  // Whoever asks for help gets it, whatever else is wrong.
  const ending = tokens.find(({ kind }) => kind === 'option-terminator')?.index ?? args.length;
  const wantsHelp = args.slice(0, ending).some((arg) => HELP_OPTIONS.includes(arg));
  if (wantsHelp) return { options, lists, operands, wantsHelp };
  for (const token of tokens) {
    if (token.kind === 'positional') operands.push(token.value);
    if (token.kind !== 'option') continue;
    const spec = known.get(token.rawName);
    // As it was typed: one dash and several letters are told as one word.
    if (spec === undefined) return refuse(unknownOption(args[token.index]!.split('=', 1)[0]!, specs));
    const { name, value, repeats } = spec;
    if (options.has(name)) refuse(`${name} is given twice; expected once`);
    if (value === undefined) {
      if (token.inlineValue === true) refuse(`${name} takes no value; write ${name} alone`);
      options.set(name, true);
    } else if (!token.value) refuse(`${name} needs a value; write ${name} ${value}`);
    else if (repeats === true) lists.set(name, [...(lists.get(name) ?? []), token.value]);
    else options.set(name, token.value);
  }
  return { options, lists, operands, wantsHelp };
}

/** @param command - which takes no operand @throws UserError (64) when there is one */
export function withoutOperand(parsed: Parsed, command: string): Parsed {
  const [operand] = parsed.operands;
  if (operand === undefined) return parsed;
  throw new UserError(`${command}: ${operand === '' ? '""' : printable(operand, 60)} is not expected here; expected options only`, EXIT.usage);
}

/** Refuses options of a command that say nothing to the part of it that is asked for.
 * @param part - as it is written, such as `tapstone stock NUMBER` @param known - that it takes
 * @throws UserError (64)
 */
export function onlyOptions({ options }: Parsed, part: string, known: readonly string[]): void {
  const foreign = [...options.keys()].find((name) => !known.includes(name));
  if (foreign === undefined) return;
  throw new UserError(`${part}: ${foreign} is for lists; expected ${known.length === 0 ? 'no option' : `${known.join(', ')} or no option`}`, EXIT.usage);
}

/** @throws UserError (64) when a list is wanted in two forms */
export function oneForm(command: string, { options }: Parsed): void {
  if (options.has('--json') && options.has('--csv'))
    throw new UserError(`${command}: --json and --csv exclude each other; expected one of them`, EXIT.usage);
}

function unknownOption(name: string, specs: readonly OptionSpec[]): string {
  const shown = printable(name, 60);
  // A file whose name begins with a dash: shells complete it so.
  if (name.includes('.')) return `option ${shown} is not known; a file of this name is written ./${shown}`;
  return `option ${shown} is not known; ${offer(name, [...specs.map((spec) => spec.name), '--help'])}`;
}
