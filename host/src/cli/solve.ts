/** `tapstone solve`: bench records to wire maps. */
import { isTerminalInput, writeError, writeOut } from '../edge/environment.ts';
import { FileProblem, openSource, type ByteSource } from '../edge/files.ts';
import { portions } from '../files/json-source.ts';
import { createLogic } from '../logic/module.ts';
import { fileSentence, UserError } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { ALL_WAYS, parseArguments, type OptionSpec } from './options.ts';
import { recordName, refusedRecord, type Solved, type SolveStyle } from './solve-batch.ts';
import { SolvePool } from './solve-pool.ts';

const OPTIONS: readonly OptionSpec[] = [{ name: ALL_WAYS }, { name: '--json' }];

export const SOLVE_HELP = `Usage: tapstone solve FILE... [--all-ways] [--json]

  tapstone solve bench.json                    the wire map and how to wire it
  tapstone solve *.bench.json --json           one line of JSON for each record, in order
  tapstone solve records.jsonl --json          the same for a file of JSON lines
  zcat records.jsonl.gz | tapstone solve -     standard input

Solves bench records again, from nothing but what was measured. A file holds one record or JSON lines.
A record that is refused gives one line on standard error; the others are still solved.

  --all-ways every way of wiring, also those that are less often wanted
  --json     print JSON and nothing else on standard output
  -h, --help print this
`;

/** Results that may wait for their turn to be printed. */
const AHEAD_MOST = 64;

/** Runs the command.
 * @param args - after the word `solve`
 */
export async function solveCommand(args: readonly string[]): Promise<ExitCode> {
  const { options, operands, wantsHelp } = parseArguments('tapstone solve', args, OPTIONS);
  if (wantsHelp) {
    await writeOut(SOLVE_HELP);
    return EXIT.done;
  }
  if (operands.length === 0) {
    throw new UserError(
      'tapstone solve: no file is named; write tapstone solve FILE, or - for standard input',
      EXIT.usage,
    );
  }
  return new SolveRun({ json: options.has('--json'), titled: operands.length > 1, allWays: options.has(ALL_WAYS) }).all(operands);
}

class SolveRun {
  private readonly style: SolveStyle;
  private readonly pool: SolvePool;
  private readonly queue: Promise<Solved>[] = [];
  private refused = 0;
  private missing = 0;
  private faults = 0;

  constructor(style: SolveStyle) {
    this.style = style;
    this.pool = new SolvePool(createLogic(), style);
  }

  async all(sources: readonly string[]): Promise<ExitCode> {
    try {
      for (const source of sources) await this.one(source);
      await this.flush(0);
    } finally {
      await this.pool.close();
    }
    if (this.faults > 0) return EXIT.internal;
    if (this.refused > 0) return EXIT.badContent;
    return this.missing > 0 ? EXIT.noInput : EXIT.done;
  }

  private async one(source: string): Promise<void> {
    let bytes: ByteSource | null = null;
    try {
      if (source === '-' && isTerminalInput()) await writeError('records are read from the keyboard; end them with Ctrl-D\n');
      bytes = await openSource(source);
      for await (const portion of portions(bytes)) {
        if (portion.kind === 'refusal') {
          this.queue.push(
            Promise.resolve(
              refusedRecord(recordName(source, portion.line), portion.message, this.style),
            ),
          );
        } else {
          const { result } = await this.pool.take(source, portion);
          // Handled when its turn comes; without this a fault before that would end the process.
          result.catch(() => undefined);
          this.queue.push(result);
        }
        await this.flush(AHEAD_MOST);
      }
    } catch (error) {
      if (!(error instanceof FileProblem)) throw error;
      this.missing += 1;
      const { out, err } = refusedRecord(source, fileSentence(error), this.style);
      this.queue.push(Promise.resolve({ out, err, solved: 0, refused: 0, faults: 0 }));
    } finally {
      await bytes?.close();
    }
  }

  /** Prints what is ready, in order, until no more than `most` results wait. */
  private async flush(most: number): Promise<void> {
    while (this.queue.length > most) {
      const { out, err, refused, faults } = await (this.queue.shift() as Promise<Solved>);
      this.refused += refused;
      this.faults += faults;
      if (out !== '') await writeOut(out);
      if (err !== '') await writeError(err);
    }
  }
}
