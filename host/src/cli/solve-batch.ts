/** Solves the records of one batch; the same on the main thread and in a worker. */
import { loadRecord, RefusedEvidence } from '../evidence/load-record.ts';
import { solveEvidence } from '../evidence/read-result.ts';
import { asBenchRecord } from '../files/bench-file.ts';
import { FieldError } from '../files/field-walk.ts';
import { records, type Batch } from '../files/json-source.ts';
import { parseJson, SyntaxFault } from '../files/parse.ts';
import { jsonLine, printable } from '../text/printable.ts';
import type { Logic } from '../logic/module.ts';
import { renderWireMap } from '../wiring/render-text.ts';
import { shownPath } from './errors.ts';
import { ALL_WAYS } from './options.ts';
import type { RefusedRecord } from '../wiremap/wiremap.ts';

/** What some records gave, in order. */
export interface Solved {
  readonly out: string;
  readonly err: string;
  readonly solved: number;
  readonly refused: number;
  /** Records at which the solver itself stopped: a fault of the program. */
  readonly faults: number;
}

export interface SolveStyle {
  readonly json: boolean;
  /** People are told which record a map belongs to when there are several files; for JSON lines they always are. */
  readonly titled: boolean;
  /** People are shown every way of wiring. */
  readonly allWays?: boolean;
}

/** Solves a batch.
 * @param source - the input as the user named it
 */
export function solveBatch(logic: Logic, source: string, batch: Batch, style: SolveStyle): Solved {
  let [out, err] = ['', ''];
  let [solved, refused, faults] = [0, 0, 0];
  for (const { bytes, line } of records(batch)) {
    try {
      const name = recordName(source, line);
      const warn = (sentence: string): void => void (err += `${printable(name)}: warning: ${sentence}\n`);
      out += solveOne(logic, name, bytes, { ...style, titled: style.titled || line !== null }, warn);
      solved += 1;
    } catch (error) {
      const message = refusalMessage(error);
      const refusal = refusedRecord(recordName(source, line), message, style);
      out += refusal.out;
      err += refusal.err;
      if (error instanceof WebAssembly.RuntimeError) faults += 1;
      else refused += 1;
    }
  }
  return { out, err, solved, refused, faults };
}

/** Why a record is not solved; a trap of the module is told as our fault and spares the other records. */
function refusalMessage(error: unknown): string {
  if (error instanceof WebAssembly.RuntimeError) {
    return `the solver stopped at this record (${printable(error.message, 100)}); this is a fault of the program, please report it with the record`;
  }
  if (
    error instanceof FieldError ||
    error instanceof SyntaxFault ||
    error instanceof RefusedEvidence
  )
    return error.message;
  throw error;
}

/** A record's name: the file, with the line for JSON lines. */
export function recordName(source: string, line: number | null): string {
  return line === null ? source : `${source}:${line}`;
}

/** What is told of a record that is refused. */
export function refusedRecord(name: string, message: string, style: SolveStyle): Solved {
  const line: RefusedRecord = { format: 'error/1', source: name, message };
  return {
    out: style.json ? jsonLine(line) : '',
    err: `${shownPath(name)}: ${message}\n`,
    solved: 0,
    refused: 1,
    faults: 0,
  };
}

function solveOne(logic: Logic, name: string, bytes: Uint8Array, style: SolveStyle, warn: (sentence: string) => void): string {
  const record = asBenchRecord(parseJson(bytes), warn);
  const places = loadRecord(logic, record);
  const map = solveEvidence(logic, places);
  if (style.json) return jsonLine(map);
  const colours = new Map(record.clips.map(({ clip, colour }) => [clip, colour]));
  const text = renderWireMap(map, colours, style.allWays === true ? null : ALL_WAYS);
  return style.titled ? `== ${printable(name)}\n\n${text}\n` : text;
}
