/** What a picture is made of: lines, shapes and texts in blocks that stand one below the other, before it is an SVG or a PDF. */

export interface Point {
  readonly x: number;
  readonly y: number;
}

/** A line through points; without `width` one unit wide. Nothing is filled. */
export interface LineShape {
  readonly kind: 'line';
  readonly points: readonly Point[];
  readonly colour: string;
  readonly width: number;
  /** Lengths of dash and gap. */
  readonly dash?: readonly [number, number];
  /** Ends where its points end; left out, it is rounded beyond them. A dashed line is always cut. */
  readonly cut?: true;
}

/** A closed shape, filled, outlined or both. */
export interface AreaShape {
  readonly kind: 'area';
  readonly points: readonly Point[];
  readonly fill?: string;
  readonly colour?: string;
  readonly width?: number;
}

export interface CircleShape {
  readonly kind: 'circle';
  readonly at: Point;
  readonly radius: number;
  readonly fill?: string;
  readonly colour?: string;
  readonly width?: number;
}

export interface TextShape {
  readonly kind: 'text';
  /** On the baseline: left end, middle or right end, as `anchor` says. */
  readonly at: Point;
  readonly text: string;
  readonly size: number;
  readonly bold: boolean;
  readonly anchor: 'start' | 'middle' | 'end';
  readonly colour: string;
}

export type Shape = LineShape | AreaShape | CircleShape | TextShape;

/** A part of a picture that is not cut when it is spread over pages. */
export interface Block {
  readonly height: number;
  readonly shapes: readonly Shape[];
  /** Stays on one page with the block below it. */
  readonly keep?: true;
}

/** A whole picture, its y downwards. */
export interface Scene {
  /** For who cannot see it. */
  readonly title: string;
  readonly width: number;
  readonly blocks: readonly Block[];
}

export const INK = '#1a1a1a';
export const SOFT = '#555555';
export const PAPER = '#ffffff';
export const FAINT = '#b8b8b8';

export const at = (x: number, y: number): Point => ({ x, y });

/** Blocks that stay on one page with what stands below them. */
export function withNext(blocks: readonly Block[]): Block[] {
  return blocks.map((block) => ({ ...block, keep: true }));
}

/** Blocks that stay on one page. */
export function together(blocks: readonly Block[]): Block[] {
  return [...withNext(blocks.slice(0, -1)), ...blocks.slice(-1)];
}

/** A straight line. */
export function line(a: Point, b: Point, width = 1, colour = INK): LineShape {
  return { kind: 'line', points: [a, b], colour, width };
}

/** A rectangle by its corner and size. */
export function box(corner: Point, width: number, height: number, style: Pick<AreaShape, 'fill' | 'colour' | 'width'>): AreaShape {
  const { x, y } = corner;
  return { kind: 'area', points: [at(x, y), at(x + width, y), at(x + width, y + height), at(x, y + height)], ...style };
}

/** A text; black and not bold at its left end when nothing else is said. */
export function text(place: Point, words: string, size: number, style: Partial<Pick<TextShape, 'bold' | 'anchor' | 'colour'>> = {}): TextShape {
  return { kind: 'text', at: place, text: words, size, bold: false, anchor: 'start', colour: INK, ...style };
}
