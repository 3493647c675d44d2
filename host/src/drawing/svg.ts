/** A picture as SVG 1.1. Each text says how wide it is, so that a reader without the font keeps it in its place. */
import { widthOf } from './letters.ts';
import { PAPER, type Point, type Scene, type Shape } from './scene.ts';

const FONTS = "Helvetica, Arial, 'Liberation Sans', 'Nimbus Sans', sans-serif";

const escaped = (words: string): string =>
  words.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');

const number = (value: number): string => String(Math.round(value * 100) / 100);

/** The file's text. */
export function svgOf({ title, width, blocks }: Scene): string {
  const shapes: string[] = [];
  let top = 0;
  for (const block of blocks) {
    for (const shape of block.shapes) shapes.push(drawn(shape, top));
    top += block.height;
  }
  const [w, h] = [number(width), number(top)];
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${w} ${h}" width="${number(width * 2)}" height="${number(top * 2)}" role="img">`,
    `<title>${escaped(title)}</title>`,
    `<rect width="${w}" height="${h}" fill="${PAPER}"/>`,
    `<g font-family="${FONTS}" stroke-linecap="round" stroke-linejoin="round" fill="none">`,
    ...shapes,
    '</g>', '</svg>', '',
  ].join('\n');
}

function drawn(shape: Shape, top: number): string {
  switch (shape.kind) {
    case 'line': {
      const cut = shape.dash !== undefined || shape.cut === true ? ' stroke-linecap="butt"' : '';
      const dash = `${shape.dash === undefined ? '' : ` stroke-dasharray="${shape.dash.map(number).join(' ')}"`}${cut}`;
      return `<polyline points="${points(shape.points, top)}" stroke="${shape.colour}" stroke-width="${number(shape.width)}"${dash}/>`;
    }
    case 'area':
      return `<polygon points="${points(shape.points, top)}"${paint(shape)}/>`;
    case 'circle':
      return `<circle cx="${number(shape.at.x)}" cy="${number(shape.at.y + top)}" r="${number(shape.radius)}"${paint(shape)}/>`;
    case 'text': {
      const { at, text, size, bold, anchor, colour } = shape;
      const place = `x="${number(at.x)}" y="${number(at.y + top)}" font-size="${number(size)}"`;
      const width = `textLength="${number(widthOf(text, size, bold))}" lengthAdjust="spacingAndGlyphs"`;
      const style = `${anchor === 'start' ? '' : ` text-anchor="${anchor}"`}${bold ? ' font-weight="bold"' : ''}`;
      return `<text ${place} ${width}${style} fill="${colour}">${escaped(text)}</text>`;
    }
  }
}

const points = (some: readonly Point[], top: number): string => some.map(({ x, y }) => `${number(x)},${number(y + top)}`).join(' ');

function paint({ fill, colour, width = 1 }: { fill?: string; colour?: string; width?: number }): string {
  const stroke = colour === undefined ? '' : ` stroke="${colour}" stroke-width="${number(width)}"`;
  return `${fill === undefined ? '' : ` fill="${fill}"`}${stroke}`;
}
