/** `tapstone records`: the tests that were kept, and what is done with all of them at once. */
import { writeOut } from '../edge/environment.ts';
import { jsonLine, printable } from '../text/printable.ts';
import { StoreProblem } from '../records/problem.ts';
import { evidenceOf } from '../records/searching.ts';
import type { Stock } from '../records/work.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { onlyOptions, parseArguments } from './options.ts';
import { printList } from './print-list.ts';
import { FILTER_HELP, FILTER_OPTIONS } from './record-filter.ts';
import { recordsPath, withStock } from './stock-access.ts';
import { WHOLE_STOCK, WHOLE_STOCK_HELP } from './whole-stock.ts';

const COMMAND = 'tapstone records';

export const RECORDS_HELP = `Usage: tapstone records [TEST] [OPTION...]

  tapstone records                     the tests that were kept, the newest first
  tapstone records 12 > old.bench.json the bench record of one of them, to solve again or to pass on
  tapstone records --lot "box 3" --csv the tests of one lot, as a table

${FILTER_HELP}`;

/** `tapstone records`. @param args - after the word `records` */
export async function recordsCommand(args: readonly string[]): Promise<ExitCode> {
  const whole = args[0] === undefined || args.includes('--help') || args.includes('-h') ? undefined : WHOLE_STOCK.get(args[0]);
  if (whole !== undefined) return whole(args.slice(1));
  const parsed = parseArguments(COMMAND, args, FILTER_OPTIONS);
  if (parsed.wantsHelp) {
    await writeOut(RECORDS_HELP + WHOLE_STOCK_HELP);
    return EXIT.done;
  }
  const [number, more] = parsed.operands;
  if (more !== undefined || (number !== undefined && !/^[1-9]\d{0,8}$/.test(number))) {
    throw new UserError(`${COMMAND}: ${printable(more ?? number, 60)} is not expected; expected the number of one test, or ${[...WHOLE_STOCK.keys()].join(', ')}`, EXIT.usage);
  }
  if (number !== undefined) onlyOptions(parsed, `${COMMAND} ${number}`, ['--json']);
  return withStock('look', async (stock) => {
    if (number !== undefined) await writeRecord(stock, Number(number));
    else await printList(COMMAND, stock, 'tests', parsed, 'No test has been kept yet; the bench screen keeps each one that it runs.');
    return EXIT.done;
  });
}

async function writeRecord(stock: Stock | null, test: number): Promise<void> {
  const found = stock === null ? null : await stock.do(evidenceOf(test));
  if (found === null) throw new UserError(`${COMMAND}: there is no test ${test}; "${COMMAND}" lists them`, EXIT.noInput);
  if ('damaged' in found) {
    throw new StoreProblem(recordsPath(), `test ${test} is damaged: ${found.damaged}; the other tests can still be read`, 'content');
  }
  await writeOut(jsonLine(found.record));
}
