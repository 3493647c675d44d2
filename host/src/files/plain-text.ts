/** Names that are printed, drawn and compared: nothing in them may be invisible. */
import { describe, type FieldWalk, type JsonObject } from './field-walk.ts';
import { printable } from '../text/printable.ts';

/** A text of bounded length, not empty, of visible characters.
 * @throws FieldError
 */
export function plainText(
  walk: FieldWalk,
  owner: JsonObject,
  key: string,
  most: number,
  expected: string,
): string {
  walk.enter(key);
  const text = plainTextHere(walk, owner[key], most, expected);
  walk.leave();
  return text;
}

/** The same for the text on which the walk stands. */
export function plainTextHere(
  walk: FieldWalk,
  value: unknown,
  most: number,
  expected: string,
): string {
  const text = walk.textHere(value, most, expected);
  if (printable(text) !== text)
    walk.refuse(
      `${describe(text)} holds characters that cannot be seen`,
      `${expected}, without control characters`,
    );
  return text;
}
