/** Reads a file that holds one document, such as a pickup, for a command. */
import { ContentProblem, oneDocument } from '../files/one-document.ts';
import { printable } from '../text/printable.ts';
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';

/** The document of a file, checked.
 * @param path - as the user wrote it, `-` for standard input
 * @param check - turns the parsed value into what is wanted, or throws FieldError
 * @throws UserError (65) naming file, field, what stood there and what was expected; FileProblem when it cannot be read
 */
export async function readOne<T>(path: string, check: (document: unknown) => T): Promise<T> {
  try {
    return await oneDocument(path, check);
  } catch (error) {
    if (error instanceof ContentProblem)
      throw new UserError(`${printable(path)}: ${error.message}`, EXIT.badContent);
    throw error;
  }
}
