/** Frames of a terminal as an SVG: letters in their cells, bold, dim and the few colours that the screens use. */

/** Size of a cell and the space around the frame, pixels. */
const CELL_x = 8.4;
const CELL_y = 18;
const MARGIN = 16;
/** Between two frames, one below the other. */
const GAP = 10;
const LETTERS_px = 14;
/** Where letters stand in their cell. */
const BASELINE = 13.5;

const PAPER = '#16191d';
const INK = '#d6dae0';
const DIM = '#8b939e';
/** SGR numbers of the colours (ECMA-48 8.3.117). */
const COLOURS: Readonly<Record<number, string>> = { 31: '#f0716a', 32: '#7cc77a', 33: '#e0b354', 36: '#62b8c9' };

interface Style {
  readonly bold: boolean;
  readonly dim: boolean;
  readonly colour: number | null;
}

const PLAIN: Style = { bold: false, dim: false, colour: null };

/** The style after one SGR number. @throws Error for one that no screen uses, so that a new one is drawn too */
function after(style: Style, code: number): Style {
  if (code === 0) return PLAIN;
  if (code === 1) return { ...style, bold: true };
  if (code === 2) return { ...style, dim: true };
  if (code === 22) return { ...style, bold: false, dim: false };
  if (code === 39) return { ...style, colour: null };
  if (COLOURS[code] !== undefined) return { ...style, colour: code };
  throw new Error(`the picture knows no SGR ${code}`);
}

const escaped = (text: string): string => text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;');

/** Runs of letters of one style on a line, with the column of the first; spaces between words of a run stay, wide gaps part runs. */
function runsOf(line: string): { text: string; column: number; style: Style }[] {
  const runs: { text: string; column: number; style: Style }[] = [];
  let style = PLAIN;
  let column = 0;
  for (const piece of line.split(/(\x1b\[[\d;]*m)/)) {
    const codes = /^\x1b\[([\d;]*)m$/.exec(piece)?.[1];
    if (codes !== undefined) {
      style = codes.split(';').reduce((now, code) => after(now, Number(code)), style);
      continue;
    }
    for (const { 0: text, index } of piece.matchAll(/\S+(?: \S+)*/g)) runs.push({ text, column: column + index, style });
    column += piece.length;
  }
  return runs;
}

const number = (value: number): string => String(Math.round(value * 10) / 10);

/** Half blocks and whole ones, which fonts leave gaps between: upper edge and height as parts of a cell. */
const BLOCKS: Readonly<Record<string, readonly [number, number]>> = { '█': [0, 1], '▀': [0, 0.5], '▄': [0.5, 0.5] };

/** One run of letters at its place. */
function drawn(text: string, x: number, y: number, style: Style): string {
  const colour = style.colour === null ? (style.dim ? DIM : null) : COLOURS[style.colour];
  const fill = colour ? ` fill="${colour}"` : '';
  const block = BLOCKS[text[0]];
  if (block !== undefined && text === text[0].repeat(text.length)) {
    const [top, height] = block;
    return `<rect x="${number(x)}" y="${number(y + top * CELL_y)}" width="${number(text.length * CELL_x)}" ` +
      `height="${number(height * CELL_y)}"${fill}/>`;
  }
  // The reader's font may be wider or narrower than the cells.
  const place = `x="${number(x)}" y="${number(y + BASELINE)}" textLength="${number(text.length * CELL_x)}"`;
  return `<text ${place}${fill}${style.bold ? ' font-weight="bold"' : ''}>${escaped(text)}</text>`;
}

/**
 * @param frames - each lines with SGR escapes, one column a letter
 * @param columns - width of the terminal
 * @param title - what the picture shows, for who cannot see it
 */
export function terminalSvg(frames: readonly string[], columns: number, title: string): string {
  const width = columns * CELL_x + 2 * MARGIN;
  const shapes: string[] = [];
  let top = 0;
  for (const frame of frames) {
    const lines = frame.split('\n');
    const height = lines.length * CELL_y + 2 * MARGIN;
    shapes.push(`<rect y="${number(top)}" width="${number(width)}" height="${number(height)}" rx="8" fill="${PAPER}"/>`);
    for (const [row, line] of lines.entries())
      for (const { text, column, style } of runsOf(line))
        shapes.push(drawn(text, MARGIN + column * CELL_x, top + MARGIN + row * CELL_y, style));
    top += height + GAP;
  }
  const size = [number(width), number(top - GAP)];
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${size.join(' ')}" width="${size[0]}" height="${size[1]}" role="img">`,
    `<title>${escaped(title)}</title>`,
    `<g fill="${INK}" font-family="ui-monospace, Menlo, Consolas, 'DejaVu Sans Mono', monospace" font-size="${LETTERS_px}">`,
    ...shapes,
    '</g>', '</svg>', '',
  ].join('\n');
}
