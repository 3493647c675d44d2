/** Reads a file that holds one document, such as a pickup. */
import { openSource } from '../edge/files.ts';
import { FieldError } from '../files/field-walk.ts';
import { portions } from '../files/json-source.ts';
import { DOCUMENT_MOST_MiB } from '../files/limits.ts';
import { parseJson, SyntaxFault } from '../files/parse.ts';
import { printable } from '../files/printable.ts';
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';

/** The document of a file, checked.
 * @param path - as the user wrote it, `-` for standard input
 * @param check - turns the parsed value into what is wanted, or throws FieldError
 * @throws UserError (65) naming file, field, what stood there and what was expected; FileProblem when it cannot be read
 */
export async function readOne<T>(path: string, check: (document: unknown) => T): Promise<T> {
  const source = await openSource(path);
  const refuse = (message: string): UserError =>
    new UserError(`${printable(path)}: ${message}`, EXIT.badContent);
  try {
    for await (const portion of portions(source, DOCUMENT_MOST_MiB)) {
      if (portion.kind === 'refusal') throw refuse(portion.message);
      if (portion.firstLine !== null)
        throw refuse('several JSON documents, one a line; expected one document');
      return check(parseJson(portion.bytes));
    }
    throw refuse('empty; expected a JSON object');
  } catch (error) {
    if (error instanceof FieldError || error instanceof SyntaxFault) throw refuse(error.message);
    throw error;
  } finally {
    await source.close();
  }
}
