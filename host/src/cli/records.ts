/** `tapstone records`: the tests that the bench screen kept. */
import { join } from 'node:path';
import { writeOut } from '../edge/environment.ts';
import { isThere } from '../edge/files.ts';
import { dataFolder } from '../edge/folders.ts';
import { jsonLine, printable } from '../text/printable.ts';
import { RECORDS_FILE, RecordStore } from '../records/store.ts';
import { UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { parseArguments, type OptionSpec } from './options.ts';

const OPTIONS: readonly OptionSpec[] = [{ name: '--json' }];

export const RECORDS_HELP = `Usage: tapstone records [NUMBER] [--json]

  tapstone records                     the tests that the bench screen kept, the newest first
  tapstone records 12 > old.bench.json the bench record of one of them, to solve again or to pass on

  --json   the list as one line of JSON for each test
`;

/** `tapstone records`. @param args - after the word `records` */
export async function recordsCommand(args: readonly string[]): Promise<ExitCode> {
  const { options, operands, wantsHelp } = parseArguments('tapstone records', args, OPTIONS);
  if (wantsHelp) {
    await writeOut(RECORDS_HELP);
    return EXIT.done;
  }
  const [number, more] = operands;
  if (more !== undefined || (number !== undefined && !/^[1-9]\d{0,8}$/.test(number))) {
    throw new UserError(`tapstone records: ${printable(more ?? number, 60)} is not expected; expected the number of one test`, EXIT.usage);
  }
  const path = join(dataFolder(), RECORDS_FILE);
  const store = (await isThere(path)) ? new RecordStore(path, 'look') : null;
  try {
    if (number !== undefined) await writeRecord(store, number);
    else await writeList(store, options.has('--json'));
    return EXIT.done;
  } finally {
    store?.close();
  }
}

async function writeRecord(store: RecordStore | null, number: string): Promise<void> {
  const record = store?.record(Number(number)) ?? null;
  if (record === null) throw new UserError(`tapstone records: there is no test ${number}; "tapstone records" lists them`, EXIT.noInput);
  await writeOut(jsonLine(record));
}

/** Whatever stands in the file reaches a terminal, so its text is made safe, each column. */
async function writeList(store: RecordStore | null, json: boolean): Promise<void> {
  const kept = store?.list() ?? [];
  if (json) {
    for (const test of kept) await writeOut(jsonLine(test));
    return;
  }
  if (kept.length === 0) await writeOut('No test has been kept yet; the bench screen keeps each one that it runs.\n');
  for (const { id, taken, title, verdict } of kept) {
    const columns = [String(id).padStart(5), printable(taken, 20).padEnd(20), printable(verdict, 6).padEnd(6), printable(title, 60)];
    await writeOut(`${columns.join('  ')}\n`);
  }
}
