/** Finds a name that stands twice in one object of a JSON text, which a parser would pass over in silence. */
import { pathText } from './field-walk.ts';

const [QUOTE, BACKSLASH, OPEN_OBJECT] = [0x22, 0x5c, 0x7b];
/** Where a name or the end of an object may be; whatever lies between, such as a million samples, is not looked at. */
const EDGE = /["{}]/g;
const NAME_END = /\s*:/y;

/** Path of the first name that stands twice in its object, or null.
 * @param text - sound JSON
 */
export function repeatedKey(text: string): string | null {
  const objects: Set<string>[] = [];
  EDGE.lastIndex = 0;
  while (EDGE.test(text)) {
    const at = EDGE.lastIndex - 1;
    const edge = text.charCodeAt(at);
    if (edge === OPEN_OBJECT) objects.push(new Set());
    else if (edge !== QUOTE) objects.pop();
    else {
      const end = endOfString(text, at);
      EDGE.lastIndex = NAME_END.lastIndex = end + 1;
      // A text is a name when a colon follows.
      if (!NAME_END.test(text)) continue;
      const names = objects.at(-1)!;
      const name = nameOf(text, at, end);
      if (names.has(name)) return pathTo(text, at);
      names.add(name);
    }
  }
  return null;
}

function nameOf(text: string, start: number, end: number): string {
  const written = text.slice(start + 1, end);
  return written.includes('\\') ? (JSON.parse(`"${written}"`) as string) : written;
}

/** Path of the name that begins at a quote: told for a refusal only, so every character may be looked at. */
function pathTo(text: string, goal: number): string {
  const levels: (string | number)[] = [];
  // A text is a name when it follows { or a comma of an object.
  let isNameNext = false;
  for (let at = 0; ; at++) {
    switch (text[at]) {
      case '{':
        levels.push('');
        isNameNext = true;
        break;
      case '[':
        levels.push(0);
        isNameNext = false;
        break;
      case '}':
      case ']':
        levels.pop();
        isNameNext = false;
        break;
      case ',': {
        const last = levels.at(-1);
        if (typeof last === 'number') levels[levels.length - 1] = last + 1;
        isNameNext = typeof last === 'string';
        break;
      }
      case '"': {
        const end = endOfString(text, at);
        if (isNameNext) levels[levels.length - 1] = nameOf(text, at, end);
        if (at === goal) return pathText(levels);
        isNameNext = false;
        at = end;
      }
    }
  }
}

/** Index of the quote that ends a text: the first that no odd number of backslashes stands before. */
function endOfString(text: string, start: number): number {
  for (let at = text.indexOf('"', start + 1); ; at = text.indexOf('"', at + 1)) {
    let before = at;
    while (text.charCodeAt(before - 1) === BACKSLASH) before -= 1;
    if ((at - before) % 2 === 0) return at;
  }
}
