/** Reads a file that holds one document, such as a pickup or a harness. */
import { openSource } from '../edge/files.ts';
import { FieldError } from './field-walk.ts';
import { portions } from './json-source.ts';
import { DOCUMENT_MOST_MiB } from './limits.ts';
import { parseJson, SyntaxFault } from './parse.ts';

/** A file whose content is refused; the message is the sentence, without the file's name. */
export class ContentProblem extends Error {
  readonly path: string;

  constructor(path: string, message: string) {
    super(message);
    this.name = 'ContentProblem';
    this.path = path;
  }
}

/** The document of a file, checked.
 * @param path - as the user wrote it, `-` for standard input
 * @param check - turns the parsed value into what is wanted, or throws FieldError
 * @throws ContentProblem naming field, what stood there and what was expected; FileProblem when it cannot be read
 */
export async function oneDocument<T>(
  path: string,
  check: (document: unknown) => T,
): Promise<T> {
  const source = await openSource(path);
  try {
    for await (const portion of portions(source, DOCUMENT_MOST_MiB)) {
      if (portion.kind === 'refusal') throw new ContentProblem(path, portion.message);
      if (portion.firstLine !== null)
        throw new ContentProblem(path, 'several JSON documents, one a line; expected one document');
      return check(parseJson(portion.bytes));
    }
    throw new ContentProblem(path, 'empty; expected a JSON object');
  } catch (error) {
    if (error instanceof FieldError || error instanceof SyntaxFault)
      throw new ContentProblem(path, error.message);
    throw error;
  } finally {
    await source.close();
  }
}
