/** A pickup and its leads: coils with their plus and minus, the frame around them, a plate with the colour's letters on each lead. */
import type { FittedPickup } from '../harness/fitted-pickup.ts';
import { groupOf } from '../harness/ways.ts';
import type { WireMapCoil } from '../wiremap/wiremap.ts';
import { boxOf, fitted, widthOf } from './letters.ts';
import { jointNumber, NUMBER_radius, ROW, type Pin } from './pins.ts';
import { at, box, FAINT, INK, line, PAPER, SOFT, text, type Shape, type TextShape } from './scene.ts';
import { wire } from './wire.ts';

const LABEL_width = 58;
const COLUMN = 18;
const LABEL_size = 7;
const PLATE_width = 46;
const PLATE_height = 11;
const PLATE_size = 6.6;
/** Inside the frame, beside the coils. */
const FRAME_room = 14;
/** From the frame to where the channel begins. */
const LEAD_width = 6 + PLATE_width + 5 + 2 * NUMBER_radius;

/** Width of all that is drawn left of the channel. @param columns - of coils, as `coilColumns` gives them */
export function pickupWidth(columns: number): number {
  return LABEL_width + columns * COLUMN + FRAME_room + LEAD_width;
}

/** Columns that the coils of a pickup need: coils whose leads lie between one another's stand side by side. */
export function coilColumns(pickup: FittedPickup): number {
  return Math.max(1, ...columnsOf(pickup, leadOrder(pickup)).map((column) => column + 1));
}

function columnsOf({ leads }: FittedPickup, rows: readonly number[]): number[] {
  const columns: (readonly [number, number])[][] = [];
  return leads.coils.map(({ minus, plus }) => {
    const ends = [rows.indexOf(minus), rows.indexOf(plus)];
    const span = [Math.min(...ends), Math.max(...ends)] as const;
    let column = columns.findIndex((some) => some.every(([top, bottom]) => span[1] <= top || span[0] >= bottom));
    if (column < 0) column = columns.push([]) - 1;
    columns[column]!.push(span);
    return column;
  });
}

/** What of a lead is drawn: its joint's number and the net that it goes to. */
export interface LeadEnd {
  readonly clip: number;
  readonly number: number;
  readonly net: string;
}

export interface PickupDrawing {
  readonly height: number;
  readonly shapes: readonly Shape[];
  readonly pins: readonly Pin[];
}

/** Draws a pickup.
 * @param left - where it begins
 * @param top - y of its upper edge, a whole number of rows
 * @param columns - of coils that all pickups of the picture make room for
 * @param ends - of every lead, in any order
 */
export function pickupDrawing(
  pickup: FittedPickup, left: number, top: number, columns: number, ends: readonly LeadEnd[],
): PickupDrawing {
  const rows = leadOrder(pickup);
  const first = top + 2 * ROW;
  const yOf = (clip: number): number => first + rows.indexOf(clip) * ROW;
  const frameLeft = left + LABEL_width;
  const frameRight = frameLeft + columns * COLUMN + FRAME_room;
  const bottom = first + Math.max(0, rows.length - 1) * ROW;
  const shapes: Shape[] = [
    text(at(left, top + 0.75 * ROW), fitted(pickup.slot.slot, 9.5, pickupWidth(columns) - 4, true), 9.5, { bold: true }),
    box(at(frameLeft, first - 0.6 * ROW), frameRight - frameLeft, bottom - first + 1.2 * ROW, { colour: FAINT, width: 1 }),
  ];
  const pins: Pin[] = [];
  const used = new Set(pickup.leads.coils.flatMap(({ minus, plus }) => [minus, plus]));
  for (const clip of rows) {
    const y = yOf(clip);
    const end = ends.find((one) => one.clip === clip)!;
    const colour = pickup.colours.get(clip);
    const isFrame = pickup.leads.chassis.includes(clip);
    // A lead that belongs to no coil begins at the frame, or nowhere that is known.
    if (!used.has(clip)) shapes.push(line(at(frameRight - 5, y), at(frameRight, y), 1.3));
    if (isFrame) shapes.push({ kind: 'circle', at: at(frameRight, y), radius: 2.2, fill: INK });
    const plate = frameRight + 6;
    const joint = plate + PLATE_width + 5 + NUMBER_radius;
    const words = colour === undefined ? `clip ${clip}` : `clip ${clip}  ${colour}`;
    const size = Math.min(PLATE_size, (PLATE_size * (PLATE_width - 4)) / widthOf(words, PLATE_size, true));
    shapes.push(
      ...wire([at(frameRight, y), at(plate, y)], colour),
      box(at(plate, y - PLATE_height / 2), PLATE_width, PLATE_height, { fill: PAPER, colour: INK, width: 0.8 }),
      text(at(plate + PLATE_width / 2, y + 0.36 * size), words, size, { bold: true, anchor: 'middle' }),
      ...wire([at(plate + PLATE_width, y), at(joint - NUMBER_radius, y)], colour),
      ...jointNumber(at(joint, y), end.number),
    );
    pins.push({ y, net: end.net, isLead: true, ...(colour === undefined ? {} : { colour }) });
  }
  shapes.push(...coilShapes(pickup, rows, yOf, frameLeft, frameRight));
  return { height: bottom + ROW - top, shapes, pins };
}

