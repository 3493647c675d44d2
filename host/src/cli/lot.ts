/** `tapstone lot`: lots, and of one of them its counts, its outliers and pictures of its values. */
import { localTime } from '../edge/clock.ts';
import { writeOut } from '../edge/environment.ts';
import { csvLine } from '../text/csv.ts';
import { jsonLine, printable } from '../text/printable.ts';
import { summariseLot, type LotSummary } from '../records/comparing.ts';
import { csvHead, csvRow, textHead, textLine } from '../records/list-text.ts';
import { lotNamed, lots, type Line, type LotLine } from '../records/searching.ts';
import { countsInWords, STATES } from '../records/states.ts';
import { lotLines } from '../shop/lot-lines.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { oneForm, parseArguments, type OptionSpec } from './options.ts';
import { withStock } from './stock-access.ts';

const COMMAND = 'tapstone lot';
const OPTIONS: readonly OptionSpec[] = [{ name: '--json' }, { name: '--csv' }, { name: '--virtual' }];
const COLUMNS = 80;
const LOTS_MOST = 10_000;

export const LOT_HELP = `Usage: tapstone lot [NAME] [--json | --csv] [--virtual]

  tapstone lot            the lots, the newest first
  tapstone lot "box 3"    its counts, its pickups, which of them differ from the others and in what, and pictures of its values

  --json, --csv  one line of JSON each, or a table for a spreadsheet: of the lots, or of the pickups with what each differs in
  --virtual      lots of the virtual bench too
`;

/** `tapstone lot`. @param args - after the word `lot` */
export async function lotCommand(args: readonly string[]): Promise<ExitCode> {
  const parsed = parseArguments(COMMAND, args, OPTIONS);
  const { options, operands, wantsHelp } = parsed;
  if (wantsHelp) {
    await writeOut(LOT_HELP);
    return EXIT.done;
  }
  const [name, more] = operands;
  if (more !== undefined) throw new UserError(`${COMMAND}: ${printable(more, 60)} is not expected; expected the name of one lot`, EXIT.usage);
  oneForm(COMMAND, parsed);
  const [json, csv] = [options.has('--json'), options.has('--csv')];
  return withStock('look', async (stock) => {
    if (name === undefined) {
      const found = stock === null ? [] : await stock.do(lots(options.has('--virtual'), LOTS_MOST));
      if (csv) await writeOut(csvLine([...LOT_COLUMNS, ...STATES, 'doubtful']));
      else if (found.length === 0 && !json) await writeOut('No lot has been kept yet.\n');
      for (const lot of found) await writeOut(json ? jsonLine(lotFields(lot)) : csv ? lotCsv(lot) : lotText(lot));
      return EXIT.done;
    }
    const lot = stock === null ? null : await stock.do(lotNamed(name));
    if (lot === null) throw new UserError(`${COMMAND}: there is no lot "${printable(name, 60)}"; "${COMMAND}" lists them`, EXIT.noInput);
    const summary = await summariseLot(stock!, lot.name);
    if (csv) await writeOut(summaryCsv(summary));
    else if (json) await writeOut(jsonLine({ ...lotFields(lot), ...summary.report }));
    else await writeOut(summaryText(lot, summary));
    return EXIT.done;
  });
}

function lotFields({ name, size, isVirtual, opened, standsAt, tested, states, doubtful }: LotLine) {
  return { name, size, virtual: isVirtual, opened, stands_at: standsAt + 1, tested, states, doubtful };
}

const LOT_COLUMNS = ['name', 'size', 'virtual', 'opened', 'stands_at', 'tested'] as const;

/** A row of the table of lots: how many there are, how many of each state, and of how many good ones something is still to be minded. */
function lotCsv(lot: LotLine): string {
  const fields = lotFields(lot);
  return csvLine([...LOT_COLUMNS.map((name) => fields[name]), ...STATES.map((state) => lot.states[state] ?? 0), lot.doubtful]);
}

function countWords({ size, tested, states, doubtful }: LotLine): string {
  const counts = countsInWords(Object.entries(states), doubtful);
  return [`${tested}${size > 0 ? ` of ${size}` : ''} tested`, counts].filter((part) => part !== '').join(', ');
}

function lotText(lot: LotLine): string {
  const name = lot.name === '' ? '(without a name)' : lot.name;
  return `${printable(localTime(lot.opened))}  ${printable(name, 40)}${lot.isVirtual ? ' (virtual bench)' : ''}: ${printable(countWords(lot))}\n`;
}

/** The pickups as a table, with what each of them differs in from the others. */
function summaryCsv({ lines, report: { outliers } }: LotSummary): string {
  const differs = (line: Line): string => outliers.filter(({ number }) => number === line.number).map(({ text }) => text).join('; ');
  return csvHead(['differs']) + lines.map((line) => csvRow(line, localTime, [differs(line)])).join('');
}

function summaryText(lot: LotLine, summary: LotSummary): string {
  const { lines } = summary;
  const parts = [lotText(lot), textHead('stock') + lines.map((line) => textLine('stock', line, localTime)).join('')];
  return [...parts, `${lotLines(summary, COLUMNS).join('\n')}\n`].join('\n');
}
