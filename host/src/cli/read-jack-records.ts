/** Reads the records of a guitar that a command names: files of one each, or of one a line. */
import { basename } from 'node:path';
import { openSource } from '../edge/files.ts';
import { asBenchRecord } from '../files/bench-file.ts';
import { describe, FieldError } from '../files/field-walk.ts';
import { portions, records } from '../files/json-source.ts';
import { parseJson, SyntaxFault } from '../files/parse.ts';
import type { NamedRecord } from '../proof/evidence-of.ts';
import { printable } from '../text/printable.ts';
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';
import { recordName } from './solve-batch.ts';

/** All records of some files, in their order.
 * @param harness - path of the harness, which a record may name
 * @throws UserError (65) naming file, field, what stood there and what was expected; FileProblem when one cannot be read
 */
export async function readJackRecords(paths: readonly string[], harness: string): Promise<NamedRecord[]> {
  const all: NamedRecord[] = [];
  for (const path of paths) {
    const source = await openSource(path);
    try {
      for await (const portion of portions(source)) {
        if (portion.kind === 'refusal') throw refused(recordName(path, portion.line), portion.message);
        for (const { bytes, line } of records(portion)) all.push(oneRecord(bytes, recordName(path, line), harness));
      }
    } finally {
      await source.close();
    }
  }
  return all;
}

function oneRecord(bytes: Uint8Array, source: string, harness: string): NamedRecord {
  try {
    const record = asBenchRecord(parseJson(bytes));
    if (record.harness !== undefined && harness !== '-' && basename(record.harness) !== basename(harness))
      throw new FieldError('harness', `${describe(record.harness)} is another harness`, `a record of ${printable(basename(harness))}`);
    return { source, record };
  } catch (error) {
    if (error instanceof FieldError || error instanceof SyntaxFault) throw refused(source, error.message);
    throw error;
  }
}

function refused(source: string, message: string): UserError {
  return new UserError(`${printable(source)}: ${message}`, EXIT.badContent);
}