/** Leads so that the ends of each coil stand together: coil by coil, then what belongs to none. */
function leadOrder({ leads }: FittedPickup): number[] {
  const order: number[] = [];
  for (const { minus, plus } of leads.coils)
    for (const clip of order.at(-1) === plus || (order.includes(plus) && !order.includes(minus)) ? [plus, minus] : [minus, plus])
      if (!order.includes(clip)) order.push(clip);
  // What is joined inside to an end stands below all coils.
  return [...order, ...leads.clips.filter((clip) => !order.includes(clip))];
}

function coilShapes(
  pickup: FittedPickup, rows: readonly number[], yOf: (clip: number) => number, frameLeft: number, frameRight: number,
): Shape[] {
  const shapes: Shape[] = [];
  const labels: TextShape[] = [];
  const { leads, coils } = pickup;
  const columns = columnsOf(pickup, rows);
  leads.coils.forEach(({ minus, plus }, index) => {
    const coil = coils[index]!;
    const upper = Math.min(yOf(minus), yOf(plus));
    const lower = Math.max(yOf(minus), yOf(plus));
    const x = frameRight - 10 - columns[index]! * COLUMN;
    shapes.push(...winding(x, upper, lower, frameRight));
    const sign = (clip: number): string => (coil.plus === null ? '?' : clip === plus ? '+' : '\u2013');
    const upperClip = yOf(minus) < yOf(plus) ? minus : plus;
    const lowerClip = upperClip === minus ? plus : minus;
    shapes.push(
      text(at(x - 7, upper + 6.4), sign(upperClip), 7, { bold: true, anchor: 'end' }),
      text(at(x - 7, lower - 1.6), sign(lowerClip), 7, { bold: true, anchor: 'end' }),
    );
    coilLabel(coil).forEach((words, row) => {
      const shown = fitted(words, LABEL_size, LABEL_width - 5);
      const y = (upper + lower) / 2 - 1 + row * 8.4;
      labels.push(text(at(frameLeft - 4, y), shown, LABEL_size, { anchor: 'end', colour: row === 0 ? INK : SOFT }));
    });
  });
  return [...shapes, ...apart(labels), ...joinedInside(leads, rows, yOf, frameLeft, frameRight)];
}

/** Half turns beside a straight wire. */
function winding(x: number, upper: number, lower: number, frameRight: number): Shape[] {
  const from = upper + 3;
  const length = lower - upper - 6;
  const turns = Math.max(3, Math.round(length / 4));
  const points = [at(frameRight, upper), at(x, upper), at(x, from)];
  for (let turn = 0; turn < turns; turn++) {
    const start = from + (turn * length) / turns;
    const end = from + ((turn + 1) * length) / turns;
    for (const part of [0.1, 0.3, 0.5, 0.7, 0.9]) points.push(at(x + 4 * Math.sin(Math.PI * part), start + part * (end - start)));
    points.push(at(x, end));
  }
  points.push(at(x, lower), at(frameRight, lower));
  return [{ kind: 'line', points, colour: INK, width: 1.3 }];
}

function coilLabel({ name, place, pole, plus, hidden_junction }: WireMapCoil): string[] {
  const second = [place ?? '', pole ?? ''].filter((part) => part !== '').join(', ');
  if (plus === null) return [name, 'plus not known'];
  if (hidden_junction === true) return [name, 'several coils'];
  return second === '' ? [name] : [name, second];
}

/** Leads that are one node inside: a thin line beside them, where they are not ends of the same coil row. */
function joinedInside(
  leads: FittedPickup['leads'], rows: readonly number[], yOf: (clip: number) => number, frameLeft: number, frameRight: number,
): Shape[] {
  const groups = new Map<number, number[]>();
  for (const clip of rows) groups.set(groupOf(leads, clip), [...(groups.get(groupOf(leads, clip)) ?? []), clip]);
  return [...groups.values()].filter((clips) => clips.length > 1).flatMap((clips, index) => {
    const x = frameLeft + 4 + 3 * (index % 2);
    const [upper, lower] = [Math.min(...clips.map(yOf)), Math.max(...clips.map(yOf))];
    return [
      line(at(x, upper), at(x, lower), 1),
      ...clips.map((clip): Shape => ({
        kind: 'line', points: [at(x, yOf(clip)), at(frameRight - 5, yOf(clip))], colour: INK, width: 0.6, dash: [1.5, 1.5],
      })),
    ];
  });
}

/** Labels moved down until none lies on another. */
function apart(labels: readonly TextShape[]): TextShape[] {
  const placed: TextShape[] = [];
  for (const label of labels) {
    let moved = label;
    while (placed.some((other) => meets(boxOf(moved), boxOf(other)))) moved = { ...moved, at: at(moved.at.x, moved.at.y + 1) };
    placed.push(moved);
  }
  return placed;
}

type Box = ReturnType<typeof boxOf>;

function meets(a: Box, b: Box): boolean {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}
