/** `tapstone records`: the tests that the bench screen kept. */
import { join } from 'node:path';
import { writeOut } from '../edge/environment.ts';
import { dataFolder } from '../edge/folders.ts';
import { printable } from '../files/printable.ts';
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
  const store = new RecordStore(join(dataFolder(), RECORDS_FILE));
  try {
    if (number !== undefined) {
      const record = store.record(Number(number));
      if (record === null) throw new UserError(`tapstone records: there is no test ${number}; "tapstone records" lists them`, EXIT.noInput);
      await writeOut(`${record}\n`);
      return EXIT.done;
    }
    const kept = store.list();
    if (options.has('--json')) {
      for (const test of kept) await writeOut(`${JSON.stringify(test)}\n`);
    } else if (kept.length === 0) {
      await writeOut('No test has been kept yet; the bench screen keeps each one that it runs.\n');
    } else {
      for (const { id, taken, title, verdict } of kept) {
        await writeOut(`${String(id).padStart(5)}  ${taken.padEnd(20)}  ${verdict.padEnd(6)}  ${printable(title, 60)}\n`);
      }
    }
    return EXIT.done;
  } finally {
    store.close();
  }
}
