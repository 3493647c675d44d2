/** `tapstone label`: labels for pickups of the stock, as PDF. */
import { pdfOfPages } from '../drawing/pdf.ts';
import { writeOut } from '../edge/environment.ts';
import { LabelTooSmall } from '../papers/label.ts';
import { A6, LABEL, labelPages, labelsOnA4, labelsOnPages, type LabelSize } from '../papers/label-pages.ts';
import type { TestedPickup } from '../papers/tested-pickup.ts';
import { printable } from '../text/printable.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { parseArguments, type OptionSpec, type Parsed } from './options.ts';
import { PAPER_HELP, PAPER_OPTIONS, paperOut } from './paper-out.ts';
import { withStock } from './stock-access.ts';
import { testedLot, testedPickup } from './tested-pickups.ts';

const COMMAND = 'tapstone label';
const OPTIONS: readonly OptionSpec[] = [
  { name: '--lot', value: 'NAME' }, { name: '--size', value: 'SIZE' }, { name: '--on', value: 'a4' }, ...PAPER_OPTIONS,
];
/** Edges of a label, millimetres. */
const EDGE_least_mm = 10;
const EDGE_most_mm = 300;

export const LABEL_HELP = `Usage: tapstone label NUMBER... --out FILE.pdf|--print [OPTION...]
       tapstone label --lot NAME --out FILE.pdf|--print [OPTION...]

  tapstone label 0012 0013 --out labels.pdf            a page of 60 x 30 mm for each, for a label printer
  tapstone label --lot "box 3" --on a4 --out box.pdf   those of a whole lot on pages of A4, to be cut
  tapstone label 0012 --size a6 --out large.pdf

On each: the number, in letters and as a QR code that a code reader types; ohms (at 20 C where the temperature is
known), henries and pole of each coil; what each lead is, by the code letters of its colour (IEC 60757).

  --lot NAME      the pickups of a lot, in the order in which they came
  --size SIZE     60x30 when left out; a6, or width and height in millimetres, such as 80x40
  --on a4         many on each page
${PAPER_HELP}`;

/** `tapstone label`. @param args - after the word `label` */
export async function labelCommand(args: readonly string[]): Promise<ExitCode> {
  const parsed = parseArguments(COMMAND, args, OPTIONS);
  const { options, operands, wantsHelp } = parsed;
  if (wantsHelp) {
    await writeOut(LABEL_HELP);
    return EXIT.done;
  }
  const lot = options.get('--lot') as string | undefined;
  if ((lot === undefined) === (operands.length === 0))
    throw new UserError(`${COMMAND}: expected either numbers of pickups or --lot NAME`, EXIT.usage);
  const size = labelSize(parsed);
  const isOnA4 = onA4(parsed, size);
  const take = paperOut(COMMAND, parsed);
  const pickups = await withStock('look', async (stock) => {
    if (lot !== undefined) return testedLot(COMMAND, stock, lot);
    const found: TestedPickup[] = [];
    for (const number of operands) found.push(await testedPickup(COMMAND, stock, number));
    return found;
  });
  try {
    const pages = isOnA4 ? labelsOnPages(pickups, size) : labelPages(pickups, size);
    await take(await pdfOfPages(pickups.length === 1 ? `label ${pickups[0]!.number}` : `${pickups.length} labels`, pages));
  } catch (error) {
    if (!(error instanceof LabelTooSmall)) throw error;
    throw new UserError(`${COMMAND}: ${printable(error.message)} of ${size.width_mm} x ${size.height_mm} mm; expected a larger --size`, EXIT.badContent);
  }
  return EXIT.done;
}

function labelSize({ options }: Parsed): LabelSize {
  const given = options.get('--size') as string | undefined;
  if (given === undefined) return LABEL;
  if (/^a6$/i.test(given)) return A6;
  const [, width, height] = /^(\d{1,3}(?:\.\d+)?)x(\d{1,3}(?:\.\d+)?)$/i.exec(given) ?? [];
  const size = { width_mm: Number(width), height_mm: Number(height) };
  if (![size.width_mm, size.height_mm].every((edge) => edge >= EDGE_least_mm && edge <= EDGE_most_mm)) {
    throw new UserError(
      `${COMMAND}: --size: "${printable(given, 40)}" is no size; expected a6, or width and height of ${EDGE_least_mm} to ${EDGE_most_mm} mm, such as 60x30`,
      EXIT.usage);
  }
  return size;
}

function onA4({ options }: Parsed, size: LabelSize): boolean {
  const given = options.get('--on') as string | undefined;
  if (given === undefined) return false;
  if (!/^a4$/i.test(given)) throw new UserError(`${COMMAND}: --on: "${printable(given, 40)}" is no sheet of labels; expected a4`, EXIT.usage);
  if (labelsOnA4(size).includes(0)) {
    throw new UserError(`${COMMAND}: a label of ${size.width_mm} x ${size.height_mm} mm does not lie on A4, 210 x 297 mm; leave out --on`, EXIT.usage);
  }
  return true;
}
