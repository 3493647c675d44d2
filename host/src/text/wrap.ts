/**
 * Breaks a text at spaces so that no line is wider than the screen; a word that is longer is broken hard, so nothing is lost.
 * @param text - leading spaces are kept
 * @param width - columns
 * @param indent - of every line but the first, columns
 */
export function wrap(text: string, width: number, indent: number): string[] {
  const lines: string[] = [];
  let rest = text;
  while (rest.length > width) {
    const own = rest.length - rest.trimStart().length;
    const space = rest.lastIndexOf(' ', width);
    const cut = space > own ? space : width;
    lines.push(rest.slice(0, cut).trimEnd());
    rest = `${' '.repeat(Math.min(indent, width - 1))}${rest.slice(cut).trimStart()}`;
  }
  return [...lines, rest];
}
