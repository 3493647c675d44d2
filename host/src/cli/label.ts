/** `tapstone label`: labels for pickups of the stock, as PDF. */
import { pdfOfPages } from '../drawing/pdf.ts';
import { localTime } from '../edge/clock.ts';
import { writeOut } from '../edge/environment.ts';
import { LabelTooSmall } from '../papers/label.ts';
import { labelPages, labelsOnPages } from '../papers/label-pages.ts';
import { labelsOnA4, readLabelSize, SIZE_EXPECTED, type LabelSize } from '../papers/label-size.ts';
import type { TestedPickup } from '../papers/tested-pickup.ts';
import { testedLot, testedPickup } from '../shop/tested-pickups.ts';
import { printable } from '../text/printable.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { parseArguments, type OptionSpec, type Parsed } from './options.ts';
import { PAPER_HELP, PAPER_OPTIONS, paperOut } from './paper-out.ts';
import { withStock } from './stock-access.ts';
import { ofStock } from './of-stock.ts';
import { settingsOrRefuse } from './settings-access.ts';

const COMMAND = 'tapstone label';
const OPTIONS: readonly OptionSpec[] = [
  { name: '--lot', value: 'NAME' }, { name: '--size', value: 'SIZE' }, { name: '--on', value: 'a4' }, { name: '--skip', value: 'N' },
  ...PAPER_OPTIONS,
];

export const LABEL_HELP = `Usage: tapstone label NUMBER... --out FILE.pdf|--print [OPTION...]
       tapstone label --lot NAME --out FILE.pdf|--print [OPTION...]

  tapstone label 0012 0013 --out labels.pdf            a page of 60 x 30 mm for each, for a label printer
  tapstone label --lot "box 3" --on a4 --out box.pdf   those of a whole lot on pages of A4, to be cut
  tapstone label 0012 --size a6 --out large.pdf

On each: the number, in letters and as a QR code that a code reader types; ohms (at 20 C where the temperature is
known), henries and pole of each coil; what each lead is, by the code letters of its colour (IEC 60757).

  --lot NAME      the pickups of a lot, in the order in which they came
  --size SIZE     that of the settings (60x30) when left out; a6, or width and height in millimetres, such as 80x40
  --on a4         many on each page
  --skip N        of the first page N labels are used already; they are counted row by row
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
  const settings = await settingsOrRefuse(COMMAND);
  const size = labelSize(parsed, settings.label);
  const isOnA4 = onA4(parsed, size);
  const skip = skipped(parsed, isOnA4, size);
  const take = paperOut(COMMAND, parsed, settings.printer);
  const pickups = await withStock('look', async (stock) => {
    if (lot !== undefined) return ofStock(COMMAND, () => testedLot(stock, lot, localTime));
    const found: TestedPickup[] = [];
    for (const number of operands) found.push(await ofStock(COMMAND, () => testedPickup(stock, number, localTime)));
    return found;
  });
  try {
    const pages = isOnA4 ? labelsOnPages(pickups, size, skip) : labelPages(pickups, size);
    await take(await pdfOfPages(pickups.length === 1 ? `label ${pickups[0]!.number}` : `${pickups.length} labels`, pages));
  } catch (error) {
    if (!(error instanceof LabelTooSmall)) throw error;
    throw new UserError(`${COMMAND}: ${printable(error.message)} of ${size.width_mm} x ${size.height_mm} mm; expected a larger --size`, EXIT.badContent);
  }
  return EXIT.done;
}

function labelSize({ options }: Parsed, usual: LabelSize): LabelSize {
  const given = options.get('--size') as string | undefined;
  const size = given === undefined ? usual : readLabelSize(given);
  if (size === null) throw new UserError(`${COMMAND}: --size: "${printable(given!, 40)}" is no size; expected ${SIZE_EXPECTED}`, EXIT.usage);
  return size;
}

/** Places of the first page that are used already. */
function skipped({ options }: Parsed, isOnA4: boolean, size: LabelSize): number {
  const given = options.get('--skip') as string | undefined;
  if (given === undefined) return 0;
  if (!isOnA4) throw new UserError(`${COMMAND}: --skip counts labels of a page of A4; write --on a4 as well`, EXIT.usage);
  const [columns, rows] = labelsOnA4(size);
  if (!/^\d{1,4}$/.test(given) || Number(given) >= columns * rows) {
    throw new UserError(
      `${COMMAND}: --skip: "${printable(given, 40)}" is not how many of ${columns} x ${rows} labels are used; expected 0 to ${columns * rows - 1}`, EXIT.usage);
  }
  return Number(given);
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
