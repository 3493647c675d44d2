/** `tapstone records again | backup | restore | export | import | prepare`: what is done with the whole stock. */
import { join } from 'node:path';
import { timeOfDay } from '../edge/clock.ts';
import { isTerminalOutput, writeError, writeOut } from '../edge/environment.ts';
import { copyBytes, inOwnFolder, isSameFile, isThere, madeWhole } from '../edge/files.ts';
import { madeDataFolder } from '../edge/folders.ts';
import { jsonLine, printable } from '../text/printable.ts';
import { logicModule } from '../logic/module.ts';
import { solvedAgain, type Again } from '../records/again.ts';
import { journalAfter, journalCount, takeEntry } from '../records/journal.ts';
import { evidenceOf, lotNamed, testCount, testsAbove, type NumberedTest } from '../records/searching.ts';
import { StoreProblem } from '../records/problem.ts';
import { OlderFile, RECORDS_FILE, SqliteStock } from '../records/sqlite-stock.ts';
import { entryLine, headLine } from '../records/transfer.ts';
import type { Stock } from '../records/work.ts';
import { shownPath, UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { importFiles } from './import-lines.ts';
import { parseArguments, withoutOperand } from './options.ts';
import { Progress } from './progress.ts';
import { recordSolver } from './solve-kept.ts';
import { follow } from './follow.ts';
import { courierOf, openFile, recordsPath, serverAddress, SERVER_VARIABLE, withStock } from './stock-access.ts';

const COMMAND = 'tapstone records';
/** Entries or tests that are read at a time. */
const PAGE = 20;

export const WHOLE_STOCK_HELP = `
Usage: tapstone records again [--virtual] [--json] | backup FILE | restore FILE | export [--lot NAME] | import FILE...
       tapstone records hand-over | follow [OPTION...] | prepare

  again            solves every test again and says what this program makes otherwise than the one that tested
  backup FILE      a copy of this computer's records, while benches go on
  restore FILE     takes back from such a copy all that is not here; nothing that is here is lost
  export > FILE    everything, or one lot, as JSON lines, to take to another computer
  import FILE...   such a file, or bench records, each once, however often it is imported
  hand-over        takes what this bench kept while the server was away over to it; the bench screen does so by itself
  follow           tells each test as it is kept, on this computer or by any bench of the server, until Ctrl-C
  prepare          makes the tables on the server that ${SERVER_VARIABLE} names, once, as its owner; the role of
                   a bench needs USAGE on the schema tapstone, and SELECT, INSERT and UPDATE on its tables
`;

type Act = (args: readonly string[]) => Promise<ExitCode>;

/** By the first word behind `records`. */
export const WHOLE_STOCK: ReadonlyMap<string, Act> = new Map<string, Act>(
  Object.entries({ again, backup, restore, export: exportAll, import: importAll, 'hand-over': handOver, follow, prepare }));

function oneFile(name: string, args: readonly string[]): string {
  const { operands } = parseArguments(`${COMMAND} ${name}`, args, []);
  const [file, more] = operands;
  if (file === undefined || more !== undefined)
    throw new UserError(`${COMMAND} ${name}: ${operands.length} files are named; expected ${COMMAND} ${name} FILE`, EXIT.usage);
  return file;
}

async function again(args: readonly string[]): Promise<ExitCode> {
  const { options } = withoutOperand(parseArguments(`${COMMAND} again`, args, [{ name: '--virtual' }, { name: '--json' }]), `${COMMAND} again`);
  const solve = recordSolver();
  const counts = { same: 0, changed: 0, differs: 0, damaged: 0 };
  const progress = new Progress('solved again:');
  await withStock('look', async (stock) => {
    const all = stock === null ? 0 : await stock.do(testCount(options.has('--virtual')));
    for (let after = 0, done = 0; stock !== null;) {
      const tests: NumberedTest[] = await stock.do(testsAbove(after, PAGE, options.has('--virtual')));
      if (tests.length === 0) break;
      for (const { test, number } of tests) {
        progress.step(done += 1, all);
        after = test;
        const kept = await stock.do(evidenceOf(test));
        if (kept === null) continue;
        const answer = solvedAgain(kept, solve, logicModule().sha256);
        counts[answer.kind] += 1;
        if (options.has('--json') || answer.kind !== 'same') progress.hide();
        if (options.has('--json')) await writeOut(jsonLine({ test, number, ...answer }));
        else if (answer.kind !== 'same') await writeOut(`test ${test} (${printable(number ?? 'without a number')}): ${againText(answer)}\n`);
      }
    }
  });
  progress.hide();
  const { same, changed, differs, damaged } = counts;
  if (!options.has('--json')) {
    await writeOut(`${same + changed + differs + damaged} tests solved again: ${same} to the same bytes, ${changed} otherwise by a newer module` +
      `${differs > 0 ? `, ${differs} otherwise by the same module` : ''}${damaged > 0 ? `, ${damaged} damaged` : ''}.\n`);
  }
  return differs + damaged > 0 ? EXIT.badContent : EXIT.done;
}

function againText(answer: Exclude<Again, { kind: 'same' }>): string {
  if (answer.kind === 'damaged') return `cannot be solved again: ${answer.reason}`;
  const changes = printable(answer.changes.join('; '));
  return answer.kind === 'changed' ? changes
    : `the module that tested it makes otherwise of it now (${changes}); the file was changed, or this is a fault of the program`;
}

async function backup(args: readonly string[]): Promise<ExitCode> {
  const target = oneFile('backup', args);
  const stock = await openFile('look');
  if (stock === null) throw new UserError(`${COMMAND} backup: no test has been kept yet, so there is nothing to copy`, EXIT.noInput);
  try {
    if (await isSameFile(target, recordsPath()))
      throw new UserError(`${COMMAND} backup: ${printable(target)} is the file of the records itself; name another`, EXIT.usage);
    await copied(stock, target);
  } finally {
    stock.close();
  }
  return EXIT.done;
}

/** Files in which SQLite keeps what is not in the database yet; it takes any that lie beside a file for that file's. */
const WAL = '-wal';
const LOGS = [WAL, '-shm'];

/** A copy of a stock that is looked through before it takes the place of what was there. */
async function copied(stock: SqliteStock, target: string): Promise<void> {
  const moved = await madeWhole(target, (temporary) => {
    stock.copyTo(temporary);
    checkedCopy(temporary).close();
  }, LOGS);
  // The other is only an index, which is made anew.
  for (const name of moved.filter((one) => one.includes(`${WAL}.`)))
    await writeError(`${printable(name)}: this is what an older file of that name had not taken in; keep it beside that file\n`);
}

/** @throws StoreProblem */
function checkedCopy(path: string): SqliteStock {
  const copy = new SqliteStock(path, 'look');
  try {
    copy.check();
    return copy;
  } catch (error) {
    copy.close();
    throw error;
  }
}

/** The same of a copy that an older program made: it is taken over elsewhere and stays itself as it is. @throws StoreProblem, FileProblem */
async function readableCopy(path: string, folder: string): Promise<SqliteStock> {
  try {
    return checkedCopy(path);
  } catch (error) {
    if (!(error instanceof OlderFile)) throw error;
  }
  const newer = join(folder, RECORDS_FILE);
  await copyBytes(path, newer);
  if (await isThere(`${path}${WAL}`)) await copyBytes(`${path}${WAL}`, `${newer}${WAL}`);
  new SqliteStock(newer).close();
  return checkedCopy(newer);
}

/** @throws StoreProblem without the advice to move the file away, which is for this computer's own records */
async function sourceOf(path: string, folder: string): Promise<SqliteStock> {
  try {
    return await readableCopy(path, folder);
  } catch (error) {
    if (!(error instanceof StoreProblem) || error.fault === null) throw error;
    throw new StoreProblem(path, `${error.fault}; expected a copy that "${COMMAND} backup" made`, error.kind);
  }
}

async function restore(args: readonly string[]): Promise<ExitCode> {
  const source = oneFile('restore', args);
  if (!(await isThere(source))) throw new UserError(`${shownPath(source)}: no such file; expected a copy that "${COMMAND} backup" made`, EXIT.noInput);
  return inOwnFolder((folder) => restoreBy(source, folder));
}

/** @param folder - for what is only needed meanwhile */
async function restoreBy(source: string, folder: string): Promise<ExitCode> {
  const copy = await sourceOf(source, folder);
  try {
    if (!(await isThere(recordsPath()))) {
      madeDataFolder();
      await copied(copy, recordsPath());
      const own = checkedCopy(recordsPath());
      try {
        await writeOut(`${own.do(journalCount(null))} entries taken back\n`);
      } finally {
        own.close();
      }
      return EXIT.done;
    }
    const own = (await openFile('keep'))!;
    try {
      await writeOut(`${await takeAll(copy, own)} entries taken back; what was here already is as it was\n`);
    } finally {
      own.close();
    }
  } finally {
    copy.close();
  }
  return EXIT.done;
}

/** All that one stock has and the other has not. @returns how many entries that were */
async function takeAll(from: Stock, to: Stock): Promise<number> {
  let taken = 0;
  for (let after = 0; ;) {
    const entries = await from.do(journalAfter(after, PAGE));
    for (const { seq, entry } of entries) {
      after = seq;
      if ((await to.do(takeEntry(entry))).isNew) taken += 1;
    }
    if (entries.length < PAGE) return taken;
  }
}

async function exportAll(args: readonly string[]): Promise<ExitCode> {
  const { options, operands } = parseArguments(`${COMMAND} export`, args, [{ name: '--lot', value: 'NAME' }]);
  if (operands.length > 0)
    throw new UserError(`${COMMAND} export: ${printable(operands[0]!, 60)} is not expected; write ${COMMAND} export > FILE`, EXIT.usage);
  const name = options.get('--lot') as string | undefined;
  return withStock('look', async (stock) => {
    const lot = name === undefined || stock === null ? null : await stock.do(lotNamed(name));
    if (name !== undefined && lot === null) throw new UserError(`${COMMAND} export: there is no lot "${printable(name, 60)}"`, EXIT.noInput);
    const id = lot?.id ?? null;
    // What comes to it meanwhile is not promised, and not written.
    const count = stock === null ? 0 : await stock.do(journalCount(id));
    await writeOut(headLine(timeOfDay(), count));
    const progress = new Progress('written:');
    let after = 0;
    for (let left = count; left > 0;) {
      const entries = await stock!.do(journalAfter(after, Math.min(PAGE, left), id));
      if (entries.length === 0) break;
      for (const { entry } of entries) await writeOut(entryLine(entry));
      left -= entries.length;
      after = entries.at(-1)!.seq;
      // Where the lines themselves are seen, they tell how far it is.
      if (!isTerminalOutput()) progress.step(count - left, count);
    }
    progress.hide();
    return EXIT.done;
  });
}

async function importAll(args: readonly string[]): Promise<ExitCode> {
  const { operands } = parseArguments(`${COMMAND} import`, args, []);
  if (operands.length === 0) throw new UserError(`${COMMAND} import: no file is named; write ${COMMAND} import FILE, or - for standard input`, EXIT.usage);
  const { fresh, known, exitCode } = await withStock('keep', (stock) => importFiles(stock, operands));
  await writeOut(`${fresh} taken, ${known} here already\n`);
  return exitCode;
}

async function handOver(args: readonly string[]): Promise<ExitCode> {
  withoutOperand(parseArguments(`${COMMAND} hand-over`, args, []), `${COMMAND} hand-over`);
  neededAddress('hand-over');
  const own = (await openFile('keep'))!;
  const courier = await courierOf(own);
  try {
    await writeOut(`${await courier!.round()} entries handed over\n`);
  } finally {
    await courier!.close();
    own.close();
  }
  return EXIT.done;
}

function neededAddress(name: string): string {
  const address = serverAddress();
  if (address === null)
    throw new UserError(`${COMMAND} ${name}: no server is named; expected ${SERVER_VARIABLE}=postgres://USER@HOST/DATABASE`, EXIT.usage);
  return address;
}

async function prepare(args: readonly string[]): Promise<ExitCode> {
  withoutOperand(parseArguments(`${COMMAND} prepare`, args, []), `${COMMAND} prepare`);
  const address = neededAddress('prepare');
  const { PostgresStock } = await import('../records/postgres-stock.ts');
  await PostgresStock.prepare(address);
  return EXIT.done;
}
