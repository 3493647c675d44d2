/** `tapstone records import`: files of another stock, and bench records, into this one; what is here already is left alone. */
import { createHash } from 'node:crypto';
import { timeOfDay } from '../edge/clock.ts';
import { writeError } from '../edge/environment.ts';
import { FileProblem, openSource } from '../edge/files.ts';
import { RefusedEvidence } from '../evidence/load-record.ts';
import { asBenchRecord, BENCH_FORMAT } from '../files/bench-file.ts';
import type { BenchRecord } from '../files/bench-record.ts';
import { FieldError } from '../files/field-walk.ts';
import { portions, records } from '../files/json-source.ts';
import { parseJson, SyntaxFault } from '../files/parse.ts';
import { printable } from '../text/printable.ts';
import { logicModule } from '../logic/module.ts';
import { isVirtualRecord } from '../records/facts.ts';
import { takeEntry, type Taken } from '../records/journal.ts';
import { addTest, NotThere, packedTest } from '../records/keeping.ts';
import { BadEntry, headOf, readEntry } from '../records/transfer.ts';
import type { Stock } from '../records/work.ts';
import { fileSentence, shownPath } from './errors.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { Progress } from './progress.ts';
import { recordSolver } from './solve-kept.ts';

export interface Imported {
  /** Entries or records that were not here before, and those that were. */
  readonly fresh: number;
  readonly known: number;
  readonly exitCode: ExitCode;
}

/** @param sources - files, `-` for standard input */
export async function importFiles(stock: Stock, sources: readonly string[]): Promise<Imported> {
  const run = new ImportRun(stock);
  for (const source of sources) await run.file(source);
  return run;
}

class ImportRun implements Imported {
  fresh = 0;
  known = 0;
  #refused = 0;
  #missing = 0;
  readonly #stock: Stock;
  readonly #solve = recordSolver();
  /** Each entry is kept by itself: whoever stops it goes on later with the same file. */
  readonly #progress = new Progress('taken:');

  constructor(stock: Stock) {
    this.#stock = stock;
  }

  /** As `solve` tells it: something refused before something missing. */
  get exitCode(): ExitCode {
    if (this.#refused > 0) return EXIT.badContent;
    return this.#missing > 0 ? EXIT.noInput : EXIT.done;
  }

  async file(source: string): Promise<void> {
    try {
      const bytes = await openSource(source);
      try {
        await this.#lines(source, bytes);
      } finally {
        await bytes.close();
      }
    } catch (error) {
      if (!(error instanceof FileProblem)) throw error;
      this.#missing += 1;
      await this.#tell(shownPath(source), fileSentence(error));
    }
  }

  async #lines(source: string, bytes: Parameters<typeof portions>[0]): Promise<void> {
    let promised: number | null = null;
    let seen = 0;
    for await (const portion of portions(bytes)) {
      if (portion.kind === 'refusal') {
        await this.#refuse(nameOf(source, portion.line), portion.message);
        continue;
      }
      for (const { bytes: text, line } of records(portion)) {
        try {
          const parsed = parseJson(text);
          const head = headOf(parsed);
          if (head !== null) {
            promised = head;
            continue;
          }
          seen += 1;
          this.#progress.step(seen, promised);
          await this.#one(source, parsed);
        } catch (error) {
          await this.#refuse(nameOf(source, line), refusal(error));
        }
      }
    }
    this.#progress.hide();
    if (promised !== null && seen < promised)
      await this.#refuse(printable(source), `ends after ${seen} of ${promised} entries; the file was cut short`);
  }

  async #one(source: string, parsed: unknown): Promise<void> {
    const isRecord = (parsed as { format?: unknown } | null)?.format === BENCH_FORMAT;
    const { isNew } = isRecord ? await this.#record(source, asBenchRecord(parsed)) : await this.#stock.do(takeEntry(readEntry(parsed)));
    if (isNew) this.fresh += 1;
    else this.known += 1;
  }

  /** A bench record by itself becomes a pickup with one test; the same record is the same test, however often it comes. */
  async #record(source: string, record: BenchRecord): Promise<Taken> {
    const uid = createHash('sha256').update(JSON.stringify(record)).digest('hex').slice(0, 32);
    const taken = record.taken ?? timeOfDay();
    const title = printable(source === '-' ? 'bench record' : source.replace(/^.*[/\\]/, '').replace(/(\.bench)?\.jsonl?$/, ''), 200);
    const isVirtual = isVirtualRecord(record);
    const map = this.#solve(record);
    const { test, evidence } = packedTest(
      { uid, taken, title, record, map, isBroken: false, isVirtual, module: logicModule().sha256 }, `${uid}.pickup`);
    const entry = await this.#stock.do(takeEntry({
      op: 'pickup', args: { uid: `${uid}.pickup`, lot: null, place: null, number: null, title, isVirtual, added: taken },
    }));
    await this.#stock.do(addTest(test, evidence));
    return entry;
  }

  async #refuse(name: string, message: string): Promise<void> {
    this.#refused += 1;
    await this.#tell(name, message);
  }

  async #tell(name: string, message: string): Promise<void> {
    this.#progress.hide();
    await writeError(`${name}: ${message}\n`);
  }
}

function nameOf(source: string, line: number | null): string {
  return line === null ? printable(source) : `${printable(source)}:${line}`;
}

/** @throws the error itself when it is none of the input */
function refusal(error: unknown): string {
  const isTheirs = error instanceof BadEntry || error instanceof FieldError || error instanceof SyntaxFault ||
    error instanceof RefusedEvidence || error instanceof NotThere;
  if (!isTheirs) throw error;
  return error.message;
}
