/** Points of a picture that wires run between: leads of pickups on the left, lugs of the parts on the right. */
import { widthOf } from './letters.ts';
import { at, INK, PAPER, text, type Point, type Shape } from './scene.ts';

/** Where a wire begins. */
export interface Pin {
  /** In the unit of the picture, downwards. */
  readonly y: number;
  /** The net that it belongs to; pins of one net are wired together. */
  readonly net: string;
  /** Of a lead: its colour code, or undefined. */
  readonly colour?: string;
  /** A lead shows its colour, a lug none. */
  readonly isLead: boolean;
}

/** Height of a row of pins. Those on the right stand half a row lower, so that no two wires run in one line. */
export const ROW = 18;

export const NUMBER_radius = 6.2;
const NUMBER_size = 6.8;

/** The number of a joint in its circle. */
export function jointNumber(place: Point, number: number): Shape[] {
  const words = String(number);
  const size = Math.min(NUMBER_size, (NUMBER_size * 9.5) / widthOf(words, NUMBER_size, true));
  return [
    { kind: 'circle', at: place, radius: NUMBER_radius, fill: PAPER, colour: INK, width: 1 },
    text(at(place.x, place.y + 0.36 * size), words, size, { bold: true, anchor: 'middle' }),
  ];
}
