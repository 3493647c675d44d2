/** Finds a name that stands twice in one object of a JSON text, which a parser would pass over in silence. */
import { pathText } from './field-walk.ts';

/** An object or a list that the scan is inside of. */
interface Level {
  /** Names met so far; null in a list. */
  readonly keys: Set<string> | null;
  /** Name or index of the value that the scan stands on. */
  at: string | number;
}

/** Path of the first name that stands twice in its object, or null.
 * @param text - sound JSON
 */
export function repeatedKey(text: string): string | null {
  const levels: Level[] = [];
  // A text is a name when it follows { or a comma of an object.
  let isNameNext = false;
  for (let at = 0; at < text.length; at++) {
    const level = levels.at(-1);
    switch (text[at]) {
      case '{':
        levels.push({ keys: new Set(), at: '' });
        isNameNext = true;
        break;
      case '[':
        levels.push({ keys: null, at: 0 });
        isNameNext = false;
        break;
      case '}':
      case ']':
        levels.pop();
        isNameNext = false;
        break;
      case ',':
        if (level?.keys === null) level.at = (level.at as number) + 1;
        isNameNext = level !== undefined && level.keys !== null;
        break;
      case '"': {
        const end = endOfString(text, at);
        if (isNameNext && level?.keys) {
          const key = JSON.parse(text.slice(at, end + 1)) as string;
          level.at = key;
          if (level.keys.has(key)) return pathText(levels.map((one) => one.at));
          level.keys.add(key);
          isNameNext = false;
        }
        at = end;
      }
    }
  }
  return null;
}

/** Index of the quote that ends a string. */
function endOfString(text: string, start: number): number {
  let at = start + 1;
  while (text[at] !== '"') at += text[at] === '\\' ? 2 : 1;
  return at;
}
