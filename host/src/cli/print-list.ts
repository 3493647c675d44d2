/** Prints a list of the stock, page by page, so that a long one needs no more memory than a short one. */
import { localTime } from '../edge/clock.ts';
import { writeError, writeOut } from '../edge/environment.ts';
import { csvHead, csvRow, jsonRow, textHead, textLine } from '../records/list-text.ts';
import { countOf, pageEnd, search, type Filter, type Line, type Sort } from '../records/searching.ts';
import type { Stock } from '../records/work.ts';
import { readFilter, readMost } from './record-filter.ts';
import { oneForm, type Parsed } from './options.ts';

/** Lines that are asked for at a time. */
const PAGE = 500;

/** @param command - for messages @param stock - null when nothing was ever kept @param empty - what is said where nothing is found */
export async function printList(command: string, stock: Stock | null, sort: Sort, parsed: Parsed, empty: string): Promise<void> {
  const filter = readFilter(command, parsed);
  const most = readMost(command, parsed);
  const [json, csv] = [parsed.options.has('--json'), parsed.options.has('--csv')];
  oneForm(command, parsed);
  const line = (one: Line): string =>
    json ? jsonRow(one, localTime) : csv ? csvRow(one, localTime) : textLine(sort, one, localTime);
  if (csv) await writeOut(csvHead());
  let printed = 0;
  if (stock !== null) {
    for await (const page of pages(stock, sort, filter, most)) {
      if (printed === 0 && !json && !csv) await writeOut(textHead(sort));
      await writeOut(page.map(line).join(''));
      printed += page.length;
    }
  }
  if (printed === 0 && !json && !csv) await writeOut(`${await whyEmpty(stock, sort, filter, empty)}\n`);
  if (stock !== null && most !== null && printed === most) {
    const all = await stock.do(countOf(sort, filter));
    if (all > printed) await writeError(`the newest ${printed} of ${all}\n`);
  }
}

async function* pages(stock: Stock, sort: Sort, filter: Filter, most: number | null): AsyncGenerator<Line[]> {
  let left = most ?? Infinity;
  let below: number | null = null;
  while (left > 0) {
    const page: Line[] = await stock.do(search(sort, filter, Math.min(PAGE, left), below));
    if (page.length === 0) return;
    yield page;
    left -= page.length;
    below = pageEnd(sort, page[page.length - 1]!);
  }
}

async function whyEmpty(stock: Stock | null, sort: Sort, filter: Filter, empty: string): Promise<string> {
  if (stock === null) return empty;
  if (Object.keys(filter).length > 0) return 'Nothing like that is there.';
  const virtual = await stock.do(countOf(sort, { withVirtual: true }));
  return virtual === 0 ? empty : `Only tests on the virtual bench are there (${virtual}); --virtual lists them.`;
}
