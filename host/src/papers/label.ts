/** A label for one pickup: its number, also as a QR code, what was measured, and what each lead is. */
import { legible, wrapped, ASCENT, DESCENT } from '../drawing/letters.ts';
import { qrCode } from '../drawing/qr-code.ts';
import { at, SOFT, text, type Shape } from '../drawing/scene.ts';
import type { WireMapCoil } from '../wiremap/wiremap.ts';
import { coilWord, leadRoles } from './lead-roles.ts';
import { shortOhms } from './ohms.ts';
import { standing } from './standing.ts';
import type { KeptTest, TestedPickup } from './tested-pickup.ts';

/** Points of 1/72 inch in a millimetre. */
export const POINTS_mm = 72 / 25.4;
/** Smallest module that a code reader of a shop makes out, and the widest that is of use, millimetres: common practice, no published source. */
const MODULE_least_mm = 0.3;
const MODULE_most_mm = 1;
/** Of the label's width that the code takes when there is room. */
const CODE_share = 0.34;
/** Sizes of letters, points: what can still be read, and what need not be larger. */
const SIZE_least = 4.5;
const SIZE_most = 16;
/** Lines are broken rather than set smaller than this. */
const SIZE_whole = 6.5;
/** From this size on a label has room for more than is needed. */
const SIZE_ample = 8;
const LINE = 1.16;
const NUMBER_times = 1.6;

/** What must stand on a label has no room on one of this size. */
export class LabelTooSmall extends Error {
  constructor(number: string) {
    super(`what must stand on the label of ${number} has no room on one`);
    this.name = 'LabelTooSmall';
  }
}

interface Line {
  readonly words: string;
  /** Times the size of the other lines. */
  readonly times?: number;
  readonly bold?: true;
}

interface LaidLine extends Line {
  readonly size: number;
  readonly y: number;
}

/** The label's shapes, from its upper left corner.
 * @param width - points @param height - points
 * @throws LabelTooSmall
 */
export function labelShapes(pickup: TestedPickup, width: number, height: number): Shape[] {
  const margin = Math.min(12, Math.max(4, 0.05 * Math.min(width, height)));
  const code = qrCode(pickup.number);
  const least = code.modules * MODULE_least_mm * POINTS_mm;
  const most = code.modules * MODULE_most_mm * POINTS_mm;
  const side = Math.max(least, Math.min(most, CODE_share * width, height - 2 * margin));
  const room = width - side - 2 * margin;
  if (side > height - 2 * margin || room < side / 2) throw new LabelTooSmall(pickup.number);
  const lines = laid(pickup, room - 3, height - 2 * margin);
  if (lines === null) throw new LabelTooSmall(pickup.number);
  // The code's own free paper is its margin.
  const left = width - margin - side;
  return [
    ...code.shapes(at(left, margin), side),
    ...lines.map(({ words, size, bold, y }) => text(at(margin, margin + y), words, size, { bold: bold === true })),
    ...underCode(pickup, left, margin + side, side, height - margin),
  ];
}

/** The lines at the largest size at which all have room; null where none is small enough. */
function laid(pickup: TestedPickup, width: number, height: number): LaidLine[] | null {
  const needed = neededLines(pickup);
  const all = [...needed, ...furtherLines(pickup)];
  for (let size = SIZE_most; size >= SIZE_least; size -= 0.25) {
    for (const lines of size >= SIZE_ample ? [all, needed] : [needed]) {
      const found = atSize(lines, size, width);
      if (size >= SIZE_whole && found.length > lines.length && atSize(needed, size, width).length > needed.length) continue;
      if (found.length === 0 || found.at(-1)!.y + DESCENT * found.at(-1)!.size <= height) return found;
    }
  }
  return null;
}

function atSize(lines: readonly Line[], size: number, width: number): LaidLine[] {
  let y = 0;
  return lines.flatMap(({ words, times = 1, bold }) => wrapped(legible(words), size * times, width, bold === true).map((part): LaidLine => {
    const own = size * times;
    y += own * LINE;
    return { words: part, size: own, y: y - own * (LINE - ASCENT), ...(bold === undefined ? {} : { bold }) };
  }));
}

function neededLines(pickup: TestedPickup): Line[] {
  const { number, test } = pickup;
  const stands = standing(pickup);
  return [
    { words: number, times: NUMBER_times, bold: true },
    ...(stands === null ? [] : [{ words: stands, bold: true as const }]),
    ...(test === null ? [] : [...test.map.coils.map((coil): Line => ({ words: coilLine(coil, test) })), ...roleLines(test)]),
  ];
}

/** Ohms at 20 C where they are known, henries, pole. */
function coilLine(coil: WireMapCoil, { map }: KeptTest): string {
  const { ohm, ohm_20C, inductance_H, pole, hidden_junction, parts } = coil;
  const inside = hidden_junction === true ? (parts ?? []) : [];
  const poles = inside.length > 0 ? inside.map((part) => `${part.place} ${part.pole ?? '?'}`).join(', ') : (pole ?? 'pole ?');
  return [
    coilWord(coil, map), poles, ohm === null ? 'broken' : shortOhms(ohm_20C ?? ohm), inductance_H === undefined ? '' : `${inductance_H.toPrecision(3)} H`,
  ].filter((part) => part !== '').join('  ');
}

function roleLines({ map, record, colours }: KeptTest): Line[] {
  return leadRoles(map, record.clips.map(({ clip }) => clip), colours).map(({ name, role }) => ({ words: `${name}  ${role}`, bold: true }));
}

function furtherLines({ title, lot, test }: TestedPickup): Line[] {
  return [
    { words: '' },
    ...(title === '' ? [] : [{ words: title }]),
    ...(lot === '' ? [] : [{ words: `lot ${lot}` }]),
    ...(test === null ? [] : [
      { words: `test ${test.id}, ${test.taken}` },
      { words: '+ goes positive, \u2013 negative, as steel touches the pole of its coil. N, S: the pole that the face of the coil shows.' },
    ]),
  ];
}

/** Small print below the code, as far as there is room. */
function underCode({ isVirtual, test }: TestedPickup, left: number, top: number, width: number, bottom: number): Shape[] {
  const warm = test !== null && test.map.coils.some(({ ohm, ohm_20C }) => ohm !== null && ohm_20C !== undefined);
  const words = [
    ...(isVirtual ? ['virtual bench'] : []),
    ...(test === null ? [] : [test.taken.slice(0, 10), ...(warm ? ['ohms at 20 \u00b0C'] : ['ohms as read'])]),
  ];
  const size = Math.min(9, width / 9);
  return words.map((part, row) => text(at(left + width / 2, top + (row + ASCENT) * size * 1.1), part, size, { anchor: 'middle', colour: SOFT }))
    .filter(({ at: { y } }) => y + DESCENT * size <= bottom);
}
