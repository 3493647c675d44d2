/** A picture as PDF on A4, spread over as many pages as it takes. The same picture gives the same bytes. */
import { LineCapStyle, PDFDocument, rgb, StandardFonts, type Color, type PDFFont, type PDFPage } from '@cantoo/pdf-lib';
import { boxOf, hasLetter } from './letters.ts';
import type { Block, Point, Scene, Shape } from './scene.ts';

/** A4 (ISO 216) in points of 1/72 inch. */
export const A4_x = 595.28;
export const A4_y = 841.89;
const MARGIN = 30;
/** A picture is not drawn larger than this. */
const SCALE_MOST = 1.3;

/** A text that the fonts of PDF cannot show. */
export class LetterMissing extends Error {
  constructor(words: string, letter: string) {
    super(`"${words}" holds "${letter}", which the fonts that every PDF reader has lack; name a file.svg, or rename it`);
    this.name = 'LetterMissing';
  }
}

/** A page of any size, in points of 1/72 inch: pictures with the place of each on it. */
export interface PaperPage {
  readonly width: number;
  readonly height: number;
  readonly pictures: readonly { readonly left: number; readonly top: number; readonly shapes: readonly Shape[] }[];
}

/** Pages laid out beforehand. @throws LetterMissing */
export async function pdfOfPages(title: string, pages: readonly PaperPage[]): Promise<Uint8Array> {
  const { document, fonts } = await emptyDocument(title);
  for (const { width, height, pictures } of pages) {
    const page = document.addPage([width, height]);
    for (const { left, top, shapes } of pictures) new Pen(page, fonts, 1, left, height - top).all(shapes);
  }
  return document.save({ useObjectStreams: false });
}

async function emptyDocument(title: string) {
  const document = await PDFDocument.create({ updateMetadata: false });
  document.setTitle([...title].map((letter) => (hasLetter(letter) ? letter : '?')).join(''));
  document.setProducer('Tapstone');
  const fonts = {
    regular: await document.embedFont(StandardFonts.Helvetica),
    bold: await document.embedFont(StandardFonts.HelveticaBold),
  };
  return { document, fonts };
}

/** The file's bytes. @throws LetterMissing */
export async function pdfOf(scene: Scene): Promise<Uint8Array> {
  const { document, fonts } = await emptyDocument(scene.title);
  const room = A4_y - 2 * MARGIN;
  const scale = Math.min(SCALE_MOST, (A4_x - 2 * MARGIN) / scene.width);
  let page: PDFPage | null = null;
  let used = 0;
  let hasHeadingsOnly = false;
  scene.blocks.forEach((block, index) => {
    const own = Math.min(scale, room / block.height);
    const height = block.height * own;
    // Headings alone are no reason for another page, unless what they head has no room under them.
    const overflows = used + height + (hasHeadingsOnly ? 0 : held(scene.blocks, index) * scale) > room + 1e-6;
    if (page === null || overflows) {
      page = document.addPage([A4_x, A4_y]);
      used = 0;
      hasHeadingsOnly = true;
    }
    hasHeadingsOnly &&= block.keep === true;
    const left = (A4_x - scene.width * own) / 2;
    new Pen(page, fonts, own, left, A4_y - MARGIN - used).all(block.shapes);
    used += height;
  });
  return document.save({ useObjectStreams: false });
}

/** Height of the blocks that must stay with this one. */
function held(blocks: readonly Block[], index: number): number {
  let height = 0;
  for (let at = index; blocks[at]?.keep === true && blocks[at + 1] !== undefined; at++) height += blocks[at + 1]!.height;
  return height;
}

class Pen {
  private readonly page: PDFPage;
  private readonly fonts: { readonly regular: PDFFont; readonly bold: PDFFont };
  private readonly scale: number;
  private readonly left: number;
  private readonly top: number;

  constructor(page: PDFPage, fonts: Pen['fonts'], scale: number, left: number, top: number) {
    this.page = page;
    this.fonts = fonts;
    this.scale = scale;
    this.left = left;
    this.top = top;
  }

  all(shapes: readonly Shape[]): void {
    for (const shape of shapes) this.draw(shape);
  }

  private draw(shape: Shape): void {
    const { page, scale } = this;
    switch (shape.kind) {
      case 'line':
        this.path(shape.points, false, {
          borderColor: colourOf(shape.colour), borderWidth: shape.width,
          borderLineCap: shape.dash !== undefined || shape.cut === true ? LineCapStyle.Butt : LineCapStyle.Round,
          ...(shape.dash === undefined ? {} : { borderDashArray: [...shape.dash] }),
        });
        return;
      case 'area':
        this.path(shape.points, true, {
          ...(shape.fill === undefined ? {} : { color: colourOf(shape.fill) }),
          ...(shape.colour === undefined ? {} : { borderColor: colourOf(shape.colour), borderWidth: shape.width ?? 1 }),
        });
        return;
      case 'circle':
        page.drawCircle({
          ...this.point(shape.at), size: shape.radius * scale,
          ...(shape.fill === undefined ? {} : { color: colourOf(shape.fill) }),
          ...(shape.colour === undefined ? {} : { borderColor: colourOf(shape.colour), borderWidth: (shape.width ?? 1) * scale }),
        });
        return;
      case 'text': {
        const { at, text, size, bold, colour } = shape;
        const missing = [...text].find((letter) => !hasLetter(letter));
        if (missing !== undefined) throw new LetterMissing(text, missing);
        const font = bold ? this.fonts.bold : this.fonts.regular;
        page.drawText(text, { ...this.point({ x: boxOf(shape).left, y: at.y }), size: size * scale, font, color: colourOf(colour) });
      }
    }
  }

  /** Paths are drawn in the picture's own unit; the library turns their y downwards. */
  private path(points: readonly Point[], closed: boolean, options: Parameters<PDFPage['drawSvgPath']>[1]): void {
    const path = points.map(({ x, y }, index) => `${index === 0 ? 'M' : 'L'} ${x} ${y}`).join(' ');
    this.page.drawSvgPath(closed ? `${path} Z` : path, { x: this.left, y: this.top, scale: this.scale, ...options });
  }

  private point({ x, y }: Point): Point {
    return { x: this.left + x * this.scale, y: this.top - y * this.scale };
  }
}

function colourOf(code: string): Color {
  const [red, green, blue] = [1, 3, 5].map((from) => Number.parseInt(code.slice(from, from + 2), 16) / 255);
  return rgb(red!, green!, blue!);
}
