import { cellsOf, lengthThatFits } from './cells.ts';

/**
 * Breaks a text at spaces so that no line is wider than the screen; a word that is longer is broken hard, so nothing is lost.
 * @param text - leading spaces are kept
 * @param width - columns
 * @param indent - of every line but the first, columns
 */
export function wrap(text: string, width: number, indent: number): string[] {
  const lines: string[] = [];
  let rest = text;
  while (cellsOf(rest) > width) {
    const own = rest.length - rest.trimStart().length;
    const room = lengthThatFits(rest, width);
    const space = rest.lastIndexOf(' ', room);
    // One letter goes on in any case, also into a line that is narrower than it.
    const least = own + String.fromCodePoint(rest.codePointAt(own) ?? 0x20).length;
    const end = space > own ? space : Math.max(room, least);
    lines.push(rest.slice(0, end).trimEnd());
    rest = `${' '.repeat(Math.min(indent, width - 1))}${rest.slice(end).trimStart()}`;
  }
  return [...lines, rest];
}
