/** KiCad's files are S-expressions; here they are lists of atoms, quoted strings and lists. */
import { createHash } from 'node:crypto';

/** A quoted string, which must stay quoted. */
export interface Quoted {
  readonly text: string;
}
export type Atom = string | number | Quoted;
export type Sexpr = Atom | readonly Sexpr[];
export type List = readonly Sexpr[];

export const quoted = (text: string): Quoted => ({ text });

/** Text of an expression: short lists on one line, longer ones indented.
 * @param depth - tabs in front
 */
export function written(item: Sexpr, depth = 0): string {
  if (typeof item === 'string') return item;
  if (typeof item === 'number') return String(Number(item.toFixed(6)));
  if (!isList(item)) return `"${item.text.replace(/["\\]/g, '\\$&').replace(/\n/g, '\\n')}"`;
  const flat = `(${item.map((one) => written(one)).join(' ')})`;
  if (flat.length <= 100 && !flat.includes('\n')) return flat;
  const tabs = '\t'.repeat(depth + 1);
  let text = '(';
  item.forEach((one, i) => {
    const part = written(one, depth + 1);
    text += isList(one) ? `\n${tabs}${part}` : `${i === 0 ? '' : ' '}${part}`;
  });
  return `${text}\n${'\t'.repeat(depth)})`;
}

export const isList = (item: Sexpr): item is List => Array.isArray(item);

/** Reads the first expression of a text. */
export function parsed(text: string): List {
  const stack: Sexpr[][] = [[]];
  for (const [token, string] of text.matchAll(/\(|\)|"((?:[^"\\]|\\.)*)"|[^\s()"]+/g)) {
    if (token === '(') stack.push([]);
    else if (token === ')') {
      const done = stack.pop()!;
      stack.at(-1)!.push(done);
    } else stack.at(-1)!.push(string === undefined ? token : quoted(string.replace(/\\n/g, '\n').replace(/\\(.)/g, '$1')));
  }
  const [first] = stack[0];
  if (first === undefined || !isList(first)) throw new Error('not an S-expression');
  return first;
}

/** Sublists with a name. */
export function lists(list: List, name: string): List[] {
  return list.filter((one): one is List => isList(one) && one[0] === name);
}

/** The one sublist with a name, or undefined. */
export const child = (list: List, name: string): List | undefined => lists(list, name)[0];

/** Text of an atom. */
export function textOf(item: Sexpr | undefined): string {
  if (item === undefined || isList(item)) throw new Error('an atom was expected');
  return typeof item === 'object' ? item.text : String(item);
}

/** A name-based UUID: the same for the same words, so that files come out the same. */
export function uuidOf(words: string): Quoted {
  const hex = createHash('sha1').update(`tapstone board ${words}`).digest('hex');
  const variant = '89ab'[Number.parseInt(hex[16], 16) & 3];
  return quoted(`${hex.slice(0, 8)}-${hex.slice(8, 12)}-5${hex.slice(13, 16)}-${variant}${hex.slice(17, 20)}-${hex.slice(20, 32)}`);
}
