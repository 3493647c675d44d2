/** `tapstone records follow`: each test as it is kept, by whichever bench. */
import { localTime } from '../edge/clock.ts';
import { writeOut } from '../edge/environment.ts';
import { csvHead, csvRow, jsonRow, textHead, textLine } from '../records/list-text.ts';
import { search, type Filter, type Line } from '../records/searching.ts';
import type { Stock } from '../records/work.ts';
import type { ExitCode } from './exit-codes.ts';
import { oneForm, parseArguments, withoutOperand } from './options.ts';
import { FILTER_OPTIONS, readFilter } from './record-filter.ts';
import { watchStock, withStock } from './stock-access.ts';

const COMMAND = 'tapstone records follow';
/** Newest tests that are looked at when something has changed. */
const PAGE = 200;

/** Runs until it is stopped, or the server is lost. @param args - after the word `follow` */
export async function follow(args: readonly string[]): Promise<ExitCode> {
  // It tells each test once, however many there will be.
  const parsed = withoutOperand(parseArguments(COMMAND, args, FILTER_OPTIONS.filter(({ name }) => name !== '--most')), COMMAND);
  oneForm(COMMAND, parsed);
  const filter = readFilter(COMMAND, parsed);
  const [json, csv] = [parsed.options.has('--json'), parsed.options.has('--csv')];
  const line = (one: Line): string =>
    json ? jsonRow(one, localTime) : csv ? csvRow(one, localTime) : textLine('tests', one, localTime);
  return withStock('keep', async (stock) => {
    let newest = (await stock.do(search('tests', filter, 1)))[0]?.test ?? 0;
    let end: (() => Promise<void>) | null = null;
    const lost = new Promise<ExitCode>((_, reject) => {
      let telling: Promise<void> = writeOut(json ? '' : csv ? csvHead() : textHead('tests'));
      const tell = async (): Promise<void> => {
        const fresh = await newTests(stock, filter, newest);
        if (fresh.length > 0) newest = fresh.at(-1)!.test!;
        await writeOut(fresh.map(line).join(''));
      };
      const changed = (): void => void (telling = telling.then(tell).catch(reject));
      // What was kept between the first look and the watch is told at once.
      void watchStock(stock, changed, reject).then((ended) => { end = ended; changed(); }, reject);
    });
    return lost.finally(() => end?.());
  });
}

/** Tests behind one, the oldest first. */
async function newTests(stock: Stock, filter: Filter, newest: number): Promise<Line[]> {
  const page = await stock.do(search('tests', filter, PAGE));
  return page.filter(({ test }) => test !== null && test > newest).reverse();
}
