/** `tapstone listing`: the text of an offer. */
import { localTime } from '../edge/clock.ts';
import { writeOut } from '../edge/environment.ts';
import { readAtMost } from '../edge/files.ts';
import { listingText, TEMPLATE, TemplateFault } from '../papers/listing.ts';
import { testedPickup } from '../shop/tested-pickups.ts';
import { printable } from '../text/printable.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { parseArguments, type OptionSpec } from './options.ts';
import { ofStock } from './of-stock.ts';
import { withStock } from './stock-access.ts';

const COMMAND = 'tapstone listing';
const OPTIONS: readonly OptionSpec[] = [{ name: '--markdown' }, { name: '--template', value: 'FILE' }, { name: '--show-template' }];
const TEMPLATE_most_bytes = 100_000;

export const LISTING_HELP = `Usage: tapstone listing NUMBER [--markdown] [--template FILE]
       tapstone listing --show-template [--markdown]

  tapstone listing 0012                              what was measured, with uncertainty, and what was not tested
  tapstone listing 0012 --markdown > 0012.md
  tapstone listing --show-template > ours.txt        to be changed in any editor, and then
  tapstone listing 0012 --template ours.txt

  --markdown       for pages that read Markdown; whatever stands in a title or a number is shown letter by letter
  --template FILE  a text of the shop's own with these fields where they belong: {number}, {title}, {lot}, {date},
                   {tester}, {standing}, {measured}, {found}, {leads}, {not_tested}
  --show-template  print the one that is used without it
`;

/** `tapstone listing`. @param args - after the word `listing` */
export async function listingCommand(args: readonly string[]): Promise<ExitCode> {
  const { options, operands, wantsHelp } = parseArguments(COMMAND, args, OPTIONS);
  if (wantsHelp) {
    await writeOut(LISTING_HELP);
    return EXIT.done;
  }
  const isMarkdown = options.has('--markdown');
  const own = isMarkdown ? TEMPLATE.markdown : TEMPLATE.plain;
  const [number, more] = operands;
  if (options.has('--show-template')) {
    if (number !== undefined || options.has('--template'))
      throw new UserError(`${COMMAND}: --show-template takes neither a number nor a template; write it alone, or with --markdown`, EXIT.usage);
    await writeOut(own);
    return EXIT.done;
  }
  if (number === undefined || more !== undefined)
    throw new UserError(`${COMMAND}: ${operands.length} numbers stand behind it; expected the number of one pickup`, EXIT.usage);
  const path = options.get('--template') as string | undefined;
  const template = path === undefined ? own : await readTemplate(path);
  const pickup = await withStock('look', (stock) => ofStock(COMMAND, () => testedPickup(stock, number, localTime)));
  const { test } = pickup;
  if (test === null) throw new UserError(`${COMMAND}: ${printable(number, 60)} has no whole test to tell of; test it first`, EXIT.badContent);
  try {
    await writeOut(listingText({ ...pickup, test }, isMarkdown, template));
  } catch (error) {
    if (!(error instanceof TemplateFault)) throw error;
    throw new UserError(`${printable(path!)}: ${error.message}`, EXIT.badContent);
  }
  return EXIT.done;
}

async function readTemplate(path: string): Promise<string> {
  const bytes = await readAtMost(path, TEMPLATE_most_bytes);
  const refuse = (what: string): never => {
    throw new UserError(`${printable(path)}: ${what}`, EXIT.badContent);
  };
  if (bytes === null) return refuse(`longer than ${TEMPLATE_most_bytes} bytes; expected a template such as --show-template prints`);
  let text = '';
  try {
    text = new TextDecoder('utf-8', { fatal: true }).decode(bytes).replaceAll('\r\n', '\n');
  } catch {
    return refuse('not a text in UTF-8; expected a template such as --show-template prints');
  }
  if (/[^\P{Cc}\n\t]/u.test(text)) return refuse('holds control characters; expected a text');
  return text.endsWith('\n') ? text : `${text}\n`;
}
