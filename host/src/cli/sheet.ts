/** `tapstone sheet`: everything of one pickup on A4, as PDF. */
import { pdfOf } from '../drawing/pdf.ts';
import { localTime } from '../edge/clock.ts';
import { writeOut } from '../edge/environment.ts';
import { testedSheet } from '../papers/sheet.ts';
import { testedPickup } from '../shop/tested-pickups.ts';
import { printable } from '../text/printable.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { parseArguments } from './options.ts';
import { PAPER_HELP, PAPER_OPTIONS, paperOut } from './paper-out.ts';
import { ofStock } from './of-stock.ts';
import { settingsOrRefuse } from './settings-access.ts';
import { withStock } from './stock-access.ts';

const COMMAND = 'tapstone sheet';

export const SHEET_HELP = `Usage: tapstone sheet NUMBER --out FILE.pdf|--print

  tapstone sheet 0012 --out 0012.pdf   pages of A4 to keep or to hand over with the pickup

On it: what was measured, with uncertainty, and what was not tested; every lead and every pair of leads; the touches as
they were heard; a drawing of each way of wiring; date, tester, and the module that solved it.

${PAPER_HELP}`;

/** `tapstone sheet`. @param args - after the word `sheet` */
export async function sheetCommand(args: readonly string[]): Promise<ExitCode> {
  const parsed = parseArguments(COMMAND, args, PAPER_OPTIONS);
  const { operands: [number, more], wantsHelp } = parsed;
  if (wantsHelp) {
    await writeOut(SHEET_HELP);
    return EXIT.done;
  }
  if (number === undefined || more !== undefined)
    throw new UserError(`${COMMAND}: ${parsed.operands.length} numbers stand behind it; expected the number of one pickup`, EXIT.usage);
  const take = paperOut(COMMAND, parsed, (await settingsOrRefuse(COMMAND)).printer);
  const pickup = await withStock('look', (stock) => ofStock(COMMAND, () => testedPickup(stock, number, localTime)));
  const { test } = pickup;
  if (test === null) throw new UserError(`${COMMAND}: ${printable(number, 60)} has no whole test to tell of; test it first`, EXIT.badContent);
  await take(await pdfOf(testedSheet({ ...pickup, test })));
  return EXIT.done;
}
