/** Wires in the colours of their leads. */
import { BARE } from '../wiremap/colours.ts';
import { box, line, PAPER, type LineShape, type Point, type Shape } from './scene.ts';

/** What the codes of IEC 60757 look like; the standard names colours and leaves their shades open. */
const SHADES: ReadonlyMap<string, string> = new Map([
  ['BK', '#222222'], ['BN', '#7a4a21'], ['RD', '#d62728'], ['OG', '#f28e1c'], ['YE', '#f2d21b'], ['GN', '#2a9d3c'], ['BU', '#1f6fd0'],
  ['VT', '#7d3fb2'], ['GY', '#8c8c8c'], ['WH', '#ffffff'], ['PK', '#f49ac1'], ['GD', '#c9a227'], ['TQ', '#2bb5b0'], ['SR', '#c8ccd0'],
]);
const EDGE = '#3a3a3a';
const UNKNOWN = '#dddddd';
const EDGE_width = 3.6;
const WIRE_width = 2.4;

/** A wire through points: its colour within a dark edge, a second colour as bars, a bare one as a braid.
 * @param code - of IEC 60757 or BARE; undefined where nobody noted it
 */
export function wire(points: readonly Point[], code: string | undefined): Shape[] {
  const stretch = (colour: string, width: number, dash?: readonly [number, number]): LineShape =>
    ({ kind: 'line', points, colour, width, cut: true, ...(dash === undefined ? {} : { dash }) });
  const edge = stretch(EDGE, EDGE_width);
  if (code === undefined) return [edge, stretch(UNKNOWN, WIRE_width)];
  if (code === BARE) return [edge, stretch(PAPER, WIRE_width, [1.6, 1.6])];
  const first = SHADES.get(code.slice(0, 2)) ?? UNKNOWN;
  const second = SHADES.get(code.slice(2));
  return [edge, stretch(first, WIRE_width), ...(second === undefined ? [] : [stretch(second, WIRE_width, [4, 4])])];
}

/** The end of a wire that is insulated: a cap over it. */
export function cap({ x, y }: Point): Shape[] {
  return [
    box({ x, y: y - 3.5 }, 9, 7, { fill: PAPER, colour: EDGE, width: 1 }),
    line({ x: x + 6, y: y - 3.5 }, { x: x + 6, y: y + 3.5 }, 1, EDGE),
  ];
}
